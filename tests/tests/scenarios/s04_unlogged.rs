//! S04: unlogged sessions of P-03 (U16): bounds, certainty, and what would settle the finding.

use crate::planned::{hold, plan};
use crate::*;

struct P03 {
    _server: Server,
    squad: Squad,
    athlete: Athlete,
    practice: String,
    game: String,
    home: String,
}

/// Reports of half an hour in July, whose ratings have these ends at the tenth and ninetieth percentile.
fn rated(athlete: &Athlete, hour: u32, kind: &str, [low, middle, high]: [f64; 3]) -> Vec<Value> {
    let ratings = [[low; 3].as_slice(), &[middle; 5], &[high; 3]].concat();
    let rows = ratings.iter().zip(1..).map(|(rpe, day)| {
        let start = format!("2026-07-{day:02}T{hour:02}:00:00+02:00");
        athlete
            .session(&start, 30, *rpe)
            .with("kind", kind)
            .into_body()
    });
    rows.collect()
}

async fn p03(database: Database) -> P03 {
    let (server, club, squad) = club_with_squad(database, "2026-11-09T07:00:00+01:00", "U16").await;
    club.example_policy()
        .with("rules", json!([example_rules()[0]]))
        .await;
    let athlete = squad.athlete("P-03").with("joined_on", "2026-07-01").await;
    let kinds = [
        ("practice", 8, 5.0),
        ("game", 10, 7.0),
        ("strength", 12, 4.0),
    ];
    for (kind, hour, low) in kinds {
        store(
            &club,
            rated(&athlete, hour, kind, [low, low + 1.0, low + 2.0]),
        )
        .await;
    }
    let at = |date: &str| {
        format!(
            "2026-{date}T17:30:00+{}",
            if date < "10-25" { "02:00" } else { "01:00" }
        )
    };
    for date in [
        "10-12", "10-13", "10-14", "10-15", "10-17", "10-19", "10-20", "10-22", "10-24",
    ] {
        hold(&athlete, &at(date), 60, 5.0).await;
    }
    for date in ["10-26", "10-27", "10-29", "10-31"] {
        hold(&athlete, &at(date), 50, 8.0).await;
    }
    hold(&athlete, &at("11-02"), 90, 6.0).await;
    hold(&athlete, &at("11-03"), 45, 5.0).await;
    hold(&athlete, &at("11-05"), 75, 8.0).await;
    athlete.rest("2026-11-06").await;
    hold(&athlete, &at("11-08"), 60, 5.0).await;
    P03 {
        _server: server,
        squad,
        home: plan(&athlete, &at("10-21"), 45, "strength").await,
        practice: plan(&athlete, &at("11-04"), 90, "practice").await,
        game: plan(&athlete, &at("11-07"), 60, "game").await,
        athlete,
    }
}

#[track_caller]
fn assert_range(figure: &Value, low: &str, high: &str) {
    assert_printed(&figure["low"], low);
    assert_printed(&figure["high"], high);
}

impl P03 {
    async fn entry(&self) -> Value {
        let list = self.squad.weekly_list("2026-W45").await;
        assert_eq!(
            each(&list["entries"], "athlete_id"),
            [self.athlete.id()],
            "{}",
            list.text()
        );
        list["entries"][0].clone()
    }

    async fn report(&self, starts_at: &str, minutes: u32, rpe: f64, kind: &str) {
        self.athlete
            .session(starts_at, minutes, rpe)
            .with("kind", kind)
            .await;
    }
}

on_both_databases! {
    async fn s04_bounds_of_every_figure(database: Database) {
        let p03 = p03(database).await;
        let week = p03.athlete.week_figures("2026-W45").await;
        assert_eq!((&week["expected"], &week["unlogged"]), (&json!(6), &json!(2)));
        assert_printed(&week["load_au"]["point"], "1665");
        assert_range(&week["load_au"], "1665", "3165");
        assert_printed(&week["ratio_coupled"]["point"], "1.1165");
        assert_range(&week["ratio_coupled"], "1.0382", "1.6959");
        let monotony = &week["monotony"]["sample"];
        assert_printed(&monotony["point"], "0.9256");
        assert_range(monotony, "0.9256", "1.7723");
        assert_range(&week["strain_au"]["sample"], "1541.2", "5609.3");
        let days = &p03.athlete.day_figures("2026-11-08").await["days_28"];
        assert_eq!(days["unlogged"], 3, "25 of 28 days are known: {days}");
        let days = &week["days"];
        assert_eq!(days["unlogged"], 2, "5 of 7 days are known: {days}");
        let mut sessions = (0, 0);
        for week in ["2026-W42", "2026-W43", "2026-W44", "2026-W45"] {
            let week = p03.athlete.week_figures(week).await;
            let count = |field: &str| week[field].as_u64().expect("a count");
            sessions = (sessions.0 + count("expected"), sessions.1 + count("unlogged"));
        }
        assert_eq!(sessions, (20, 3));
    }

    async fn s04_possible_and_what_would_settle_it(database: Database) {
        let p03 = p03(database).await;
        let entry = p03.entry().await;
        assert_eq!((&entry["finding"], &entry["certainty"]), (&json!("over_limit"), &json!("possible")));
        assert_range(&entry["week_load_au"], "1665", "3165");
        assert_range(&entry["limit_au"], "2580", "2850");
        assert_range(&entry["ratio"], "1.0382", "1.6959");
        assert_printed(&entry["over_by_au"]["high"], "585");

        assert_eq!(each(&entry["missing"], "event_id"), [&p03.practice, &p03.game, &p03.home]);
        assert_eq!(each(&entry["missing"], "setting"), ["club"; 3]);
        assert_eq!(entry["missing"][0]["starts_at"], "2026-11-04T16:30:00Z");
        for of_week in [&entry["missing"][0], &entry["missing"][1]] {
            assert_printed(&of_week["settles_above_au"], "1185");
            assert_printed(&of_week["rules_out_below_au"], "915");
        }
        let earlier = &entry["missing"][2];
        assert_eq!((&earlier["settles_above_au"], &earlier["rules_out_below_au"]), (&Value::Null, &Value::Null));

        let usual = &entry["usual"];
        assert_eq!(usual["label"], "usual, not guaranteed");
        assert_range(&usual["week_load_au"], "2535", "2835");
        assert_range(&usual["ratio"], "1.4272", "1.5502");
        let sentence = entry["sentence"].as_str().expect("a sentence");
        assert!(sentence.contains("above 1185 AU in the missing sessions it is certain"), "{sentence}");
        assert!(sentence.contains("up to 915 AU it is ruled out"), "{sentence}");
    }

    async fn s04_each_entry_narrows_the_doubt(database: Database) {
        let p03 = p03(database).await;
        p03.report("2026-11-04T17:30:00+01:00", 90, 8.0, "practice").await;
        let entry = p03.entry().await;
        assert_eq!(entry["certainty"], "possible");
        assert_range(&entry["ratio"], "1.3371", "1.6390");
        assert_eq!(each(&entry["missing"], "event_id"), [&p03.game, &p03.home]);
        assert_printed(&entry["missing"][0]["settles_above_au"], "465");
        assert_printed(&entry["missing"][0]["rules_out_below_au"], "195");

        p03.report("2026-11-07T17:30:00+01:00", 60, 9.0, "game").await;
        let entry = p03.entry().await;
        assert_eq!((&entry["finding"], &entry["certainty"]), (&json!("over_limit"), &json!("certain")));
        assert_printed(&entry["week_load_au"]["point"], "2925");
        assert_range(&entry["ratio"], "1.5244", "1.6194");
        assert_eq!(entry["missing"], json!([]), "nothing is left to settle");
    }
}
