//! S11: the smallest change of a plan.

use crate::half_year::{history, plan};
use crate::*;

const SUNDAY_BEFORE: &str = "2026-11-01T20:00:00+01:00";

async fn club_with_policy(database: Database) -> (Server, Club) {
    let (server, club, _) = club_with_squad(database, SUNDAY_BEFORE, "U18").await;
    club.example_policy().await;
    (server, club)
}

async fn propose(club: &Club, body: Value) -> e2e::Answer {
    let coach = club.as_role("strength_coach");
    coach.post("change-proposals", body).await.expect(200)
}

fn on(date: &str, name: &str, (kind, minutes, rpe): (&str, u32, f64)) -> Value {
    json!({
        "name": name, "date": date, "setting": "club", "kind": kind, "minutes": minutes, "intended_rpe": rpe,
    })
}

/// Three games of 520 AU.
fn tournament() -> Value {
    let games = ["2026-11-07", "2026-11-07", "2026-11-08"];
    games
        .map(|date| on(date, "cup game", ("game", 65, 8.0)))
        .into()
}

on_both_databases! {
    async fn s11a_practice_gives_65_minutes(database: Database) {
        let (_server, club) = club_with_policy(database).await;
        let sessions = json!([
            on("2026-11-03", "strength", ("strength", 60, 5.0)), on("2026-11-05", "practice", ("practice", 90, 6.0)),
        ]);
        let body = json!({
            "plan": { "first_week": "2026-W45", "weeks": 1, "sessions": sessions, "calendar": tournament() },
            "history": { "week_loads_au": [950, 1000, 1400] }, "week": "2026-W45",
        });
        let found = propose(&club, body.clone()).await;
        assert_eq!((&found["total_cut_au"], &found["solved_by_cuts"]), (&json!(390.0), &json!(true)));
        let week = &found["weeks"][0];
        assert_eq!((&week["planned_au"], &week["fixed_au"], &week["limit_au"]), (&json!(2400.0), &json!(1560.0), &json!(2010.0)));
        let within = &found["within_week"]["week_view"];
        assert_eq!(within["needs"], json!([{ "by": "2026-11-08", "au": 390.0 }]));
        assert_eq!((&within["solved"], &within["total_cut_au"]), (&json!(true), &json!(390.0)));
        assert_eq!(within["sessions"], json!([{
            "place": "/plan/sessions/1", "name": "practice", "date": "2026-11-05", "minutes": 90, "cut_minutes": 65, "kept_minutes": 25,
            "cut_au": 390.0,
        }]));
        // Adding load earlier is not proposed.
        assert_eq!((&found["build_ups"], &found["best_move"], &found["fewer_games"]), (&Value::Null, &Value::Null, &Value::Null));
        // With the last 21 days alone there is no ratio before Sunday; a week more, and each date has one.
        assert_eq!(found["within_week"]["rolling_view"]["reason"], "fewer_than_28_days");
        let within = within.clone();
        let mut longer = body;
        longer["history"]["week_loads_au"] = json!([900, 950, 1000, 1400]);
        let found = propose(&club, longer).await;
        let rolling = &found["within_week"]["rolling_view"];
        // On Saturday 200 of Sunday and 1880 AU of this week after 3278.57: 0.6 of that is the limit, so 2080 is 112.86 over.
        assert_eq!(rolling["needs"], json!([{ "by": "2026-11-07", "au": 112.9 }, { "by": "2026-11-08", "au": 390.0 }]));
        assert_eq!((&rolling["reason"], &rolling["solved"], &rolling["total_cut_au"]), (&Value::Null, &json!(true), &json!(390.0)));
        assert_eq!(rolling["sessions"], within["sessions"]);
    }

    async fn s11_a_session_is_moved_to_the_week_after(database: Database) {
        let (_server, club) = club_with_policy(database).await;
        // Seven times 300 AU after four weeks of 1000, where 1800 is the limit; then a week with room.
        let mut sessions: Vec<Value> = (2..9)
            .map(|day| on(&format!("2026-11-{day:02}"), &format!("practice of day {day}"), ("practice", 30, 10.0)))
            .collect();
        sessions.push(on("2026-11-10", "light practice", ("practice", 60, 5.0)));
        let mut body = json!({
            "plan": { "first_week": "2026-W45", "weeks": 2, "sessions": sessions, "calendar": [] },
            "history": { "week_loads_au": [1000, 1000, 1000, 1000] }, "move_within_days": 3,
        });
        let found = propose(&club, body.clone()).await;
        assert_eq!(found["best_move"], json!({
            "place": "/plan/sessions/6", "name": "practice of day 8", "date": "2026-11-08", "days": 1, "over_before_au": 300.0,
            "over_after_au": 0.0,
        }));
        // Where the week after has no room, nothing is gained.
        body["plan"]["calendar"] = json!([on("2026-11-14", "cup", ("game", 200, 10.0))]);
        let found = propose(&club, body).await;
        assert_eq!(found["best_move"], Value::Null, "{}", found.text());
    }

    async fn s11b_short_by_90_and_built_up_where_it_is_asked_for(database: Database) {
        let (_server, club) = club_with_policy(database).await;
        // 950, 1000 and 1400 AU, then 2100 AU fixed and 300 that may be cut.
        let sessions = json!([
            on("2026-11-03", "first", ("practice", 95, 10.0)), on("2026-11-10", "second", ("practice", 100, 10.0)),
            on("2026-11-17", "third", ("practice", 140, 10.0)), on("2026-11-24", "strength", ("strength", 60, 5.0)),
        ]);
        let fixed = json!([on("2026-11-28", "cup", ("game", 210, 10.0))]);
        let mut body = json!({
            "plan": { "first_week": "2026-W45", "weeks": 4, "sessions": sessions, "calendar": fixed },
            "history": { "week_loads_au": [], "birth_date": "2008-05-01" }, "week": "2026-W48",
        });
        let found = propose(&club, body.clone()).await;
        let week = &found["weeks"][3];
        assert_eq!((&week["cut_au"], &week["short_by_au"], &found["solved_by_cuts"]), (&json!(300.0), &json!(90.0), &json!(false)));
        let within = &found["within_week"]["week_view"];
        assert_eq!((&within["solved"], &within["short_by_au"], &within["total_cut_au"]), (&json!(false), &json!(90.0), &Value::Null));
        body["build_up"] = json!({ "from_age": 16 });
        let found = propose(&club, body.clone()).await;
        assert_eq!(found["build_ups"], json!([{
            "week": "2026-W48", "not_offered": null, "extra_au": 150.0, "total_change_au": 450.0, "room_au": null, "fits": null,
        }]));
        // Never to somebody too young, nor to one whose age is not known, and not where the weeks before are done.
        for (born, why) in [(json!("2011-05-01"), "under_policy_age"), (Value::Null, "age_not_known")] {
            body["history"]["birth_date"] = born;
            let found = propose(&club, body.clone()).await;
            assert_eq!(found["build_ups"][0]["not_offered"], why, "{}", found.text());
            assert_eq!(found["build_ups"][0]["extra_au"], Value::Null);
        }
    }

    async fn s11c_the_half_year_keeps_the_most_in_every_week(database: Database) {
        let (_server, club) = club_with_policy(database).await;
        let history = json!({ "day_loads_au": history(), "birth_date": "2010-03-14" });
        let body = json!({
            "plan": plan(), "history": history, "build_up": { "from_age": 16 }, "fewer_games": true, "move_within_days": 3,
        });
        let found = propose(&club, body).await;
        let weeks = found["weeks"].as_array().expect("weeks");
        let cut: Vec<(usize, f64, f64, bool)> = (1..).zip(weeks).filter(|(_, week)| week["cut_au"] != 0.0)
            .map(|(number, week)| {
                let au = |field: &str| week[field].as_f64().expect("AU");
                (number, au("kept_au"), au("cut_au"), week["follows_cuts"] == true)
            })
            .collect();
        assert_eq!(cut, [
            (1, 990.0, 1035.0, false), (2, 1254.0, 1146.0, false), (3, 1676.4, 1278.6, true), (4, 2352.24, 197.76, true),
            (12, 3969.0, 411.0, false), (23, 1818.0, 1152.0, false), (24, 2386.8, 313.2, true),
        ]);
        assert_eq!((&found["total_cut_au"], &found["solved_by_cuts"]), (&json!(5533.56), &json!(false)));
        let short: Vec<(&Value, &Value, &Value)> = weeks.iter().filter(|week| week["short_by_au"] != 0.0)
            .map(|week| (&week["week"], &week["limit_au"], &week["short_by_au"]))
            .collect();
        assert_eq!(short, [(&json!("2026-W53"), &json!(1188.0), &json!(732.0))]);
        let built = &found["build_ups"][0];
        assert_eq!((&built["week"], &built["extra_au"], &built["fits"]), (&json!("2026-W53"), &json!(1220.0), &json!(true)));
        assert_eq!(found["fewer_games"], json!([{
            "week": "2026-W53", "left_au": 1188.0, "games": 6, "heaviest_game_au": 320.0, "games_that_fit": 3,
        }]));
    }

    async fn s11_an_athlete_under_a_restriction_is_asked_to_do_no_more(database: Database) {
        let (_server, club, squad) = club_with_squad(database, SUNDAY_BEFORE, "U18").await;
        club.example_policy().await;
        let athlete = squad.athlete("P-31").with("joined_on", "2026-09-21").with("birth_date", "2008-05-01").await;
        store(&club, athlete.weeks("2026-09-21", &[1000.0; 6])).await;
        let week = |number: u32| json!({
            "weekday": "monday", "in_weeks": [number], "setting": "club", "kind": "practice", "minutes": 100, "intended_rpe": 10,
        });
        let fixed = json!([on("2026-11-28", "cup", ("game", 210, 10.0))]);
        let body = json!({
            "plan": { "first_week": "2026-W45", "weeks": 4, "sessions": [week(1), week(2), week(3)], "calendar": fixed },
            "athlete_id": athlete.id(), "build_up": { "from_age": 16 },
        });
        let offered = propose(&club, body.clone()).await;
        assert_eq!(offered["build_ups"][0]["not_offered"], Value::Null, "{}", offered.text());
        let licence = json!({ "subject": "local", "name": "Vera Holm", "licence_type": "physiotherapist", "valid_until": "2027-06-30" });
        club.as_role("club_admin").post("licences", licence).await.expect(201);
        let restriction = json!({
            "athlete_id": athlete.id(), "from": "2026-10-28", "review_date": "2026-11-20", "availability": "limited", "max_minutes": 45,
        });
        club.as_role("athletic_trainer").post("restrictions", restriction).await.expect(201);
        let barred = propose(&club, body).await;
        assert_eq!(barred["build_ups"][0]["not_offered"], "restricted", "{}", barred.text());
    }
}
