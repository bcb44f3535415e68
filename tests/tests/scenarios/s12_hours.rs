//! S12: two squads, two clubs and school in one week, against the rules on organised time. One club sees the second club's sessions as
//! her family reports them, or not at all.

use crate::*;

/// The week is over.
const NOW: &str = "2026-11-16T08:00:00+01:00";

/// The sessions that Club A runs, as date, hour, minutes and kind: U14 on Monday, Wednesday and Saturday, U16 on Tuesday, Thursday and Sunday.
const CLUB: [(&str, u32, &str); 6] = [
    ("2026-11-09T16:00:00+01:00", 75, "practice"),
    ("2026-11-11T16:00:00+01:00", 75, "practice"),
    ("2026-11-14T10:00:00+01:00", 60, "game"),
    ("2026-11-10T17:30:00+01:00", 90, "practice"),
    ("2026-11-12T17:30:00+01:00", 90, "practice"),
    ("2026-11-15T10:00:00+01:00", 75, "game"),
];
const HOME: [(&str, u32, &str); 2] = [
    ("2026-11-10T20:00:00+01:00", 30, "strength"),
    ("2026-11-12T20:00:00+01:00", 30, "strength"),
];
const SECOND_CLUB: [(&str, u32, &str); 3] = [
    ("2026-11-09T19:00:00+01:00", 60, "practice"),
    ("2026-11-13T18:00:00+01:00", 90, "practice"),
    ("2026-11-14T15:00:00+01:00", 60, "practice"),
];
const PE: [(&str, u32, &str); 2] = [
    ("2026-11-11T10:00:00+01:00", 60, "other"),
    ("2026-11-13T10:00:00+01:00", 60, "other"),
];

async fn report(athlete: &Athlete, setting: &str, sessions: &[(&str, u32, &str)]) {
    let rows = sessions.iter().map(|(at, minutes, kind)| {
        let draft = athlete.session(at, *minutes, 5.0);
        draft
            .with("setting", setting)
            .with("kind", *kind)
            .into_body()
    });
    store(athlete.club(), rows.collect()).await;
}

async fn hours(athlete: &Athlete, week: &str) -> Value {
    let coach = athlete.club().as_role("coach");
    let read = coach
        .get(format!("athletes/{}/hours", athlete.id()))
        .query("week", week);
    read.await.expect(200).body
}

fn exactly(value: f64) -> Value {
    json!({ "point": value, "low": value, "high": value })
}

/// The example policy with the rules on organised time: as many hours as years of age, and one free day.
async fn with_rules(club: &Club) {
    let mut rules = example_rules();
    let rule = |code, limit| {
        json!({ "code": code, "enabled": false, "ratio_kind": null, "limit": limit, "window": null,
        "source_note": "Example limit for tests" })
    };
    let list = rules.as_array_mut().expect("rules");
    list.retain(|rule| rule["code"] != "organised_hours" && rule["code"] != "free_days");
    list.extend([rule("organised_hours", 1), rule("free_days", 1)]);
    club.example_policy().with("rules", rules).await;
}

on_both_databases! {
    async fn s12_hours_by_age_with_and_without_pe(database: Database) {
        let (_server, club, squad) = club_with_squad(database, NOW, "U14").await;
        with_rules(&club).await;
        let athlete = squad.athlete("D-05").with("birth_date", "2012-05-20").await;
        report(&athlete, "club", &CLUB).await;
        report(&athlete, "prescribed_home", &HOME).await;
        let club_only = hours(&athlete, "2026-W46").await;
        // 465 minutes of the club and 60 at home.
        assert_eq!(club_only["without_pe"]["hours"], exactly(8.75));
        assert_eq!(club_only["without_pe"]["free_days"], exactly(1.0), "Friday");
        report(&athlete, "second_club", &SECOND_CLUB).await;
        report(&athlete, "pe", &PE).await;
        let all = hours(&athlete, "2026-W46").await;
        assert_eq!((&all["age"], &all["pe_counts"], &all["settings_not_shared"]), (&json!(14), &json!(true), &json!(0)));
        let with = &all["with_pe"];
        assert_eq!((&with["hours"], &with["free_days"]), (&exactly(14.25), &exactly(0.0)));
        assert_eq!((&with["by_age"]["limit"], &with["by_age"]["beyond_by"], &with["by_age"]["outcome"]),
            (&json!(14.0), &exactly(0.25), &json!("certain")));
        assert_eq!((&with["fewest_free_days"]["beyond_by"], &with["fewest_free_days"]["outcome"]), (&exactly(1.0), &json!("certain")));
        assert_eq!((&with["line"]["limit"], &with["line"]["outcome"]), (&json!(16.0), &json!("not_raised")));
        let without = &all["without_pe"];
        assert_eq!((&without["hours"], &without["free_days"]), (&exactly(12.25), &exactly(0.0)));
        assert_eq!((&without["by_age"]["beyond_by"], &without["by_age"]["outcome"], &without["by_age"]["within_policy"]),
            (&exactly(-1.75), &json!("not_raised"), &json!(true)));
        // Saturday 10:00 to Sunday 10:00 are 24 hours: the two games lie in one window of 48 hours, and in none of 24.
        let games: Vec<_> = all["games"].as_array().expect("windows").iter()
            .map(|one| (one["window"].as_str().expect("a window"), one["games"]["point"].clone(), one["minutes"]["point"].clone())).collect();
        assert_eq!(games, [("24_hours", json!(1.0), json!(75.0)), ("48_hours", json!(2.0), json!(135.0)),
            ("72_hours", json!(2.0), json!(135.0)), ("7_days", json!(2.0), json!(135.0))]);
    }

    async fn s12_what_is_not_shared_is_never_within_the_policy(database: Database) {
        let (_server, club, squad) = club_with_squad(database, NOW, "U14").await;
        with_rules(&club).await;
        let athlete = squad.athlete("D-05").with("birth_date", "2012-05-20").await;
        report(&athlete, "club", &CLUB).await;
        report(&athlete, "prescribed_home", &HOME).await;
        report(&athlete, "pe", &PE).await;
        let guardian = club.as_guardian_of(&[&athlete]);
        let named = json!({ "organisation": "Fjordby Gymnastics" });
        guardian.post(format!("athletes/{}/sharing-codes", athlete.id()), named).await.expect(201);
        let found = hours(&athlete, "2026-W46").await;
        let with = &found["with_pe"];
        assert_eq!((&with["hours"], &with["free_days"]), (&exactly(10.75), &exactly(0.0)), "PE takes Friday");
        assert_eq!((&with["by_age"]["outcome"], &with["by_age"]["within_policy"]), (&json!("not_raised"), &json!(false)));
        assert_eq!((&found["settings_not_shared"], &found["club_share_pct"]["reason"]), (&json!(1), &json!("total_not_shared")));
        assert!(!found.to_string().contains("Fjordby"), "{found}");
    }

    async fn s12_age_is_that_of_monday(database: Database) {
        let (_server, club, squad) = club_with_squad(database, "2027-03-15T08:00:00+01:00", "U14").await;
        with_rules(&club).await;
        for (born, week, age) in [("2012-11-11", "2026-W46", 13), ("2012-02-29", "2027-W08", 14), ("2012-02-29", "2027-W09", 15)] {
            let athlete = squad.athlete(&format!("{born} {week}")).with("birth_date", born).await;
            let found = hours(&athlete, week).await;
            assert_eq!((&found["age"], &found["with_pe"]["by_age"]["limit"]), (&json!(age), &json!(f64::from(age))));
        }
    }

    async fn planned_sessions_are_at_the_upper_end(database: Database) {
        // Thursday: a call-up for Sunday shows before Sunday.
        let (_server, club, squad) = club_with_squad(database, "2026-11-12T20:00:00+01:00", "U14").await;
        with_rules(&club).await;
        let athlete = squad.athlete("D-05").with("birth_date", "2012-05-20").await;
        report(&athlete, "club", &CLUB[..2]).await;
        squad.event("2026-11-15T10:00:00+01:00", 75).with("kind", "game").await;
        let found = hours(&athlete, "2026-W46").await;
        assert_eq!(found["with_pe"]["hours"], json!({ "point": 2.5, "low": 2.5, "high": 3.75 }));
        assert_eq!(found["with_pe"]["free_days"], json!({ "point": 5.0, "low": 4.0, "high": 5.0 }));
        let away = json!({ "athlete_id": athlete.id(), "from": "2026-11-14", "to": "2026-11-15", "category": "holiday" });
        club.as_role("integration").post("absences", away).await.expect(201);
        let away = hours(&athlete, "2026-W46").await;
        assert_eq!(away["with_pe"]["hours"], exactly(2.5));
        // The week after has no game of its own, whatever the weekend before it was.
        report(&athlete, "club", &[("2026-11-08T16:00:00+01:00", 60, "game"), ("2026-11-08T18:00:00+01:00", 60, "game")]).await;
        let games = hours(&athlete, "2026-W46").await["games"].clone();
        assert!(games.as_array().expect("windows").iter().all(|one| one["games"]["point"] == 0.0), "{games}");
        // The family sees hours and days, and no limit to aim at.
        let guardian = club.as_guardian_of(&[&athlete]);
        for family in [athlete.as_caller(), guardian] {
            let seen = family.get(format!("athletes/{}/hours", athlete.id())).query("week", "2026-W46").await.expect(200);
            let with = &seen["with_pe"];
            assert_eq!((&with["hours"], &with["by_age"], &with["fewest_free_days"], &with["line"]),
                (&exactly(2.5), &Value::Null, &Value::Null, &Value::Null));
        }
    }
}
