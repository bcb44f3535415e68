//! `?dry_run=true`: the same checks and the same answer, and nothing stored. Every write of the document is tried.

use std::collections::BTreeMap;

use e2e::Writes;

use crate::*;

/// Everything that is stored, but for the list of what was read and asked: a trial is entered there as the real call is.
fn stored(server: &Server) -> BTreeMap<String, Vec<String>> {
    let mut tables = server.tables();
    for list in ["audit_reads", "audit_heads"] {
        tables.remove(list).expect("the table is there");
    }
    tables
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
                    "read_at",
                    "next_reading_at",
                    "next_attempt_at",
                    "written_at",
                    "changed_at",
                    "decided_at",
                    "confirmed_at",
                    "given_at",
                    "asked_at",
                    "withdrawn_at",
                    "made_at",
                    "sharing_code",
                    "code_until",
                    "at",
                    "secret",
                    "created",
                    "lastModified",
                    "location",
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
        let mut before = stored(&server);
        for operation in operations {
            if operation.method == "GET" || operation.is_question() {
                continue;
            }
            let name = operation.name();
            let trial = writes.of(&operation).dry_run().await;
            assert!(operation.is_good(trial.status), "{name}: {}", trial.text());
            assert_eq!(stored(&server), before, "{name} stored something in a trial");
            let real = writes.of(&operation).await;
            assert_eq!((trial.status, comparable(&trial.body)), (real.status, comparable(&real.body)), "{name}");
            assert_eq!(trial.header("etag"), real.header("etag"), "{name}");
            let after = stored(&server);
            assert_ne!(after, before, "{name} stored nothing");
            before = after;
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
