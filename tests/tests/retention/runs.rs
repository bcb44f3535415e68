//! What a run erases, and what it does not.

use crate::*;

/// Tables with rows of class load, all of which hers are.
const OF_LOAD: [&str; 7] = [
    "session_reports",
    "session_contacts",
    "day_totals",
    "expected_sessions",
    "attendance",
    "rest_days",
    "declared_histories",
];

on_both_databases! {
    // OP5
    async fn what_is_due_goes_on_the_second_night_and_nothing_else_is_touched(database: Database) {
        let world = World::start(database).await;
        let (leaver, _member) = (world.leaver("P-07").await, world.athlete("P-08").await);
        let held = world.leaver("P-09").await;
        world.hold(&held, json!({ "reason": "insurance" })).await;
        world.terms(&[("load", 10)]).await;
        assert_eq!(world.run("2026-11-10", &[]), "2026-11-10 erased: 0 athletes; on a later night: 0; held: 0");
        assert_eq!(world.run("2026-11-11", &[]), "2026-11-11 erased: 0 athletes; on a later night: 1; held: 1");
        let before = world.server.tables();
        let gone: Vec<_> = OF_LOAD.iter()
            .map(|table| (*table, tables::of_athlete(&before, table, &leaver))).collect();
        let rows: usize = gone.iter().map(|(_, rows)| rows.len()).sum();
        assert!(rows >= 5, "{gone:?}");
        let expected = format!("1 athletes, load {rows} rows; on a later night: 0; held: 1");

        let trial = world.run("2026-11-12", &["--dry-run"]);
        assert_eq!(trial, format!("2026-11-12 would be erased: {expected}"));
        assert_eq!(world.server.tables(), before, "a trial changes nothing");
        assert_eq!(world.run("2026-11-12", &[]), format!("2026-11-12 erased: {expected}"));

        let mut after = world.server.tables();
        let noted = after.get_mut("retention_runs").expect("runs").len();
        let mut left = gone.iter().fold(before, |tables, (table, rows)| tables::without(tables, table, rows));
        assert_eq!(noted, 3);
        // The night's own note, and the club's clock.
        for table in ["retention_runs", "clubs"] {
            left.remove(table);
            after.remove(table);
        }
        for (table, rows) in &left {
            assert_eq!(rows, &after[table], "{table}");
        }
        assert_eq!(left.len(), after.len());
        let noted = world.server.rows("SELECT athletes, erased, cleaned_at FROM retention_runs ORDER BY night DESC").remove(0);
        assert_ne!(noted[2], "", "the bytes are gone too");
        let erased: Value = serde_json::from_str(&noted[1]).expect("JSON");
        assert_eq!((noted[0].as_str(), erased), ("1", json!({ "load": rows })));
        assert_eq!(world.run("2026-11-12", &[]), "has today's run already");
        assert_eq!(world.run("2026-11-13", &[]), "2026-11-13 erased: 0 athletes; on a later night: 0; held: 1");
        assert!(world.server.run(&["audit", "verify"]).status.success());
    }

    async fn what_is_due_is_listed_before_it_goes(database: Database) {
        let mut world = World::start(database).await;
        let (leaver, held) = (world.leaver("P-07").await, world.leaver("P-08").await);
        world.terms(&[("load", 10), ("availability", 5)]).await;
        world.run("2026-11-10", &[]);
        world.server.restart_at("2026-11-11T08:00:00+01:00").await;
        let hold = world.hold(&held, json!({ "reason": "legal_claim", "until": "2026-11-12" })).await;
        let due = world.due().await;
        assert_eq!((&due["next_run"], &due["last_run"]["night"]), (&json!("2026-11-11"), &json!("2026-11-10")));
        // Her absences go no earlier than the loads that need them.
        let classes = json!([{ "class": "load", "since": "2026-11-11" }, { "class": "availability", "since": "2026-11-11" }]);
        assert_eq!((&due["items"][0]["due"], &due["items"][0]["left_on"]), (&classes, &json!(LEFT)));
        let counts = json!({ "athletes": 2, "held": 1, "by_class": [{ "class": "load", "athletes": 2 }, { "class": "availability", "athletes": 2 }] });
        assert_eq!(due["counts"], counts);
        let holds = json!([{ "hold_id": hold, "reason": "legal_claim", "until": "2026-11-12" }]);
        assert_eq!((&due["items"][1]["athlete_id"], &due["items"][1]["holds"]), (&json!(held.id()), &holds));
        assert_eq!(going(&due), [(leaver.id().to_owned(), vec![]), (held.id().to_owned(), vec![])]);
        let text = due.to_string();
        assert!(!text.contains("P-07") && !text.contains("P-08"), "no names: {text}");

        world.run("2026-11-11", &[]);
        let due = world.due().await;
        assert_eq!(due["next_run"], "2026-11-12");
        let both = vec!["load".to_owned(), "availability".to_owned()];
        assert_eq!(going(&due), [(leaver.id().to_owned(), both.clone()), (held.id().to_owned(), vec![])]);
        let first = world.lead.get("retention/due").query("limit", 1).await.expect(200);
        assert_eq!((going(&first.body).len(), &first["counts"]["athletes"]), (1, &json!(2)));
        let rest = world.lead.get("retention/due").query("limit", 1).query("after", first.string("next")).await.expect(200);
        assert_eq!((&rest["items"][0]["athlete_id"], &rest["next"]), (&json!(held.id()), &Value::Null));

        world.run("2026-11-12", &[]);
        world.server.restart_at("2026-11-12T08:00:00+01:00").await;
        let due = world.due().await;
        assert_eq!(due["last_run"]["athletes"], 1);
        // The hold's last day is over, and what it held was due on the nights before too.
        assert_eq!(going(&due), [(held.id().to_owned(), both)]);
        assert_eq!((world.reports(&leaver).await, world.reports(&held).await), (0, 2));
        world.run("2026-11-13", &[]);
        assert_eq!(world.reports(&held).await, 0);
    }

    async fn who_comes_back_before_it_goes_keeps_everything(database: Database) {
        let world = World::start(database).await;
        let athlete = world.leaver("P-07").await;
        world.terms(&[("load", 0)]).await;
        world.run("2026-11-10", &[]);
        world.ends(&athlete, None).await;
        assert_eq!(world.run("2026-11-11", &[]), "2026-11-11 erased: 0 athletes; on a later night: 0; held: 0");
        assert_eq!(world.reports(&athlete).await, 2);
    }

    async fn a_membership_that_is_ended_in_the_past_waits_a_night(database: Database) {
        let world = World::start(database).await;
        let athlete = world.athlete("P-07").await;
        world.terms(&[("load", 7)]).await;
        world.run("2026-11-10", &[]);
        world.ends(&athlete, Some(LEFT)).await;
        assert_eq!(world.run("2026-11-11", &[]), "2026-11-11 erased: 0 athletes; on a later night: 1; held: 0");
        assert_eq!(world.reports(&athlete).await, 2);
        assert!(world.run("2026-11-12", &[]).contains("erased: 1 athletes"));
        assert_eq!(world.reports(&athlete).await, 0);
    }

    async fn a_term_that_was_shortened_waits_a_night(database: Database) {
        let world = World::start(database).await;
        let athlete = world.leaver("P-07").await;
        world.terms(&[("load", 730)]).await;
        world.run("2026-11-10", &[]);
        world.terms(&[("load", 7)]).await;
        assert_eq!(world.run("2026-11-11", &[]), "2026-11-11 erased: 0 athletes; on a later night: 1; held: 0");
        world.terms(&[("load", 730)]).await;
        assert_eq!(world.run("2026-11-12", &[]), "2026-11-12 erased: 0 athletes; on a later night: 0; held: 0");
        assert_eq!(world.reports(&athlete).await, 2);
    }

    async fn a_clock_that_leaps_over_a_restart_erases_nothing_at_once(database: Database) {
        let world = World::start(database).await;
        let athlete = world.leaver("P-07").await;
        world.terms(&[("load", 730)]).await;
        world.run("2026-11-10", &[]);
        assert_eq!(world.run("2036-01-01", &[]), "2036-01-01 erased: 0 athletes; on a later night: 1; held: 0");
        // Set right again, it has lost nothing, and nothing is erased before the nights have caught up.
        assert_eq!(world.run("2026-11-11", &[]), "has today's run already");
        assert_eq!(world.reports(&athlete).await, 2);
    }
}
