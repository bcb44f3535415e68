//! S18: the weekly list of U16, 2026-W45, and an athlete's own baseline.

use crate::planned::{assert_no_verdict, away, plan, rules_with_return_ceiling};
use crate::*;

const NOW: &str = "2026-11-09T07:00:00+01:00";
const P7: [f64; 9] = [
    2100.0, 2250.0, 1980.0, 2200.0, 2320.0, 2050.0, 2150.0, 2190.0, 2700.0,
];

struct U16 {
    server: Server,
    squad: Squad,
    p1: Athlete,
    p2: Athlete,
    p3: Athlete,
    p4: Athlete,
    p5: Athlete,
    p6: Athlete,
    p7: Athlete,
}

async fn u16(database: Database) -> U16 {
    let (server, club, squad) = club_with_squad(database, NOW, "U16").await;
    club.example_policy()
        .with("rules", rules_with_return_ceiling())
        .await;
    let joined = |code: &str, date: &str| squad.athlete(code).with("joined_on", date);
    let p1 = joined("P1", "2026-10-12").await;
    let p2 = joined("P2", "2026-10-12").await;
    let p3 = joined("P3", "2026-10-12").await;
    let p4 = joined("P4", "2026-10-24").await;
    let p5 = joined("P5", "2026-08-24").await;
    let p6 = joined("P6", "2026-10-12").await;
    let p7 = joined("P7", "2026-09-07").await;
    let rows = [
        p1.weeks("2026-10-12", &[5400.0, 0.0, 0.0, 3000.0]),
        p2.weeks("2026-10-12", &[5000.0, 0.0, 0.0, 3300.0]),
        p3.weeks("2026-10-12", &[4000.0, 0.0, 0.0, 1700.0]),
        p4.weeks("2026-10-26", &[900.0, 900.0]),
        p5.weeks("2026-08-24", &[2100.0, 2300.0, 2200.0, 2400.0]),
        p5.weeks("2026-10-26", &[900.0, 1600.0]),
        p6.weeks("2026-10-12", &[5100.0]),
        p7.weeks("2026-09-07", &P7),
    ];
    store(&club, rows.concat()).await;
    away(&p5, "2026-09-21", "2026-10-25").await;
    plan(&p3, "2026-11-04T17:30:00+01:00", 90, "practice").await;
    for day in 2..=5 {
        plan(
            &p6,
            &format!("2026-11-0{day}T17:30:00+01:00"),
            90,
            "practice",
        )
        .await;
    }
    plan(&p6, "2026-11-07T14:00:00+01:00", 60, "game").await;
    U16 {
        server,
        squad,
        p1,
        p2,
        p3,
        p4,
        p5,
        p6,
        p7,
    }
}

on_both_databases! {
    async fn s18_only_who_needs_a_decision_in_order(database: Database) {
        let u16 = u16(database).await;
        let list = u16.squad.weekly_list("2026-W45").await;
        let order = [&u16.p2, &u16.p7, &u16.p5, &u16.p3, &u16.p6, &u16.p4];
        assert_eq!(each(&list["entries"], "athlete_id"), order.map(Athlete::id), "{}", list.text());
        assert_eq!(each(&list["entries"], "display_name"), ["P2", "P7", "P5", "P3", "P6", "P4"]);
        assert_eq!(
            each(&list["entries"], "finding"),
            ["over_limit", "own_highest", "return_ceiling", "over_limit", "nothing_logged", "not_computable"]
        );
        assert_eq!(
            each(&list["entries"], "certainty"),
            ["certain", "certain", "certain", "possible", "possible", "not_computable"]
        );
        assert_eq!((&list["week"], &list["date"], &list["complete"]), (&json!("2026-W45"), &json!("2026-11-08"), &json!(true)));
        assert_eq!((&list["not_listed"], &list["nothing_logged"]), (&json!(1), &json!(1)));
        assert_no_verdict(&list.text());
        for entry in list["entries"].as_array().expect("entries") {
            assert!(entry["sentence"].as_str().is_some_and(|text| text.ends_with('.')), "{entry}");
        }
    }

    async fn s18_figures_of_the_entries(database: Database) {
        let u16 = u16(database).await;
        let list = u16.squad.weekly_list("2026-W45").await;
        let [p2, p7, p5, p3, p6, p4] = [0, 1, 2, 3, 4, 5].map(|at| &list["entries"][at]);
        assert_printed(&p2["ratio"]["point"], "1.5904");
        assert_exact(&p2["limit_au"], "3000");
        assert_exact(&p2["over_by_au"], "300");
        assert_exact(&p7["week_load_au"], "2700");
        assert_exact(&p7["limit_au"], "2552");
        assert_exact(&p7["over_by_au"], "148");
        assert_exact(&p5["limit_au"], "1575");
        assert_exact(&p5["over_by_au"], "25");
        assert_printed(&p3["ratio"]["low"], "1.1930");
        assert_printed(&p3["ratio"]["high"], "1.5758");
        assert_printed(&p3["over_by_au"]["high"], "200");
        assert_printed(&p3["missing"][0]["settles_above_au"], "700");
        assert_printed(&p6["ratio"]["low"], "0");
        assert_printed(&p6["ratio"]["high"], "1.8065");
        assert_printed(&p6["over_by_au"]["high"], "1140");
        assert_printed(&p6["week_load_au"]["high"], "4200");
        assert_eq!(p6["missing"].as_array().map(Vec::len), Some(3), "no more than three names");
        assert!(p6["sentence"].as_str().is_some_and(|text| text.starts_with("Nothing was logged and 5 sessions")), "{p6}");
        assert_eq!(p4["first_ratio_date"], "2026-11-20");
        for certain in [p2, p7, p5, p4] {
            assert_eq!(certain["missing"], json!([]));
        }
        // Only the two have a plan in this week, and none of it is logged.
        let line = &list["mostly_unlogged"];
        assert_eq!((&line["expected_sessions"], &line["unlogged_sessions"]), (&json!(6), &json!(6)));
        assert_eq!(line["athletes"], json!([]), "one athlete without a log is named");
    }

    async fn s18_page_and_file_say_the_same(database: Database) {
        let u16 = u16(database).await;
        let coach = u16.squad.club().as_role("coach");
        let list = u16.squad.weekly_list("2026-W45").await;
        let as_of = list.string("as_of");
        let read = async |media_type: &str| {
            let sent = coach.get(format!("squads/{}/weeks/2026-W45", u16.squad.id()));
            sent.query("as_of", &as_of).header("Accept", media_type).await.expect(200).text()
        };
        let (page, file) = (read("text/html").await, read("text/csv").await);
        let count = assert_same_list(&list.body, &page, &file);
        assert!(count > 150, "{count} texts and numbers");
        assert_no_verdict(&page);
        let entries = list["entries"].as_array().expect("entries");
        assert_eq!(entries.len(), 6);
        let measured = assert_plots(entries, &page);
        assert!(measured >= 4, "P2, P7, P3 and P5 have limits of load: {measured}");
    }

    async fn s18_a_squad_that_logged_nothing_gets_one_line(database: Database) {
        let u16 = u16(database).await;
        let squad = u16.squad.club().squad("U14").await;
        let mut silent = Vec::new();
        for code in ["Q1", "Q2", "Q3", "Q4"] {
            silent.push(squad.athlete(code).with("joined_on", "2026-10-12").await);
        }
        let practice = json!({
            "setting": "club", "kind": "practice", "starts_at": "2026-11-03T17:30:00+01:00", "minutes": 60,
            "squads": [squad.id()],
        });
        squad.club().as_role("integration").post("events", practice).await.expect(201);
        let list = squad.weekly_list("2026-W45").await;
        assert_eq!(list["entries"], json!([]));
        assert_eq!((&list["nothing_logged"], &list["not_listed"]), (&json!(4), &json!(0)));
        assert_eq!(list["mostly_unlogged"]["athletes"].as_array().map(Vec::len), Some(4));
        assert_eq!(
            list["mostly_unlogged"]["sentence"],
            "Of 4 sessions expected in the week 4 are not logged, and 4 athletes logged nothing: ask the squad as a whole."
        );
        // Three silent ones are a few, and named.
        silent[0].session("2026-11-03T17:30:00+01:00", 60, 5.0).await;
        let list = squad.weekly_list("2026-W45").await;
        let found = each(&list["entries"], "finding");
        let silent = found.iter().filter(|finding| **finding == "nothing_logged");
        assert_eq!(silent.count(), 3, "{}", list.text());
        assert_eq!(list["mostly_unlogged"]["athletes"], json!([]));
    }

    async fn s18_a_planned_session_is_missing_from_its_end_on(database: Database) {
        let mut u16 = u16(database).await;
        let squad = u16.squad.clone();
        let read = |list: Value| (list["nothing_logged"].clone(), list["mostly_unlogged"]["unlogged_sessions"].clone());
        plan(&u16.p6, "2026-11-09T17:30:00+01:00", 90, "practice").await;
        let before = squad.weekly_list("2026-W46").await;
        assert_eq!(read(before.body.clone()), (json!(0), Value::Null));
        u16.server.restart_at("2026-11-09T19:00:00+01:00").await;
        let after = squad.weekly_list("2026-W46").await;
        assert_eq!(read(after.body), (json!(1), json!(1)));
        let coach = squad.club().as_role("coach");
        let then = coach.get(format!("squads/{}/weeks/2026-W46", squad.id()));
        let then = then.query("as_of", "2026-11-09T18:59:00+01:00").await.expect(200);
        assert_eq!(read(then.body), (json!(0), Value::Null));
    }

    async fn s18_who_is_not_listed_has_a_ratio_below_the_limit(database: Database) {
        let u16 = u16(database).await;
        let week = u16.p1.week_figures("2026-W45").await;
        assert_exact(&week["ratio_coupled"], "1.4286");
        let week = u16.p7.week_figures("2026-W45").await;
        assert_exact(&week["ratio_coupled"], "1.1881");
    }

    async fn s18_own_baseline(database: Database) {
        let u16 = u16(database).await;
        let week = u16.p7.week_figures("2026-W45").await;
        let usual = &week["usual_week"];
        assert_eq!(usual["weeks_used"], 8);
        for (field, printed) in [
            ("mean_au", "2155"), ("standard_deviation_au", "109.6748"), ("z", "4.9692"),
            ("median_au", "2170"), ("median_deviation_au", "75"), ("robust_z", "4.7664"),
        ] {
            assert_printed(&usual[field], printed);
        }
        assert_printed(&week["own_highest"]["load_au"], "2320");
        let change = &week["change_from_own_highest"];
        for end in ["point", "low", "high"] {
            assert_printed(&change["pct"][end], "16.38");
        }
        assert_printed(&change["au"], "380");
        let list = u16.squad.weekly_list("2026-W45").await;
        let entry = &list["entries"][1];
        assert_eq!(&entry["usual_week"], usual, "the list says it too");
        assert_eq!(&entry["change_from_own_highest"], change);
        assert_eq!(list["entries"][0]["change_from_own_highest"], Value::Null, "another rule's finding");
    }
}
