//! An athlete with a word of her own in every text that is kept of her.

use e2e::directory::Directory;
use e2e::{Athlete, Club, Squad};
use serde_json::{Value, json};

/// The athlete, and what was planted.
pub(crate) struct Plants {
    pub(crate) athlete: Athlete,
    /// What every planted word begins with.
    pub(crate) prefix: &'static str,
    /// Planted words that are hers.
    pub(crate) hers: Vec<String>,
    /// Planted words that name a member of staff.
    pub(crate) of_staff: Vec<String>,
    /// A repeated request: path, body and key.
    pub(crate) sent: (String, Value, String),
}

/// Makes the athlete with a word in each text, everything sent under an idempotency key.
pub(crate) async fn plant(squad: &Squad, prefix: &'static str) -> Plants {
    let club = squad.club();
    let word = |what: &str| format!("{prefix}{what}");
    let athlete = squad
        .athlete(&word("external"))
        .with("display_name", word("name"))
        .with("joined_on", "2026-10-12")
        .with("birth_date", "2011-05-02")
        .await;
    let weeks = athlete.weeks("2026-10-12", &[1380.0, 1380.0, 1530.0, 2880.0]);
    club.bulk(weeks)
        .idempotency_key(&word("key-bulk"))
        .await
        .expect(200);
    let (app, trainer) = (
        club.as_role("integration"),
        club.as_role("athletic_trainer"),
    );
    let id = athlete.id();
    let report = athlete
        .session("2026-10-13T10:00:00+02:00", 10, 1.0)
        .with("external_id", word("report"))
        .with("note", word("note"))
        .into_body();
    let sent = ("sessions".to_owned(), report, word("key"));
    let report = app
        .post(&sent.0, sent.1.clone())
        .idempotency_key(&sent.2)
        .await
        .expect(201);
    let contacts = format!("sessions/{}/contacts", report.string("session_id"));
    let counted = json!({ "landings": { "both_feet": 61, "left_foot": 51, "right_foot": 51 }, "throws": 80, "basis": "counted" });
    app.put(contacts, counted).await.expect(201);
    athlete.rest("2026-11-01").await;
    let hurts = json!({ "athlete_id": id, "date": "2026-11-02", "hurts": true, "area": "knee" });
    let guardian = club.as_guardian_of(&[&athlete]);
    guardian.post("pain-reports", hurts).await.expect(201);
    asked(&athlete, &report.string("session_id"), prefix).await;
    let absence = json!({ "athlete_id": id, "from": "2026-09-01", "to": "2026-09-03", "category": "holiday" });
    app.post("absences", absence).await.expect(201);
    let week =
        json!({ "weekly_minutes": { "low": 240, "high": 360 }, "rpe": { "low": 4, "high": 6 } });
    app.post(format!("athletes/{id}/declared-history"), week)
        .await
        .expect(201);
    let event = json!({ "external_id": format!("trial of {}", &id[30..]), "setting": "club", "kind": "practice", "minutes": 90,
        "starts_at": "2026-10-14T17:30:00+02:00", "squads": [squad.id()], "athletes": [id] });
    let event = app.post("events", event).await.expect(201);
    let present =
        json!({ "event_id": event.string("event_id"), "athlete_id": id, "status": "present" });
    app.post("attendance", present).await.expect(201);
    let restriction = json!({ "athlete_id": id, "from": "2026-11-02", "review_date": "2026-11-20", "availability": "limited",
        "instruction": word("instruction"), "note": word("clinical") });
    let set = trainer.post("restrictions", restriction).await.expect(201);
    trainer
        .delete(format!("restrictions/{}", set.string("restriction_id")))
        .body(
            "application/json",
            json!({ "reason": word("back") }).to_string(),
        )
        .if_match("*")
        .await
        .expect(204);
    let decision = json!({ "athlete_id": id, "decision": "not_yet", "scope": word("scope"), "decided_on": "2026-11-02",
        "document_reference": word("folder") });
    trainer
        .post("clearance-records", decision)
        .await
        .expect(201);
    let test = json!({ "athlete_id": id, "test": "single_hop_distance", "side": "left", "trials": [126, 128.5],
        "tested_on": "2026-11-02", "tester": word("tester") });
    trainer.post("tests", test).await.expect(201);
    signed_off(club, &athlete, prefix).await;
    assigned(club, &athlete, prefix).await;
    let injury = json!({ "athlete_id": id, "side": "left", "injured_on": "2026-02-21" });
    trainer.post("injuries", injury).await.expect(201);
    consent(club, &athlete, prefix).await;
    let guarded = json!({ "external_id": word("external"), "guardians": [{ "external_id": word("guardian") }] });
    let roster = app.post("roster/imports", json!({ "athletes": [guarded] }));
    let roster = roster.query("mode", "delta").await.expect(200);
    assert_eq!(roster["changed"], 1, "{}", roster.text());
    entered_again(club, prefix).await;
    let directory = Directory::of(club, "integration");
    let named = json!([{ "op": "replace", "path": "userName", "value": word("user") }]);
    directory
        .patch(&format!("Users/{id}"), named)
        .await
        .expect(200);
    let hers = [
        "guardian",
        "user",
        "external",
        "name",
        "report",
        "note",
        "instruction",
        "clinical",
        "back",
        "scope",
        "folder",
        "purpose",
        "text",
        "evidence",
        "withdrawal",
        "organisation",
        "watched",
        "withdrawn",
        "band",
        "reason",
        "talked",
        "question",
        "reply",
    ];
    Plants {
        hers: hers.map(word).into(),
        of_staff: vec![word("tester")],
        sent,
        prefix,
        athlete,
    }
}

/// The same person under another key, and the decision that they are one.
async fn entered_again(club: &Club, prefix: &str) {
    let again = json!({ "external_id": format!("{prefix}again"), "display_name": format!("{prefix}name"), "birth_date": "2011-05-02" });
    let app = club.as_role("integration");
    let roster = app.post("roster/imports", json!({ "athletes": [again] }));
    let roster = roster.query("mode", "delta").await.expect(200);
    let copy = &roster["second_copies"][0]["second_copy_id"];
    let path = format!(
        "roster/second-copies/{}",
        copy.as_str().expect("a proposal")
    );
    let decided = club
        .as_role("club_admin")
        .patch(path, json!({ "decision": "same_person" }));
    decided.if_match("*").await.expect(200);
}

/// A programme with a change of her own.
async fn assigned(club: &Club, athlete: &Athlete, prefix: &str) {
    let (coach, id) = (club.as_role("strength_coach"), athlete.id());
    let item = json!({ "exercise": "squat", "sets": 3, "reps": 10 });
    let session = json!({ "setting": "prescribed_home", "kind": "strength", "items": [item] });
    let week = json!({ "days": [{ "day": "tuesday", "sessions": [session] }] });
    let programme =
        json!({ "name": "Summer", "blocks": [{ "name": "Learning", "weeks": [week] }] });
    let programme = coach.post("programmes", programme).await.expect(201);
    let programme = programme.string("programme_id");
    let path = format!(
        "programmes/{programme}/assignments/{}520000000001",
        &id[..24]
    );
    let change = json!({ "week": 1, "day": "tuesday", "item": 1, "change": "alter", "with": { "band": format!("{prefix}band") } });
    let body = json!({ "athlete_id": id, "from": "2026-11-02", "changes": [change] });
    coach.put(path, body).await.expect(201);
}

/// A question about a session, answered.
async fn asked(athlete: &Athlete, session: &str, prefix: &str) {
    let club = athlete.club();
    let question =
        json!({ "text": format!("{prefix}question"), "about": { "session_id": session } });
    let path = format!("athletes/{}/questions", athlete.id());
    let guardian = club.as_guardian_of(&[athlete]);
    let asked = guardian.post(path, question).await.expect(201);
    let path = format!("questions/{}", asked.string("question_id"));
    let reply = json!({ "reply": format!("{prefix}reply") });
    let answered = club.as_role("strength_coach").patch(path, reply);
    answered.if_match("*").await.expect(200);
}

/// A technique signed off and withdrawn.
async fn signed_off(club: &Club, athlete: &Athlete, prefix: &str) {
    let (coach, id) = (club.as_role("coach"), athlete.id());
    let path = format!("athletes/{id}/sign-offs/{}510000000001", &id[..24]);
    let watched = json!({ "exercise": "squat", "signed_on": "2026-11-02", "seen_in_person": true, "note": format!("{prefix}watched") });
    coach.put(&path, watched).await.expect(201);
    let reason = json!({ "reason": format!("{prefix}withdrawn") }).to_string();
    let withdrawn = coach.delete(&path).body("application/json", reason);
    withdrawn.if_match("*").await.expect(204);
}

/// A consent that was withdrawn, on paper, and an organisation elsewhere.
async fn consent(club: &Club, athlete: &Athlete, prefix: &str) {
    let lead = club.as_role("privacy_lead");
    let word = |what: &str| format!("{prefix}{what}");
    let list = format!("athletes/{}/consents", athlete.id());
    let given = json!({ "purpose": word("purpose"), "data_classes": ["pain"], "recipient_role": "athletic_trainer",
        "text_version": word("text"), "evidence": word("evidence") });
    let given = lead.post(&list, given).await.expect(201);
    let path = format!("{list}/{}/withdrawal", given.string("consent_id"));
    lead.post(path, json!({ "evidence": word("withdrawal") }))
        .await
        .expect(200);
    let hold = json!({ "reason": "insurance", "until": "2030-12-31" });
    lead.post(format!("athletes/{}/holds", athlete.id()), hold)
        .await
        .expect(201);
    let codes = format!("athletes/{}/sharing-codes", athlete.id());
    lead.post(codes, json!({ "organisation": word("organisation") }))
        .await
        .expect(201);
}

impl Plants {
    /// Says what was done about her finding, and takes a report of that week back, so that the finding goes and a notice names it.
    pub(crate) async fn find(&mut self, club: &Club) {
        let app = club.as_role("integration");
        let id = self.athlete.id();
        let flags = app.get("flags").query("athlete", id).await.expect(200);
        let flag = flags["items"][0]["flag_id"].as_str().expect("a flag");
        club.as_role("coach")
            .post(
                format!("flags/{flag}/acknowledgement"),
                json!({ "action": "talked", "note": format!("{}talked", self.prefix) }),
            )
            .idempotency_key(&format!("{} about it", self.prefix))
            .await
            .expect(201);
        let reports = app
            .get("sessions")
            .query("athlete", id)
            .query("from", "2026-11-02")
            .await
            .expect(200);
        for report in reports["items"].as_array().expect("items") {
            let path = format!("sessions/{}", report["session_id"].as_str().expect("an id"));
            app.delete(path)
                .body(
                    "application/json",
                    json!({ "reason": format!("{}reason", self.prefix) }).to_string(),
                )
                .if_match("*")
                .await
                .expect(204);
        }
    }
}
