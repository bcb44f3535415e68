//! What athletes say about pain: by whom it is said and read, and what it is refused for.

use e2e::{Answer, Athlete, Club, Database, Server, on_both_databases};
use serde_json::{Value, json};

async fn club_with(database: Database) -> (Server, Club, Athlete) {
    let server = Server::setup(database)
        .clock("2026-11-09T07:00:00+01:00")
        .start()
        .await;
    let club = server.club("Havneby Handball").await;
    let athlete = club.squad("U16").await.athlete("P-07").await;
    (server, club, athlete)
}

fn knee(athlete: &Athlete) -> Value {
    json!({ "athlete_id": athlete.id(), "date": "2026-11-08", "hurts": true, "area": "knee", "side": "left" })
}

/// Consents that athletic trainers read it; answers where the consent is withdrawn.
async fn consent(athlete: &Athlete) -> String {
    let path = format!("athletes/{}/consents", athlete.id());
    let words = json!({ "purpose": "look after her", "data_classes": ["pain"], "recipient_role": "athletic_trainer", "text_version": "2026-1" });
    let guardian = athlete.club().as_guardian_of(&[athlete]);
    let given = guardian.post(&path, words).await.expect(201);
    format!("{path}/{}/withdrawal", given.string("consent_id"))
}

async fn history(club: &Club, athlete: &Athlete) -> Answer {
    let trainer = club.as_role("athletic_trainer");
    let history = trainer.get(format!("athletes/{}/history", athlete.id()));
    history.query("purpose", "screening").await.expect(200)
}

fn left_out(history: &Answer) -> bool {
    let left_out = history["not_included"]
        .as_array()
        .expect("what is left out");
    left_out.iter().any(|one| one["what"] == "pain_reports")
}

on_both_databases! {
    async fn the_family_says_it_and_reads_it_and_trainers_by_consent_alone(database: Database) {
        let (_server, club, athlete) = club_with(database).await;
        let guardian = club.as_guardian_of(&[&athlete]);
        let said = guardian.post("pain-reports", knee(&athlete)).await.expect(201);
        assert!(said.string("note").contains("not an emergency channel"), "{}", said.text());
        assert_eq!(guardian.post("pain-reports", knee(&athlete)).await.expect(200).body, said.body);
        let path = format!("pain-reports/{}", said.string("pain_report_id"));
        for reader in [&guardian, &athlete.as_caller()] {
            assert_eq!(reader.get(&path).await.expect(200).body, said.body);
            assert_eq!(reader.get("pain-reports").await.expect(200)["items"], json!([said.body]));
        }
        let trainer = club.as_role("athletic_trainer");
        let refused = trainer.get(&path).await.expect_problem(403, "consent_missing");
        assert!(refused.string("detail").contains("ask her guardians"), "{}", refused.text());
        assert_eq!(trainer.get("pain-reports").await.expect(200)["items"], json!([]));
        trainer.get("pain-reports").query("athlete", athlete.id()).await.expect_problem(403, "consent_missing");
        let closed = history(&club, &athlete).await;
        assert_eq!((&closed["pain_reports"], left_out(&closed)), (&json!([]), true));

        let withdrawal = consent(&athlete).await;
        assert_eq!(trainer.get(&path).await.expect(200).body, said.body);
        assert_eq!(trainer.get("pain-reports").await.expect(200)["items"], json!([said.body]));
        let open = history(&club, &athlete).await;
        let told = json!([{ "date": "2026-11-08", "hurts": true, "area": "knee", "side": "left" }]);
        assert_eq!((&open["pain_reports"], left_out(&open)), (&told, false));

        guardian.post(&withdrawal, json!({})).await.expect(200);
        trainer.get(&path).await.expect_problem(403, "consent_withdrawn");
        assert_eq!(history(&club, &athlete).await["pain_reports"], json!([]));
        let gaps = club.as_role("privacy_lead").get("consent-gaps").await.expect(200);
        assert_eq!(gaps["gaps"], json!([]));
    }

    async fn coaches_and_programs_never_read_or_say_it(database: Database) {
        let (_server, club, athlete) = club_with(database).await;
        let guardian = club.as_guardian_of(&[&athlete]);
        let said = guardian.post("pain-reports", knee(&athlete)).await.expect(201);
        consent(&athlete).await;
        let path = format!("pain-reports/{}", said.string("pain_report_id"));
        for role in ["coach", "strength_coach", "integration", "club_admin", "privacy_lead"] {
            let caller = club.as_role(role);
            caller.get(&path).await.expect_problem(403, "role_may_not");
            caller.get("pain-reports").await.expect_problem(403, "role_may_not");
            caller.post("pain-reports", knee(&athlete)).await.expect_problem(403, "role_may_not");
        }
        let other = club.squad("U14").await.athlete("P-30").await;
        club.as_guardian_of(&[&other]).get(&path).await.expect_problem(404, "not_found");
        club.as_role("athletic_trainer").post("pain-reports", knee(&athlete)).await.expect_problem(403, "role_may_not");
    }

    async fn it_is_taken_back_with_a_tombstone(database: Database) {
        let (_server, club, athlete) = club_with(database).await;
        let guardian = club.as_guardian_of(&[&athlete]);
        let said = guardian.post("pain-reports", knee(&athlete)).await.expect(201);
        let path = format!("pain-reports/{}", said.string("pain_report_id"));
        guardian.delete(&path).await.expect_problem(428, "precondition_required");
        guardian.delete(&path).if_match("\"1\"").await.expect(204);
        guardian.get(&path).await.expect_problem(404, "not_found");
        assert_eq!(guardian.get("pain-reports").await.expect(200)["items"], json!([]));
    }

    async fn what_cannot_be_is_refused_with_every_fault(database: Database) {
        let (_server, club, athlete) = club_with(database).await;
        let guardian = club.as_guardian_of(&[&athlete]);
        for (change, pointer, code) in [
            (json!({ "hurts": null }), "/hurts", "missing_field"),
            (json!({ "area": null }), "/area", "missing_field"),
            (json!({ "area": "meniscus" }), "/area", "unknown_value"),
            (json!({ "side": "inner" }), "/side", "unknown_value"),
            (json!({ "hurts": false }), "/area", "unknown_value"),
            (json!({ "date": "2026-11-10" }), "/date", "in_future"),
            (json!({ "diagnosis": "none of ours" }), "/diagnosis", "unknown_field"),
        ] {
            let mut body = knee(&athlete);
            for (name, value) in change.as_object().expect("fields") {
                body[name] = value.clone();
            }
            let refused = guardian.post("pain-reports", body).await;
            let faults = refused["errors"].as_array().expect("faults");
            let found = faults.iter().any(|fault| fault["pointer"] == pointer && fault["code"] == code);
            assert!(refused.status == 422 && found, "{pointer} {code}: {}", refused.text());
        }
        assert_eq!(guardian.get("pain-reports").await.expect(200)["items"], json!([]));
    }
}
