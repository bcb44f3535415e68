//! Filters and paths, against the RFC's examples and as properties.

use proptest::prelude::*;
use serde_json::json;

use super::*;

/// The filters printed in RFC 7644, figure 2, but for one that breaks its own grammar in no place: each reads as it was written.
#[test]
fn the_examples_of_the_rfc_are_read() {
    for text in [
        r#"userName Eq "bjensen""#,
        r#"name.familyName co "O'Malley""#,
        r#"userName sw "J""#,
        r#"urn:ietf:params:scim:schemas:core:2.0:User:userName sw "J""#,
        "title pr",
        r#"meta.lastModified gt "2011-05-13T04:42:34Z""#,
        r#"title pr and userType eq "Employee""#,
        r#"title pr or userType eq "Intern""#,
        r#"schemas eq "urn:ietf:params:scim:schemas:extension:enterprise:2.0:User""#,
        r#"userType eq "Employee" and (emails co "example.com" or emails.value co "example.org")"#,
        r#"userType ne "Employee" and not (emails co "example.com" or emails.value co "example.org")"#,
        r#"userType eq "Employee" and (emails.type eq "work")"#,
        r#"userType eq "Employee" and emails[type eq "work" and value co "@example.com"]"#,
        r#"emails[type eq "work" and value co "@example.com"] or ims[type eq "xmpp" and value co "@foo.com"]"#,
    ] {
        let read = filter(text).unwrap();
        assert_eq!(filter(&read.to_string()).unwrap(), read, "{text}");
    }
    // Figure 7 and the examples after it.
    for text in [
        "members",
        "name.familyName",
        r#"addresses[type eq "work"]"#,
        r#"members[value eq "2819c223-7f76-453a-919d-413861904646"]"#,
        r#"members[value eq "2819c223-7f76-453a-919d-413861904646"].displayName"#,
    ] {
        let read = path(text).unwrap();
        assert_eq!(read.to_string(), text);
    }
}

#[test]
fn and_binds_more_than_or() {
    let read = filter("a pr or b pr and not (c pr)").unwrap();
    assert_eq!(read.to_string(), "(a pr) or ((b pr) and (not (c pr)))");
    let read = filter("not pr and NOT(x pr) Or y PR").unwrap();
    assert_eq!(read.to_string(), "((not pr) and (not (x pr))) or (y pr)");
}

#[test]
fn urns_have_points_and_the_last_colon_ends_them() {
    let read = path("urn:plimsoll:scim:schemas:extension:roster:1.0:User:guardians.value").unwrap();
    let attribute = read.attribute;
    assert_eq!(
        attribute.schema.as_deref(),
        Some("urn:plimsoll:scim:schemas:extension:roster:1.0:User")
    );
    assert_eq!(
        (attribute.name.as_str(), attribute.sub.as_deref()),
        ("guardians", Some("value"))
    );
}

fn name() -> impl Strategy<Value = String> {
    "[a-zA-Z][a-zA-Z0-9_-]{0,8}"
}

fn attribute() -> impl Strategy<Value = AttrPath> {
    let schema = proptest::option::of("urn:[a-z]{1,4}:[a-z0-9.]{1,6}:[A-Z][a-z]{0,3}");
    (schema, name(), proptest::option::of(name())).prop_map(|(schema, name, sub)| AttrPath {
        schema,
        name,
        sub,
    })
}

fn value() -> impl Strategy<Value = Value> {
    prop_oneof![
        any::<String>().prop_map(|text| json!(text)),
        any::<i64>().prop_map(|number| json!(number)),
        any::<bool>().prop_map(|truth| json!(truth)),
        Just(Value::Null),
    ]
}

fn filters() -> impl Strategy<Value = Filter> {
    let operator = proptest::sample::select(Operator::NAMES.map(|(_, operator)| operator).to_vec());
    let compare = (attribute(), operator, value())
        .prop_map(|(path, operator, value)| Filter::Compare(path, operator, value));
    let one = prop_oneof![compare, attribute().prop_map(Filter::Present)];
    one.prop_recursive(4, 16, 2, |inner| {
        let two = || {
            (inner.clone(), inner.clone()).prop_map(|(one, other)| (Box::new(one), Box::new(other)))
        };
        prop_oneof![
            two().prop_map(|(one, other)| Filter::And(one, other)),
            two().prop_map(|(one, other)| Filter::Or(one, other)),
            inner.clone().prop_map(|one| Filter::Not(Box::new(one))),
            (attribute(), inner).prop_map(|(path, one)| Filter::Has(path, Box::new(one))),
        ]
    })
}

proptest! {
    #[test]
    fn what_is_written_is_read(written in filters()) {
        let text = written.to_string();
        prop_assume!(text.len() <= LONGEST);
        prop_assert_eq!(filter(&text), Ok(written), "{}", text);
    }

    #[test]
    fn paths_too(attribute in attribute(), filter in proptest::option::of(filters()), sub in proptest::option::of(name())) {
        let sub = sub.filter(|_| filter.is_some());
        let written = Path { attribute, filter, sub };
        let text = written.to_string();
        prop_assume!(text.len() <= LONGEST);
        prop_assert_eq!(path(&text), Ok(written), "{}", text);
    }

    #[test]
    fn any_text_is_read_or_refused(text in "[a-z \"\\[\\]().:$0-9]{0,40}|.{0,40}") {
        let _ = (filter(&text), path(&text), super::attribute(&text));
    }
}
