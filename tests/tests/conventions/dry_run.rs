//! `?dry_run=true`: the same checks and the same answer, and nothing stored. Every write of the document is tried.

use e2e::{Operation, Request};

use crate::*;

/// What the writes need: each that changes or removes has a record of its own.
struct Records {
    world: World,
    session: [String; 2],
    membership: [String; 2],
    rest_day: String,
    absence: String,
    flag: String,
}

async fn records(database: Database) -> Records {
    let world = world(database).await;
    world.club.example_policy().await;
    let spiked = world
        .squad
        .athlete("P-12")
        .with("joined_on", "2026-10-12")
        .await;
    let weeks = spiked.weeks("2026-10-12", &[1380.0, 1380.0, 1530.0, 2880.0]);
    world.club.bulk(weeks).await.expect(200);
    let closed = world.server.run(&["close-week", "--week", "2026-W45"]);
    assert!(
        closed.status.success(),
        "{}",
        String::from_utf8_lossy(&closed.stderr)
    );
    let flags = world.club.as_role("coach").get("flags").await.expect(200);
    let flag = flags["items"][0]["flag_id"]
        .as_str()
        .expect("a flag")
        .to_owned();

    let members = format!("squads/{}/members", world.squad.id());
    let members = world.app().get(&members).await.expect(200);
    let membership = [0, 1].map(|at| {
        members["items"][at]["membership_id"]
            .as_str()
            .expect("an id")
            .to_owned()
    });
    let mut session = Vec::new();
    for id in ["r-1", "r-2"] {
        let made = world
            .app()
            .post("sessions", world.report(id))
            .await
            .expect(201);
        session.push(made.string("session_id"));
    }
    let rest_day = world.athlete.rest("2026-11-01").await.string("rest_day_id");
    let body = absence(&world, "2026-09-01", "2026-09-03");
    let absence = world
        .app()
        .post("absences", body)
        .await
        .expect(201)
        .string("absence_id");
    let session = session.try_into().expect("two sessions");
    Records {
        world,
        session,
        membership,
        rest_day,
        absence,
        flag,
    }
}

fn absence(world: &World, from: &str, to: &str) -> Value {
    json!({ "athlete_id": world.athlete.id(), "from": from, "to": to, "category": "holiday" })
}

impl Records {
    /// The write of an operation, with content that is accepted; `None` for an operation that is not known here.
    fn write(&self, operation: &Operation) -> Option<Request> {
        const NEW: &str = "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b";
        let World {
            server,
            club,
            squad,
            athlete,
        } = &self.world;
        let (admin, app) = (club.as_role("club_admin"), club.as_role("integration"));
        let (squad, squads) = (squad.id(), format!("squads/{}", squad.id()));
        let [patched, removed] = &self.session;
        let [member, gone] = &self.membership;
        let person = |code: &str| {
            json!({ "external_id": code, "display_name": code, "birth_date": "2011-03-14",
                "joined_on": "2026-01-01", "squads": [squad] })
        };
        let reason = |request: Request| {
            request
                .if_match("*")
                .body("application/json", r#"{"reason": "entered twice"}"#)
        };
        let path = operation
            .path
            .strip_prefix("/v1/clubs")
            .unwrap_or(&operation.path);
        let path = path.strip_prefix("/{club_id}").unwrap_or(path);
        Some(match (operation.method.as_str(), path) {
            ("POST", "") if operation.path == "/v1/clubs" => {
                server.club("Fjordby Handball").into_request()
            }
            ("PATCH", "") => admin
                .patch(
                    format!("/v1/clubs/{}", club.id()),
                    json!({ "name": "Nyby Handball" }),
                )
                .if_match("*"),
            ("PUT", "/policy") => club
                .example_policy()
                .with("effective_from", "2026-11-16")
                .into_request()
                .if_match("*"),
            ("POST", "/squads") => club.squad("U18").into_request(),
            ("PUT", "/squads/{squad_id}") => {
                admin.put(format!("squads/{NEW}"), json!({ "name": "U14" }))
            }
            ("PATCH", "/squads/{squad_id}") => admin
                .patch(&squads, json!({ "name": "U16 girls" }))
                .if_match("*"),
            ("POST", "/squads/{squad_id}/members") => {
                let body = json!({ "athlete_id": athlete.id(), "role": "guest", "from": "2025-01-01", "to": "2025-02-01" });
                admin.post(format!("{squads}/members"), body)
            }
            ("PATCH", "/squads/{squad_id}/members/{membership_id}") => admin
                .patch(
                    format!("{squads}/members/{member}"),
                    json!({ "to": "2027-01-01" }),
                )
                .if_match("*"),
            ("DELETE", "/squads/{squad_id}/members/{membership_id}") => admin
                .delete(format!("{squads}/members/{gone}"))
                .if_match("*"),
            ("POST", "/athletes") => admin.post("athletes", person("P-20")),
            ("PUT", "/athletes/{athlete_id}") => {
                let mut body = person("P-21");
                body.as_object_mut()?.remove("squads");
                admin.put(format!("athletes/{NEW}"), body)
            }
            ("PATCH", "/athletes/{athlete_id}") => admin
                .patch(
                    format!("athletes/{}", athlete.id()),
                    json!({ "display_name": "Asta" }),
                )
                .if_match("*"),
            ("POST", "/sessions") => app.post("sessions", self.world.report("r-3")),
            ("POST", "/sessions/bulk") => {
                club.bulk(vec![self.world.report("r-4"), json!({ "rpe": 11 })])
            }
            ("PUT", "/sessions/{session_id}") => {
                app.put(format!("sessions/{NEW}"), self.world.report("r-5"))
            }
            ("PATCH", "/sessions/{session_id}") => app
                .patch(format!("sessions/{patched}"), json!({ "rpe": 5 }))
                .if_match("*"),
            ("DELETE", "/sessions/{session_id}") => {
                reason(app.delete(format!("sessions/{removed}")))
            }
            ("POST", "/rest-days") => athlete.rest("2026-11-02").into_request(),
            ("DELETE", "/rest-days/{rest_day_id}") => app
                .delete(format!("rest-days/{}", self.rest_day))
                .if_match("*"),
            ("POST", "/absences") => {
                app.post("absences", absence(&self.world, "2026-08-01", "2026-08-07"))
            }
            ("DELETE", "/absences/{absence_id}") => app
                .delete(format!("absences/{}", self.absence))
                .if_match("*"),
            ("POST", "/flags/{flag_id}/acknowledgement") => club.as_role("coach").post(
                format!("flags/{}/acknowledgement", self.flag),
                json!({ "action": "talked" }),
            ),
            _ => return None,
        })
    }

    /// Everything that can be read of the club.
    async fn snapshot(&self) -> String {
        let World {
            club,
            squad,
            athlete,
            ..
        } = &self.world;
        let app = club.as_role("integration");
        let mut text = String::new();
        for path in [
            format!("/v1/clubs/{}", club.id()),
            "policy".to_owned(),
            "policy/versions".to_owned(),
            "squads".to_owned(),
            format!("squads/{}/members", squad.id()),
            format!("squads/{}/members?on=2025-01-15", squad.id()),
            "athletes".to_owned(),
            "sessions".to_owned(),
            "rest-days".to_owned(),
            "absences".to_owned(),
            "flags".to_owned(),
            format!("athletes/{}/weeks", athlete.id()),
        ] {
            let answer = app.get(&path).await.expect(200);
            // The instant of the question is in the answer about figures.
            let mut body = answer.body;
            body.as_object_mut().expect("an object").remove("as_of");
            text += &format!("{path}: {body}\n");
        }
        text
    }
}

/// An answer without what two runs cannot share: ids and the instant of receipt.
fn comparable(value: &Value) -> Value {
    match value {
        Value::String(text) if text.len() == 36 && text.matches('-').count() == 4 => json!("an id"),
        Value::Array(items) => items.iter().map(comparable).collect(),
        Value::Object(members) => {
            let kept = members
                .iter()
                .filter(|(name, _)| !["dry_run", "received_at", "at"].contains(&name.as_str()));
            kept.map(|(name, member)| (name.clone(), comparable(member)))
                .collect()
        }
        other => other.clone(),
    }
}

on_both_databases! {
    async fn a_trial_answers_the_same_and_stores_nothing(database: Database) {
        let records = records(database).await;
        let document = Document::served_by(&records.world.server).await;
        for operation in document.operations() {
            // A search by name is a POST so that no name stands in a URL; it changes nothing.
            if operation.method == "GET" || operation.path.ends_with("/search") {
                continue;
            }
            let name = operation.name();
            let write = || records.write(&operation).unwrap_or_else(|| panic!("no example of {name} here"));
            let before = records.snapshot().await;
            let trial = write().dry_run().await;
            assert!((200..300).contains(&trial.status), "{name}: {}", trial.text());
            assert_eq!(records.snapshot().await, before, "{name} stored something in a trial");
            let real = write().await;
            assert_eq!((trial.status, comparable(&trial.body)), (real.status, comparable(&real.body)), "{name}");
            assert_eq!(trial.header("etag"), real.header("etag"), "{name}");
            if operation.path != "/v1/clubs" {
                assert_ne!(records.snapshot().await, before, "{name} changed nothing that can be read");
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
