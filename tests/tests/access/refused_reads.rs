//! Reads of one athlete's record that were refused are in the audit list, and what clinicians entered in vain, without whom they were
//! about.

use std::collections::BTreeSet;

use crate::*;

/// Names in paths that say neither whose record is read nor which one of hers.
const NOT_OF_ONE: [&str; 18] = [
    "{club_id}",
    "{squad_id}",
    "{week}",
    "{membership_id}",
    "{event_id}",
    "{calendar_id}",
    "{source_id}",
    "{second_copy_id}",
    "{licence_id}",
    "{endpoint_id}",
    "{draft_id}",
    "{notice_id}",
    "{revocation_id}",
    "{exercise}",
    "{programme_id}",
    "{link}",
    "{resource_type}",
    "{schema}",
];

/// What the audit list of a club holds, the oldest first.
async fn audit(club: &Club) -> Vec<Value> {
    let lead = club.as_role("privacy_lead");
    let list = lead.get("audit").query("limit", 500).await.expect(200);
    list["items"].as_array().expect("items").clone()
}

/// Asserts that a row says in which role by whom what was asked for, and nothing about whom.
fn assert_refused(row: &Value, role: &str, action: &str) {
    let said =
        ["outcome", "role", "subject", "action"].map(|field| row[field].as_str().expect("a text"));
    assert_eq!(said, ["refused", role, "somebody", action], "{row}");
    assert_eq!(
        (&row["athlete_id"], &row["purpose"]),
        (&Value::Null, &Value::Null),
        "{row}"
    );
}

on_both_databases! {
    async fn what_is_absent_and_what_is_out_of_reach_are_entered_alike(database: Database) {
        let server = Server::start(database).await;
        let club = server.club("Havneby Handball").await;
        let (near, far) = (club.squad("U16").await, club.squad("U18").await);
        let athlete = far.athlete("P-12").await;
        let report = athlete.session("2026-11-03T17:30:00+01:00", 90, 6.0).await.string("session_id");
        let coach = club.client(Identity::role("coach").subject("somebody").squad(near.id()));
        let child = near.athlete("P-07").await;
        let guardian = club.client(Identity::role("guardian").subject("somebody").athlete(child.id()));
        let known = audit(&club).await.len();
        let reads = [
            (&coach, "coach", format!("athletes/{}/load", athlete.id()), "GET athletes/{athlete_id}/load"),
            (&coach, "coach", format!("athletes/{}", athlete.id()), "GET athletes/{athlete_id}"),
            (&coach, "coach", format!("absences?athlete={}", athlete.id()), "GET absences"),
            (&coach, "coach", format!("absences?%61thlete={}", athlete.id()), "GET absences"),
            (&guardian, "guardian", format!("sessions/{report}"), "GET sessions/{session_id}"),
            (&guardian, "guardian", format!("athletes/{}/readers", athlete.id()), "GET athletes/{athlete_id}/readers"),
        ];
        let mut expected = Vec::new();
        for (caller, role, path, action) in &reads {
            let there = caller.get(path).await.expect_problem(404, "not_found");
            let absent = path.replace(athlete.id(), e2e::FREE_ID).replace(&report, e2e::FREE_ID);
            let absent = caller.get(&absent).await.expect_problem(404, "not_found");
            assert_eq!((&there["detail"], &there["title"]), (&absent["detail"], &absent["title"]));
            expected.extend([(*role, *action); 2]);
        }
        let rows = audit(&club).await;
        assert_eq!(rows.len(), known + expected.len());
        for (row, (role, action)) in rows[known..].iter().zip(expected) {
            assert_refused(row, role, action);
        }
        let text = serde_json::to_string(&rows[known..]).expect("JSON");
        assert!(!text.contains(athlete.id()) && !text.contains(&report), "{text}");
        assert!(server.run(&["audit", "verify"]).status.success());
    }

    async fn a_role_without_the_right_is_entered(database: Database) {
        let server = Server::start(database).await;
        let club = server.club("Havneby Handball").await;
        let athlete = club.squad("U16").await.athlete("P-07").await;
        let admin = club.client(Identity::role("club_admin").subject("somebody"));
        let known = audit(&club).await.len();
        admin.get(format!("athletes/{}/load", athlete.id())).await.expect_problem(403, "role_may_not");
        admin.get("flags").query("athlete", athlete.id()).await.expect_problem(403, "role_may_not");
        // These name nobody, or change something.
        admin.get("flags").await.expect_problem(403, "role_may_not");
        admin.get(format!("squads/{}", e2e::FREE_ID)).await.expect_problem(404, "not_found");
        admin.post("sessions", json!({})).await.expect_problem(403, "role_may_not");
        let rows = audit(&club).await;
        assert_eq!(rows.len(), known + 2);
        assert_refused(&rows[known], "club_admin", "GET athletes/{athlete_id}/load");
        assert_refused(&rows[known + 1], "club_admin", "GET flags");
    }

    async fn what_clinicians_enter_or_ask_in_vain_is_entered(database: Database) {
        let server = Server::start(database).await;
        let club = server.club("Havneby Handball").await;
        let athlete = club.squad("U16").await.athlete("P-07").await;
        let licence = json!({ "subject": "somebody", "name": "Vera Holm", "licence_type": "physiotherapist", "valid_until": "2027-12-31" });
        club.as_role("club_admin").post("licences", licence).await.expect(201);
        let trainer = club.client(Identity::role("athletic_trainer").subject("somebody"));
        let known = audit(&club).await.len();
        let unlimited = json!({ "athlete_id": athlete.id(), "from": "2026-11-03", "instruction": "At most 60 min." });
        trainer.post("restrictions", unlimited.clone()).await.expect(422);
        trainer.post("restrictions", unlimited).dry_run().await.expect(422);
        trainer.get(format!("athletes/{}/history", athlete.id())).await.expect(400);
        // A report of a session is nobody's clinical record.
        club.as_role("integration").post("sessions", json!({})).await.expect(422);
        // A change that is no trial has a row of its own before anybody knows what comes of it.
        let mut rows = audit(&club).await.split_off(known);
        let asked = rows.remove(0);
        assert_eq!((&asked["outcome"], &asked["action"]), (&json!("asked"), &json!("create_restriction")));
        let [first, trial, read] = &rows[..] else { panic!("three refusals: {rows:?}") };
        assert_refused(first, "athletic_trainer", "POST restrictions");
        assert_refused(trial, "athletic_trainer", "POST restrictions");
        assert_refused(read, "athletic_trainer", "GET athletes/{athlete_id}/history");
    }

    async fn who_is_not_of_the_club_enters_nothing(database: Database) {
        let server = Server::start(database).await;
        let (club, stranger) = (server.club("Havneby Handball").await, server.club("Fjordby Handball").await);
        let athlete = club.squad("U16").await.athlete("P-07").await;
        let path = format!("/v1/clubs/{}/athletes/{}/load", club.id(), athlete.id());
        stranger.as_role("coach").get(&path).await.expect_problem(404, "not_found");
        server.as_role("operator").get(&path).await.expect_problem(403, "role_may_not");
        server.anonymous().get(&path).await.expect_problem(401, "unauthenticated");
        for club in [&club, &stranger] {
            assert_eq!(audit(club).await, Vec::<Value>::new());
        }
    }

    async fn a_flood_of_refusals_ends_with_the_quota_of_the_token(database: Database) {
        let server = Server::setup(database).setting("PLIMSOLL_RATE_LIMIT", "20").start().await;
        let club = server.club("Havneby Handball").await;
        let coach = club.client(Identity::role("coach").subject("somebody"));
        let path = format!("athletes/{}/load", e2e::FREE_ID);
        let mut refused = 0;
        for _ in 0..60 {
            let answer = coach.get(&path).await;
            assert!([404, 429].contains(&answer.status), "{}", answer.text());
            refused += usize::from(answer.status == 404);
        }
        assert!((20..40).contains(&refused), "{refused} were answered");
        assert_eq!(audit(&club).await.len(), refused);
    }

    // A new name in a path is either one of these or enters what is refused.
    async fn every_read_that_names_a_record_is_entered(database: Database) {
        let server = Server::start(database).await;
        let writes = Writes::prepare(&server).await;
        let club = writes.club();
        let mut tried = BTreeSet::new();
        for operation in Document::committed().operations() {
            let mut names = operation.path.split('/').filter(|part| part.starts_with('{'));
            let names_one = names.any(|name| !NOT_OF_ONE.contains(&name)) || operation.takes("athlete");
            let reads = operation.method == "GET" && operation.has_club() && names_one;
            // The audit list may be asked about an athlete who is no longer there.
            if !reads || operation.id() == "list_audit" {
                continue;
            }
            let before = audit(club).await.len();
            let ids = writes.ids();
            let absent = ids.iter().fold(writes.read(&operation), |call, id| call.about(id, e2e::FREE_ID));
            let absent = if operation.takes("athlete") { absent.query("athlete", e2e::FREE_ID) } else { absent };
            absent.await.expect_problem(404, "not_found");
            let rows = audit(club).await;
            assert_eq!((rows.len(), &rows[before]["outcome"]), (before + 1, &json!("refused")), "{}", operation.name());
            tried.insert(operation.id().to_owned());
        }
        assert!(tried.len() >= 25, "{tried:?}");
    }
}
