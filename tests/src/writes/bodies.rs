//! What the examples of writes say.

use super::*;

/// What clinicians have on record.
pub(super) struct Clinical {
    pub(super) licences: [String; 2],
    pub(super) restrictions: [String; 2],
    pub(super) clearance: String,
}

impl Clinical {
    /// A licence of the usual athletic trainer and of another, two restrictions and a decision.
    pub(super) async fn prepare(club: &Club, athlete: &Athlete) -> Self {
        let (admin, trainer) = (club.as_role("club_admin"), club.as_role("athletic_trainer"));
        let file = async |subject| {
            let filed = admin.post("licences", licence(subject)).await.expect(201);
            filed.string("licence_id")
        };
        let set = async |minutes| {
            let set = trainer.post("restrictions", restriction(athlete, minutes));
            set.await.expect(201).string("restriction_id")
        };
        Self {
            licences: [file("local").await, file("trainer-2").await],
            restrictions: [set(60).await, set(75).await],
            clearance: trainer
                .post("clearance-records", decision(athlete, "return_to_sport"))
                .await
                .expect(201)
                .string("clearance_id"),
        }
    }
}

/// Changing, approving and removing need `If-Match`; the policy too, since there is one.
pub(super) fn with_any_version(request: Request, method: &str, path: &str) -> Request {
    let changing = [
        "/policy",
        "/weekly-close",
        "/look-ahead",
        "/mail-settings",
        "/mail-names",
        "/consent-settings",
        "/retention",
        "/policy/drafts/{draft_id}/approval",
        "/notice-endpoints/{endpoint_id}/approval",
    ];
    if ["PATCH", "DELETE"].contains(&method) || changing.contains(&path) {
        request.if_match("*")
    } else {
        request
    }
}

pub(super) fn report(athlete: &Athlete, external_id: &str) -> Value {
    let report = athlete.session("2026-11-03T17:30:00+01:00", 90, 6.0);
    report.with("external_id", external_id).into_body()
}

/// One practice a week.
pub(super) const CALENDAR: &str = "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//Havneby//EN\r\nBEGIN:VEVENT\r\n\
    UID:practice@havneby.example\r\nDTSTAMP:20260901T080000Z\r\nDTSTART;TZID=Europe/Copenhagen:20261110T173000\r\n\
    DURATION:PT90M\r\nRRULE:FREQ=WEEKLY;COUNT=4\r\nSUMMARY:U16 practice\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n";

pub(super) fn calendar(squad: &Squad, name: &str) -> Value {
    let rule = json!({ "text_contains": "practice", "setting": "club", "kind": "practice", "squads": [squad.id()] });
    json!({ "name": name, "rules": [rule] })
}

/// Ids of sources, which whoever sets them up chooses.
pub(super) const SOURCES: [&str; 2] = [
    "0199a1b2-bbbb-7e4f-8a5b-6c7d8e9f0a1b",
    "0199a1b2-bbbb-7e4f-8a5b-6c7d8e9f0a1c",
];

/// A roster app on a host that is never found (RFC 2606), pulled by hand.
pub(super) fn source(host: &str) -> Value {
    json!({
        "name": "Members' register", "url": format!("https://{host}.example.invalid/people"), "mode": "full",
        "credentials": { "kind": "header", "name": "X-Api-Key", "value": "4f1c" }, "paging": { "kind": "link_header" },
        "people": { "list": "/people", "external_id": "/id", "display_name": "/name" },
    })
}

pub(super) fn event(squad: &Squad, external_id: &str) -> Value {
    json!({
        "external_id": external_id, "setting": "club", "kind": "practice", "minutes": 90,
        "starts_at": "2026-11-03T17:30:00+01:00", "squads": [squad.id()],
    })
}

pub(super) fn attendance(athlete: &Athlete, event: &str) -> Value {
    json!({ "event_id": event, "athlete_id": athlete.id(), "status": "present" })
}

pub(super) fn declared_history(athlete: &Athlete) -> String {
    format!("athletes/{}/declared-history", athlete.id())
}

pub(super) fn usual_week() -> Value {
    json!({ "weekly_minutes": { "low": 240, "high": 360 }, "rpe": { "low": 4, "high": 6 } })
}

pub(super) fn absence(athlete: &Athlete, from: &str) -> Value {
    json!({ "athlete_id": athlete.id(), "from": from, "to": format!("{}7", &from[..9]), "category": "holiday" })
}

pub(super) fn warm_up(minutes: u32) -> Value {
    json!({ "minutes": minutes, "categories": ["strength", "jump", "balance"], "feedback": true })
}

pub(super) fn contacts(throws: u32) -> Value {
    let landings =
        json!({ "both_feet": 61, "left_foot": 51, "right_foot": 51, "loaded": 15, "hands": 24 });
    json!({ "landings": landings, "throws": throws, "basis": "counted" })
}

pub(super) fn test_result(athlete: &Athlete, side: &str) -> Value {
    json!({
        "athlete_id": athlete.id(), "test": "single_hop_distance", "side": side,
        "trials": [126, 128.5], "tested_on": "2026-11-02", "tester": "Runa F.",
    })
}

pub(super) fn pain_report(athlete: &Athlete, area: &str) -> Value {
    json!({ "athlete_id": athlete.id(), "date": "2026-11-02", "hurts": true, "area": area, "side": "left" })
}

pub(super) fn questions(athlete: &Athlete) -> String {
    format!("athletes/{}/questions", athlete.id())
}

pub(super) fn question(session: &str, text: &str) -> Value {
    json!({ "text": text, "hurts": true, "about": { "session_id": session } })
}

pub(super) fn exercise() -> Value {
    json!({ "name": "Hop", "description": "Each landing quiet.", "category": "landing", "sides": "both", "landing": "both_feet",
        "prerequisites": ["step_off_landing_both_feet"] })
}

pub(super) fn sign_off(athlete: &Athlete, id: &str) -> String {
    format!("athletes/{}/sign-offs/{id}", athlete.id())
}

pub(super) fn watched(exercise: &str) -> Value {
    json!({ "exercise": exercise, "signed_on": "2026-11-02", "seen_in_person": true })
}

pub(super) fn programme(name: &str) -> Value {
    json!({ "name": name, "blocks": [{ "name": "Learning", "weeks": [{ "days": [{ "day": "tuesday", "sessions": [
        { "setting": "prescribed_home", "kind": "strength", "minutes": 45, "intended_rpe": 5,
          "items": [{ "exercise": "squat", "sets": 3, "reps": 10 }, { "exercise": "side_plank", "sets": 2, "seconds": 20 }] }] }] },
        { "days": [] }] }] })
}

pub(super) fn assignment(programme: &str, id: &str) -> String {
    format!("programmes/{programme}/assignments/{id}")
}

pub(super) fn assigned(athlete: &Athlete, from: &str) -> Value {
    json!({ "athlete_id": athlete.id(), "from": from,
        "changes": [{ "week": 1, "day": "tuesday", "item": 2, "change": "omit" }] })
}

pub(super) fn injury(athlete: &Athlete, injured_on: &str) -> Value {
    json!({ "athlete_id": athlete.id(), "side": "left", "injured_on": injured_on })
}

pub(super) fn licence(subject: &str) -> Value {
    json!({ "subject": subject, "name": "Vera Holm", "licence_type": "physiotherapist", "valid_until": "2027-06-30" })
}

pub(super) fn restriction(athlete: &Athlete, minutes: u32) -> Value {
    json!({ "athlete_id": athlete.id(), "from": "2026-11-02", "review_date": "2026-11-20", "availability": "limited",
        "max_minutes": minutes })
}

pub(super) fn decision(athlete: &Athlete, decision: &str) -> Value {
    json!({ "athlete_id": athlete.id(), "decision": decision, "scope": "practice", "decided_on": "2026-11-02",
        "document_reference": "folder 12" })
}

pub(super) fn sharing_codes(athlete: &Athlete) -> String {
    format!("athletes/{}/sharing-codes", athlete.id())
}

pub(super) fn organisation(name: &str) -> Value {
    json!({ "organisation": name })
}

pub(super) fn consents(athlete: &Athlete) -> String {
    format!("athletes/{}/consents", athlete.id())
}

pub(super) fn holds(athlete: &Athlete) -> String {
    format!("athletes/{}/holds", athlete.id())
}

pub(super) fn hold(reason: &str) -> Value {
    json!({ "reason": reason, "until": "2027-12-31" })
}

/// To a class of data for athletic trainers, from a day to come on, as anybody who decides may give it and file it.
pub(super) fn consent(data_class: &str) -> Value {
    json!({ "purpose": "look after her", "data_classes": [data_class], "recipient_role": "athletic_trainer",
        "from": "2026-12-01T00:00:00+01:00", "text_version": "2026-1", "evidence": "folder 3" })
}

pub(super) fn revocation(subject: &str) -> Value {
    json!({ "subject": subject, "reason": "telephone lost" })
}

pub(super) fn roster() -> Value {
    json!({
        "squads": [{ "external_id": "U14", "name": "U14 girls" }],
        "athletes": [{
            "external_id": "P-22", "display_name": "Ida Lund", "birth_date": "2012-05-06",
            "memberships": [{ "squad_external_id": "U14", "from": "2026-11-09" }], "guardians": [{ "external_id": "G-11" }],
        }],
    })
}

pub(super) fn person(code: &str) -> Value {
    json!({ "external_id": code, "display_name": code, "birth_date": "2011-03-14", "joined_on": "2026-01-01" })
}

/// A host that is never found (RFC 2606), so that nothing is sent anywhere.
pub(super) fn endpoint(name: &str) -> Value {
    json!({ "url": format!("https://{name}.example.invalid/notices") })
}

/// Two people of a roster who are perhaps one: the proposal's id.
pub(super) async fn two_alike(app: &Client) -> String {
    let person = |id: &str, name: &str| json!({ "external_id": id, "display_name": name, "birth_date": "2011-05-02" });
    let people = json!({ "athletes": [person("S-30", "Runa Falk"), person("S-31", "Runa Holm")] });
    let import = app.post("roster/imports", people).query("mode", "delta");
    let answer = import.await.expect(200);
    let found = answer["second_copies"][0]["second_copy_id"].as_str();
    found.expect("a proposal").to_owned()
}
