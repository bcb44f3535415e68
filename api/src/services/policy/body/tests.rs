//! Each fault of a policy body, and that a good one comes back as it was sent.

use jiff::civil::date;

use super::*;

fn draft() -> PolicyDraft {
    PolicyDraft::example(date(2026, 8, 3), "M. Lindholt, head of youth")
}

/// The example policy in the form it is sent in.
fn example() -> Value {
    json!(PolicyBody::of(&draft()))
}

fn set(body: &mut Value, pointer: &str, value: Value) {
    let (parent, name) = pointer.rsplit_once('/').unwrap();
    match body.pointer_mut(parent).unwrap() {
        Value::Array(items) => items[name.parse::<usize>().unwrap()] = value,
        parent => parent[name] = value,
    }
}

fn checked(body: Value) -> Result<Policy, Vec<FieldProblem>> {
    serde_json::from_value::<PolicyBody>(body).unwrap().check(1)
}

/// Pointers and codes of the faults of the example with some values replaced.
fn faults(changes: &[(&str, Value)]) -> Vec<(String, Code)> {
    let mut body = example();
    for (pointer, value) in changes {
        set(&mut body, pointer, value.clone());
    }
    let faults = checked(body).err().unwrap_or_default();
    let fault = |fault: FieldProblem| (fault.pointer, fault.code);
    faults.into_iter().map(fault).collect()
}

#[test]
fn the_example_comes_back_as_it_was_sent() {
    assert_eq!(checked(example()).unwrap().into_draft(), draft());
    let body: PolicyBody = serde_json::from_value(example()).unwrap();
    let stored: PolicyBody = serde_json::from_value(json!(body)).unwrap();
    assert_eq!(stored, body);
}

#[test]
fn each_fault_has_its_pointer_and_code() {
    let null = Value::Null;
    for (pointer, value, code) in [
        ("/effective_from", json!("3 August"), Code::InvalidDate),
        ("/effective_from", json!("0026-08-03"), Code::OutOfRange),
        ("/effective_from", json!("9999-12-31"), Code::OutOfRange),
        ("/approved_by", json!(" "), Code::TextEmpty),
        ("/approved_by", json!("a\0"), Code::TextHasControlCharacters),
        ("/source_note", json!("x".repeat(201)), Code::TextTooLong),
        ("/organised_settings/1", json!("gym"), Code::UnknownValue),
        ("/organised_settings/1", json!("club"), Code::RuleTwice),
        ("/nothing_said", json!("rest"), Code::UnknownValue),
        ("/midnight", json!("noon"), Code::UnknownValue),
        ("/chronic_floor_au", json!(250.3), Code::OutOfRange),
        ("/chronic_floor_au", json!(-1), Code::OutOfRange),
        ("/chronic_floor_au", json!(105_000.5), Code::OutOfRange),
        ("/rules/2/code", json!("lucky_number"), Code::UnknownValue),
        ("/rules/7/code", json!("free_days"), Code::RuleTwice),
        ("/rules/0/ratio_kind", json!("both"), Code::UnknownValue),
        ("/rules/0/ratio_kind", null, Code::MissingField),
        ("/rules/1/ratio_kind", json!("coupled"), Code::OutOfRange),
        ("/rules/0/limit", json!(1), Code::LimitOutOfRange),
        ("/rules/0/limit", json!(4), Code::LimitOutOfRange),
        ("/rules/0/limit", json!(1.50001), Code::LimitOutOfRange),
        ("/rules/0/limit", json!(1e300), Code::LimitOutOfRange),
        ("/rules/1/window", json!(27), Code::OutOfRange),
        ("/rules/2/window", json!(8), Code::OutOfRange),
        ("/rules/3/enabled", json!(true), Code::RuleNotEvaluated),
        ("/rules/2/source_note", json!(""), Code::TextEmpty),
    ] {
        let change = [(pointer, value.clone())];
        assert_eq!(
            faults(&change),
            [(pointer.to_owned(), code)],
            "{pointer} {value}"
        );
    }
}

#[test]
fn all_faults_come_together_each_at_its_own_place() {
    let found = faults(&[
        ("/approved_by", json!("")),
        ("/organised_settings/0", json!("gym")),
        ("/organised_settings/2", json!("school_team")),
        ("/rules/0/code", json!("lucky_number")),
        ("/rules/1/limit", json!(1)),
        ("/rules/1/window", json!(1)),
    ]);
    let pointers: Vec<&str> = found.iter().map(|(pointer, _)| pointer.as_str()).collect();
    assert_eq!(
        pointers,
        [
            "/approved_by",
            "/organised_settings/0",
            "/rules/0/code",
            "/organised_settings/2",
            "/rules/1/limit",
            "/rules/1/window",
        ]
    );
}
