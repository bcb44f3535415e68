//! `?dry_run=true`: the same checks and the same answer, and nothing stored. Every write of the document is tried.

use e2e::Writes;

use crate::*;

/// Everything that can be read of the club.
async fn snapshot(writes: &Writes) -> String {
    let (club, squad, athlete) = (writes.club(), writes.squad(), writes.athlete());
    let app = club.as_role("integration");
    let mut text = String::new();
    for path in [
        format!("/v1/clubs/{}", club.id()),
        "weekly-close".to_owned(),
        "policy".to_owned(),
        "policy/versions".to_owned(),
        "squads".to_owned(),
        format!("squads/{}/members", squad.id()),
        format!("squads/{}/members?on=2025-01-15", squad.id()),
        "athletes".to_owned(),
        "sessions".to_owned(),
        "rest-days".to_owned(),
        "absences".to_owned(),
        "events".to_owned(),
        "attendance".to_owned(),
        "flags".to_owned(),
        format!("athletes/{}/weeks", athlete.id()),
    ] {
        let answer = app.get(&path).await.expect(200);
        // The instant of the question is in the answer about figures.
        let mut body = answer.body;
        body.as_object_mut().expect("an object").remove("as_of");
        text += &format!("{path}: {body}\n");
    }
    // Nothing is there once it was taken back.
    let declared = app
        .get(format!("athletes/{}/declared-history", athlete.id()))
        .await;
    text += &format!("declared history: {}\n", declared["version"]);
    let admin = club.as_role("club_admin");
    let deliveries = writes.path("notices/{notice_id}/deliveries");
    for path in [
        "look-ahead",
        "mail-settings",
        "mail-names",
        "policy/drafts",
        "revocations",
        "notice-endpoints",
        "notices",
        &deliveries,
    ] {
        text += &admin.get(path).await.expect(200).body.to_string();
    }
    let trainer = club.as_role("athletic_trainer");
    for path in [
        "licences",
        "restrictions",
        "clearance-records",
        "injuries",
        "tests",
    ] {
        text += &trainer.get(path).await.expect(200).body.to_string();
    }
    // When a challenge is sent again stands with its deliveries alone.
    let endpoints = admin.get("notice-endpoints").await.expect(200);
    for endpoint in endpoints["items"].as_array().expect("items") {
        if let Some(challenge) = endpoint["challenge_notice_id"].as_str() {
            let asked = admin.get(format!("notices/{challenge}/deliveries")).await;
            text += &asked.expect(200).body.to_string();
        }
    }
    let endpoint = writes.path("notice-endpoints/{endpoint_id}");
    text += &admin.get(endpoint).await.expect(200).body.to_string();
    text
}

/// An answer without what two runs cannot share: ids and the instant of receipt.
fn comparable(value: &Value) -> Value {
    match value {
        Value::String(text) if text.len() == 36 && text.matches('-').count() == 4 => json!("an id"),
        Value::Array(items) => items.iter().map(comparable).collect(),
        Value::Object(members) => {
            let kept = members.iter().filter(|(name, _)| {
                let apart = [
                    "dry_run",
                    "received_at",
                    "written_at",
                    "changed_at",
                    "confirmed_at",
                    "at",
                    "secret",
                ];
                !apart.contains(&name.as_str())
            });
            kept.map(|(name, member)| (name.clone(), comparable(member)))
                .collect()
        }
        other => other.clone(),
    }
}

on_both_databases! {
    async fn a_trial_answers_the_same_and_stores_nothing(database: Database) {
        let server = Server::start(database).await;
        let writes = Writes::prepare(&server).await;
        let document = Document::served_by(&server).await;
        // What is said about a flag on the page comes before the writes that withdraw it.
        let mut operations: Vec<_> = document.operations().into_iter().collect();
        operations.sort_by_key(|operation| !operation.path.ends_with("/acknowledgements"));
        for operation in operations {
            if operation.method == "GET" || operation.is_question() {
                continue;
            }
            let name = operation.name();
            let before = snapshot(&writes).await;
            let trial = writes.of(&operation).dry_run().await;
            assert!(operation.is_good(trial.status), "{name}: {}", trial.text());
            assert_eq!(snapshot(&writes).await, before, "{name} stored something in a trial");
            let real = writes.of(&operation).await;
            assert_eq!((trial.status, comparable(&trial.body)), (real.status, comparable(&real.body)), "{name}");
            assert_eq!(trial.header("etag"), real.header("etag"), "{name}");
            if operation.path != "/v1/clubs" {
                assert_ne!(snapshot(&writes).await, before, "{name} changed nothing that can be read");
            }
        }
    }

    async fn a_trial_is_refused_as_the_real_call_would_be(database: Database) {
        let world = world(database).await;
        let mut report = world.report("r-1");
        report["rpe"] = json!(11);
        let trial = world.app().post("sessions", report.clone()).dry_run().await.expect_problem(422, "invalid");
        let real = world.app().post("sessions", report).await.expect_problem(422, "invalid");
        assert_eq!(trial["errors"], real["errors"]);
        for value in ["yes", "1", "TRUE", ""] {
            let odd = world.app().post("sessions", world.report("r-1")).query("dry_run", value).await;
            assert_eq!(odd.expect_problem(400, "bad_query")["errors"][0]["pointer"], "?dry_run");
        }
        assert!(world.sessions().await.is_empty());
    }
}
