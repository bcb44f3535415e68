use serde_json::json;

use super::*;
use crate::auth::Role;
use crate::ids::Ids;

const NOW: &str = "2026-09-13T20:00:00+02:00";

fn entry() -> Entry {
    Entry {
        role: Role::Integration,
        is_staff: true,
        now: NOW.parse().unwrap(),
    }
}

fn good() -> serde_json::Value {
    json!({
        "external_id": "app-9912", "athlete_external_id": "P-07",
        "started_at": "2026-09-13T17:30:00+02:00", "minutes": 90, "rpe": 6, "setting": "club",
        "kind": "practice", "given_at": "2026-09-13T19:25:00+02:00"
    })
}

fn checked(change: &serde_json::Value) -> Result<Draft, Vec<FieldProblem>> {
    let mut body = good();
    for (name, value) in change.as_object().unwrap() {
        body[name] = value.clone();
    }
    let input: SessionInput = serde_json::from_value(body).unwrap();
    let now = NOW.parse().unwrap();
    let athlete_id = Ids::seeded(1).next(now).into();
    let home = TimeZone::get("Europe/Copenhagen").unwrap();
    let joined_on = jiff::civil::date(2026, 1, 1);
    check(
        &input,
        Ok(Subject {
            athlete_id,
            home,
            joined_on,
        }),
        entry(),
    )
}

#[test]
fn a_good_report_passes_without_warnings() {
    let draft = checked(&json!({})).unwrap();
    assert_eq!((draft.minutes.get(), draft.rpe.to_f64()), (90, 6.0));
    assert!(draft.warnings().is_empty());
}

#[test]
fn each_fault_has_its_code_and_pointer() {
    for (change, pointer, code) in [
        (json!({"rpe": 11}), "/rpe", Code::RpeOutOfRange),
        (json!({"rpe": -0.5}), "/rpe", Code::RpeOutOfRange),
        (json!({"rpe": 6.3}), "/rpe", Code::RpeStep),
        (json!({"minutes": 0}), "/minutes", Code::MinutesOutOfRange),
        (json!({"minutes": 601}), "/minutes", Code::MinutesOutOfRange),
        (
            json!({"minutes": 89.5}),
            "/minutes",
            Code::MinutesOutOfRange,
        ),
        (
            json!({"minutes": 1e30}),
            "/minutes",
            Code::MinutesOutOfRange,
        ),
        (json!({"setting": "gym"}), "/setting", Code::UnknownValue),
        (json!({"kind": null}), "/kind", Code::MissingField),
        (
            json!({"started_at": "2027-09-13T17:30:00+02:00"}),
            "/started_at",
            Code::InFuture,
        ),
        (
            json!({"given_at": "2026-09-13T18:00:00+02:00"}),
            "/given_at",
            Code::GivenBeforeEnd,
        ),
        (
            json!({"ended_at": "2026-09-13T19:00:00+02:00"}),
            "/minutes",
            Code::AmbiguousDuration,
        ),
        (
            json!({"note": "a\u{0}b"}),
            "/note",
            Code::TextHasControlCharacters,
        ),
        (
            json!({"started_at": "2026-08-13T17:30:00+02:00"}),
            "/reason",
            Code::ReasonRequired,
        ),
    ] {
        let faults = checked(&change).unwrap_err();
        assert_eq!(faults.len(), 1, "{change}: {faults:?}");
        assert_eq!(
            (faults[0].pointer.as_str(), faults[0].code),
            (pointer, code),
            "{change}"
        );
    }
}

#[test]
fn the_last_day_for_a_change_is_the_athletes_own() {
    // 20:00 on 13 September in Copenhagen is 06:00 on the 14th in Auckland.
    let may = |zone: &str| {
        let home = TimeZone::get(zone).unwrap();
        entry().may_change(jiff::civil::date(2026, 8, 30), &home, None)
    };
    assert_eq!(may("Europe/Copenhagen"), Ok(()));
    assert_eq!(
        may("Pacific/Auckland").unwrap_err().code,
        Code::ReasonRequired
    );
}

#[test]
fn all_faults_are_reported_together() {
    let faults = checked(&json!({"rpe": 11, "minutes": 0, "setting": "gym"})).unwrap_err();
    assert_eq!(faults.len(), 3);
}

#[test]
fn odd_reports_are_kept_with_warnings() {
    assert_eq!(
        checked(&json!({"rpe": 0})).unwrap().warnings(),
        [Code::RpeZeroWithMinutes]
    );
    let late = json!({"started_at": "2026-09-10T17:30:00+02:00"});
    assert_eq!(checked(&late).unwrap().warnings(), [Code::LateRecall]);
    let bare_z = json!({"started_at": "2026-09-13T15:30:00Z"});
    assert_eq!(checked(&bare_z).unwrap().warnings(), [Code::ZoneAssumed]);
}

#[test]
fn an_end_stands_for_minutes() {
    let body = json!({"minutes": null, "ended_at": "2026-09-13T19:00:20+02:00"});
    assert_eq!(checked(&body).unwrap().minutes.get(), 90);
}
