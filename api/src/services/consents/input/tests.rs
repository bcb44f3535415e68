use serde_json::{Value, json};

use super::*;

const NOW: &str = "2026-11-09T07:00:00Z";

fn checked(changes: &Value, on_paper: bool) -> Result<Consent, Vec<(String, Code)>> {
    let mut body = json!({ "purpose": "return after an injury", "data_classes": ["tests", "pain"],
        "recipient_role": "athletic_trainer", "text_version": "2026-1" });
    for (field, value) in changes.as_object().into_iter().flatten() {
        body[field] = value.clone();
    }
    let input: ConsentInput = serde_json::from_value(body).unwrap();
    let mut faults = Faults::default();
    let nobody = uuid::Uuid::nil();
    let who = (nobody.into(), nobody.into(), ConsentGiver::Guardian);
    let made = input.check(who, (NOW.parse().unwrap(), on_paper), &mut faults);
    let faults = faults.into_vec().into_iter();
    let faults: Vec<_> = faults.map(|fault| (fault.pointer, fault.code)).collect();
    made.filter(|_| faults.is_empty()).ok_or(faults)
}

#[test]
fn a_consent_begins_now_and_goes_on_unless_something_else_is_said() {
    let consent = checked(&json!({}), false).unwrap();
    assert_eq!(consent.from_at, NOW.parse().unwrap());
    assert_eq!((consent.until_at, consent.evidence), (None, None));
    assert_eq!(consent.data_classes.0, [DataClass::Tests, DataClass::Pain]);
    let later =
        json!({ "from": "2026-12-01T00:00:00+01:00", "until": "2026-12-02T00:00:00+01:00" });
    let consent = checked(&later, false).unwrap();
    assert_eq!(consent.from_at, "2026-11-30T23:00:00Z".parse().unwrap());
}

#[test]
fn each_field_has_its_faults() {
    for (change, pointer, code) in [
        (
            json!({ "from": "2026-11-09T06:59:59Z" }),
            "/from",
            Code::Backdated,
        ),
        (
            json!({ "from": "2027-11-11T07:00:00Z" }),
            "/from",
            Code::OutOfRange,
        ),
        (json!({ "from": "tomorrow" }), "/from", Code::InvalidInstant),
        (json!({ "until": NOW }), "/until", Code::RangeReversed),
        (json!({ "purpose": null }), "/purpose", Code::MissingField),
        (
            json!({ "text_version": "" }),
            "/text_version",
            Code::TextEmpty,
        ),
        (
            json!({ "data_classes": [] }),
            "/data_classes",
            Code::MissingField,
        ),
        (
            json!({ "data_classes": ["tests", "mood"] }),
            "/data_classes/1",
            Code::UnknownValue,
        ),
        (
            json!({ "data_classes": ["tests", "tests"] }),
            "/data_classes/1",
            Code::ConsentStands,
        ),
        (
            json!({ "data_classes": ["squad_figures"] }),
            "/data_classes/0",
            Code::UnknownValue,
        ),
        (
            json!({ "recipient_role": "guardian" }),
            "/recipient_role",
            Code::UnknownValue,
        ),
    ] {
        let faults = checked(&change, false).unwrap_err();
        assert_eq!(faults, [(pointer.to_owned(), code)], "{change}");
    }
}

#[test]
fn a_signed_form_is_kept_somewhere() {
    let missing = checked(&json!({}), true).unwrap_err();
    assert_eq!(missing, [("/evidence".to_owned(), Code::MissingField)]);
    let kept = checked(&json!({ "evidence": "folder 3, page 7" }), true).unwrap();
    assert_eq!(kept.evidence.as_deref(), Some("folder 3, page 7"));
}
