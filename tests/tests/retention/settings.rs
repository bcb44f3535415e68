//! Terms and holds as they are set and read.

use crate::*;

fn said(answer: &e2e::Answer, class: &str) -> (Value, Value) {
    let terms = answer["terms"].as_array().expect("terms").iter();
    let mut of_class = terms.filter(|term| term["class"] == class);
    let term = of_class.next().expect("the class");
    (
        term["days_after_leaving"].clone(),
        term["kept_for_days"].clone(),
    )
}

on_both_databases! {
    async fn a_club_that_has_set_nothing_keeps_everything_and_is_told_so(database: Database) {
        let world = World::start(database).await;
        let athlete = world.leaver("P-07").await;
        let unset = world.lead.get("retention").await.expect(200);
        assert_eq!((&unset["record_regime"], &unset["version"], unset.etag()), (&Value::Null, &json!(0), "\"0\""));
        assert_eq!(unset["says"], "No terms are set: everything is kept, also of athletes who left long ago.");
        assert_eq!((&unset["usual"][0]["class"], &unset["usual"][0]["days_after_leaving"]), (&json!("load"), &json!(730)));
        assert!(unset.string("note").starts_with("Local law decides"), "{}", unset.text());
        assert!(unset["terms"].as_array().expect("terms").iter().all(|term| term["kept_for_days"].is_null()));
        let due = world.due().await;
        assert_eq!((&due["items"], &due["counts"]["athletes"], &due["last_run"]), (&json!([]), &json!(0), &Value::Null));
        for day in ["2036-11-10", "2036-11-11"] {
            assert_eq!(world.run(day, &[]), "keeps everything: it has no terms");
        }
        assert_eq!(world.reports(&athlete).await, 2);
        assert!(world.server.rows("SELECT night FROM retention_runs").is_empty());
    }

    async fn terms_are_versions_that_the_privacy_lead_sets(database: Database) {
        let world = World::start(database).await;
        let terms = json!([{ "class": "load", "days_after_leaving": 730 }, { "class": "availability", "days_after_leaving": 365 }]);
        let body = json!({ "record_regime": "education", "terms": terms, "source_note": "school office, letter of 3 November" });
        world.lead.put("retention", body.clone()).await.expect_problem(428, "precondition_required");
        let set = world.lead.put("retention", body.clone()).if_match("\"0\"").await.expect(200);
        assert_eq!((&set["version"], said(&set, "load"), said(&set, "availability")),
            (&json!(1), (json!(730), json!(730)), (json!(365), json!(730))));
        assert_eq!(said(&set, "identity"), (Value::Null, Value::Null));
        assert!(set.string("regime_note").contains("education records; local law decides"), "{}", set.text());
        assert_eq!(world.lead.put("retention", body.clone()).await.expect(200)["version"], 1, "the same again changes nothing");
        let admin = world.club.as_role("club_admin");
        assert_eq!(admin.get("retention").await.expect(200).body, set.body);
        admin.put("retention", body.clone()).if_match("*").await.expect_problem(403, "role_may_not");
        admin.get("retention/due").await.expect_problem(403, "role_may_not");
        for role in ["coach", "athletic_trainer", "guardian", "integration"] {
            world.club.as_role(role).get("retention").await.expect_problem(403, "role_may_not");
        }
        let empty = json!({ "record_regime": "club", "terms": [] });
        let empty = world.lead.put("retention", empty).if_match("\"1\"").await.expect(200);
        assert_eq!((&empty["version"], &empty["source_note"]), (&json!(2), &Value::Null));
        world.lead.put("retention", body).if_match("\"1\"").await.expect_problem(412, "precondition_failed");
        let wrong = json!({ "record_regime": "hospital", "terms": [{ "class": "access_trail", "days_after_leaving": 1 },
            { "class": "load", "days_after_leaving": 1.5 }, { "class": "load", "days_after_leaving": 3 }] });
        let wrong = world.lead.put("retention", wrong).if_match("*").await.expect_problem(422, "invalid");
        let faults: Vec<_> = wrong["errors"].as_array().expect("errors").iter()
            .map(|fault| (fault["pointer"].as_str().expect("text"), fault["code"].as_str().expect("text"))).collect();
        let expected = [("/record_regime", "unknown_value"), ("/terms/0/class", "unknown_value"),
            ("/terms/1/days_after_leaving", "out_of_range"), ("/source_note", "missing_field")];
        assert_eq!(faults, expected);
        let asked = world.lead.get("audit").await.expect(200);
        let asked = asked["items"].as_array().expect("items").iter().filter(|row| row["action"] == "put_retention").count();
        assert_eq!(asked, 6, "every try is on the list");
    }

    async fn a_hold_is_entered_and_lifted_with_reasons_of_a_list(database: Database) {
        let world = World::start(database).await;
        let (athlete, other) = (world.athlete("P-07").await, world.athlete("P-08").await);
        let list = format!("athletes/{}/holds", athlete.id());
        let wrong = world.lead.post(&list, json!({ "reason": "her knee", "until": "2026-11-08" })).await.expect_problem(422, "invalid");
        let codes: Vec<_> = wrong["errors"].as_array().expect("errors").iter().map(|fault| &fault["code"]).collect();
        assert_eq!(codes, ["unknown_value", "out_of_range"]);
        let held = world.lead.post(&list, json!({ "reason": "insurance", "until": "2026-11-09" })).await.expect(201);
        assert_eq!((&held["stands"], &held["until"], &held["version"]), (&json!(true), &json!("2026-11-09"), &json!(1)));
        let items = world.lead.get(&list).await.expect(200)["items"].clone();
        assert_eq!(items, json!([held.body]));
        let path = format!("{list}/{}", held.string("hold_id"));
        let lift = |path: &str, reason: &str| world.lead.delete(path).body("application/json", json!({ "reason": reason }).to_string());
        lift(&path, "settled").await.expect_problem(428, "precondition_required");
        lift(&path, "I say so").if_match("\"1\"").await.expect_problem(422, "invalid");
        world.lead.delete(&path).if_match("\"1\"").await.expect_problem(422, "invalid");
        let elsewhere = path.replace(athlete.id(), other.id());
        lift(&elsewhere, "settled").if_match("*").await.expect_problem(404, "not_found");
        lift(&path, "settled").if_match("\"1\"").await.expect(204);
        lift(&path, "settled").if_match("*").await.expect_problem(404, "not_found");
        assert_eq!(world.lead.get(&list).await.expect(200)["items"], json!([]));
        let stored = world.server.rows("SELECT lifted FROM retention_holds ORDER BY version").concat();
        assert_eq!(stored[1], "settled", "who lifted it and why stays on record");
        let absent = list.replace(athlete.id(), e2e::FREE_ID);
        world.lead.get(&absent).await.expect_problem(404, "not_found");
        world.lead.post(&absent, json!({ "reason": "insurance" })).await.expect_problem(404, "not_found");
        for role in ["club_admin", "coach", "athletic_trainer", "guardian"] {
            world.club.as_role(role).get(&list).await.expect_problem(403, "role_may_not");
        }
        let audit = world.lead.get("audit").query("limit", 500).await.expect(200);
        let rows = audit["items"].as_array().expect("items").iter();
        let actions: Vec<_> = rows.filter(|row| row["outcome"] == "read").map(|row| (&row["action"], &row["athlete_id"])).collect();
        assert!(actions.contains(&(&json!("list_holds"), &json!(athlete.id()))), "{actions:?}");
    }

    async fn what_is_handed_out_says_what_kind_of_records_it_is(database: Database) {
        let mut world = World::start(database).await;
        let athlete = world.athlete("P-07").await;
        world.server.restart_at("2026-11-10T08:00:00+01:00").await;
        let note = async |as_of: Option<&str>| {
            let path = format!("athletes/{}/history", athlete.id());
            let read = world.club.as_role("athletic_trainer").get(path).query("purpose", "screening");
            let read = match as_of {
                Some(as_of) => read.query("as_of", as_of),
                None => read,
            };
            read.await.expect(200).string("record_note")
        };
        let before = note(None).await;
        assert!(before.starts_with("The club has not said") && before.contains("local law decides"), "{before}");
        let settings = json!({ "record_regime": "health_provider", "terms": [] });
        world.lead.put("retention", settings).if_match("*").await.expect(200);
        assert!(note(None).await.contains("records of a health care provider"));
        assert_eq!(note(Some("2026-11-10T07:59:00+01:00")).await, before, "what was known then said otherwise");
        for kind in ["text/csv", "text/html"] {
            let path = format!("athletes/{}/history", athlete.id());
            let read = world.club.as_role("athletic_trainer").get(path).query("purpose", "screening");
            let page = read.header("Accept", kind).await.expect(200).text();
            assert!(page.contains("records of a health care provider; local law decides"), "{kind}: {page}");
        }
    }
}
