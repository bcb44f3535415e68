//! Patches of resources.

use serde_json::json;

use super::*;
use crate::scim::kept::{GROUP, ROSTER, USER};

fn patched(kind: &'static ResourceType, before: &Value, sent: &Value) -> Result<Value, Kind> {
    let mut resource = before.as_object().unwrap().clone();
    let body = json!({ "Operations": sent });
    let read = operations(body.as_object().unwrap());
    read.and_then(|read| apply(&mut resource, kind, &read))
        .map(|()| resource.into())
        .map_err(|fault| fault.kind)
}

#[test]
fn values_are_added_once_put_in_place_and_taken_away() {
    let there = json!({ "displayName": "A", "members": [{ "value": "1" }] });
    for (sent, members) in [
        (
            json!([{ "op": "add", "path": "members", "value": [{ "value": "1" }, { "value": "2" }] }]),
            json!(["1", "2"]),
        ),
        (
            json!([{ "op": "ADD", "path": "MEMBERS", "value": { "Value": "2" } }]),
            json!(["1", "2"]),
        ),
        (
            json!([{ "op": "replace", "path": "members", "value": ["3"] }]),
            json!(["3"]),
        ),
        (
            json!([{ "op": "replace", "path": "members[value eq \"1\"].value", "value": "3" }]),
            json!(["3"]),
        ),
        (
            json!([{ "op": "remove", "path": "members[value eq \"1\" or value eq \"9\"]" }]),
            json!([]),
        ),
        (
            json!([{ "op": "remove", "path": "members[value eq \"9\"]" }]),
            json!(["1"]),
        ),
        (
            json!([{ "op": "remove", "path": "members", "value": [{ "value": "1" }] }]),
            json!([]),
        ),
        (
            json!([{ "op": "replace", "path": "members", "value": null }]),
            json!([]),
        ),
    ] {
        let after = patched(&GROUP, &there, &sent).unwrap();
        let list = after
            .get("members")
            .and_then(Value::as_array)
            .cloned()
            .unwrap_or_default();
        let found: Vec<&Value> = list.iter().map(|one| &one["value"]).collect();
        assert_eq!(json!(found), members, "{sent}");
    }
}

#[test]
fn an_extension_is_named_by_its_urn() {
    let there = json!({ ROSTER: { "birthDate": "2011-03-14" } });
    let zone = format!("{ROSTER}:timeZone");
    for (sent, expected) in [
        (
            json!([{ "op": "add", "path": zone, "value": "X/Y" }]),
            json!({ "birthDate": "2011-03-14", "timeZone": "X/Y" }),
        ),
        (
            json!([{ "op": "add", "value": { zone.clone(): "X/Y" } }]),
            json!({ "birthDate": "2011-03-14", "timeZone": "X/Y" }),
        ),
        (
            json!([{ "op": "replace", "path": ROSTER, "value": { "birthdate": null, "timezone": "X/Y" } }]),
            json!({ "timeZone": "X/Y" }),
        ),
        (
            json!([{ "op": "remove", "path": format!("{ROSTER}:birthDate") }]),
            json!({}),
        ),
        (json!([{ "op": "remove", "path": ROSTER }]), Value::Null),
    ] {
        let after = patched(&USER, &there, &sent).unwrap();
        assert_eq!(after[ROSTER], expected, "{sent}");
    }
}

#[test]
fn what_is_not_kept_is_read_over_and_what_is_not_known_refused() {
    let there = json!({ "userName": "a" });
    for path in [
        "name.familyName",
        "emails[type eq \"work\"].value",
        "urn:ietf:params:scim:schemas:extension:enterprise:2.0:User:department",
    ] {
        let sent = json!([{ "op": "replace", "path": path, "value": "x" }]);
        assert_eq!(patched(&USER, &there, &sent), Ok(there.clone()), "{path}");
    }
    for (path, kind) in [
        ("nobody", Kind::Path),
        ("userName.x", Kind::Path),
        ("urn:x:y:z", Kind::Path),
        ("meta", Kind::Mutability),
        ("groups[value eq \"1\"]", Kind::Mutability),
        ("roles[value eq \"coach\"].value", Kind::Target),
        ("roles.display", Kind::Path),
    ] {
        let sent = json!([{ "op": "replace", "path": path, "value": "x" }]);
        assert_eq!(patched(&USER, &there, &sent), Err(kind), "{path}");
    }
}
