//! Planned sessions and the rule on returns, for scenarios that need them.

use crate::*;

/// Plans a session of an athlete and gives the event's id.
pub(crate) async fn plan(athlete: &Athlete, starts_at: &str, minutes: u32, kind: &str) -> String {
    let event = json!({
        "setting": "club", "kind": kind, "starts_at": starts_at, "minutes": minutes,
        "athletes": [athlete.id()],
    });
    let app = athlete.club().as_role("integration");
    app.post("events", event)
        .await
        .expect(201)
        .string("event_id")
}

/// Plans a session, and reports it as planned at this rating.
pub(crate) async fn hold(athlete: &Athlete, starts_at: &str, minutes: u32, rpe: f64) {
    plan(athlete, starts_at, minutes, "other").await;
    athlete
        .session(starts_at, minutes, rpe)
        .with("kind", "other")
        .await;
}

/// An absence, as the family enters it.
pub(crate) async fn away(athlete: &Athlete, from: &str, to: &str) -> String {
    let family = athlete.club().as_guardian_of(&[athlete]);
    let absence = json!({
        "athlete_id": athlete.id(), "from": from, "to": to, "category": "not_available",
    });
    family
        .post("absences", absence)
        .await
        .expect(201)
        .string("absence_id")
}

/// The example rules and the ceilings after an absence.
pub(crate) fn rules_with_return_ceiling() -> Value {
    let mut rules = example_rules();
    let ceiling = json!({
        "code": "return_ceiling", "enabled": true, "limit": 1.0,
        "source_note": "Example limit for tests",
    });
    rules.as_array_mut().expect("rules").push(ceiling);
    rules
}

/// No word of an answer reads as a clearance or a verdict.
#[track_caller]
pub(crate) fn assert_no_verdict(text: &str) {
    let said = text.to_lowercase();
    // What every answer says the figures are not.
    let said = said.replace("do not show that anyone is safe", "");
    for word in [
        "cleared",
        "clearance",
        " safe",
        "\"safe",
        "risk of",
        "available\"",
    ] {
        assert!(!said.contains(word), "{word}: {text}");
    }
}
