//! S03: the load that the club coach cannot see, P-12, U18, the last of four weeks being 2026-W45.

use crate::*;

const CLUB: [f64; 4] = [1080.0, 1080.0, 1170.0, 1260.0];
/// The last week is a school tournament.
const SCHOOL: [f64; 4] = [300.0, 300.0, 360.0, 1620.0];

async fn p12(database: Database) -> (Server, Squad, Athlete) {
    let (server, club, u18) = club_with_squad(database, "2026-11-09T07:00:00+01:00", "U18").await;
    club.example_policy().await;
    let athlete = u18.athlete("P-12").with("joined_on", "2026-10-12").await;
    let mut school = athlete.weeks("2026-10-13", &SCHOOL);
    for row in &mut school {
        row["setting"] = json!("school_team");
    }
    store(&club, [athlete.weeks("2026-10-12", &CLUB), school].concat()).await;
    (server, u18, athlete)
}

on_both_databases! {
    async fn s03_club_sessions_alone(database: Database) {
        let (_server, squad, athlete) = p12(database).await;
        let coach = squad.club().as_role("coach");
        let answer = coach
            .get(format!("athletes/{}/load", athlete.id()))
            .query("from", "2026-11-08")
            .query("to", "2026-11-08")
            .query("setting", "club")
            .await
            .expect(200);
        assert_eq!(answer["only_settings"], json!(["club"]));
        let sunday = &answer["days"][0];
        assert_exact(&sunday["acute_7d_au"], "1260");
        assert_exact(&sunday["ratio_coupled"], "1.0980");
        assert_printed(&sunday["change_from_previous_7d"]["pct"]["point"], "7.69");
    }

    async fn s03_all_settings_and_the_shares(database: Database) {
        let (_server, _, athlete) = p12(database).await;
        let sunday = athlete.day_figures("2026-11-08").await;
        assert_exact(&sunday["ratio_coupled"], "1.6067");
        assert_printed(&sunday["change_from_previous_7d"]["pct"]["point"], "88.24");
        for (week, total, share) in [
            ("2026-W42", 1380.0, "78.26"), ("2026-W43", 1380.0, "78.26"),
            ("2026-W44", 1530.0, "76.47"), ("2026-W45", 2880.0, "43.75"),
        ] {
            let figures = athlete.week_figures(week).await;
            assert_eq!(figures["load_au"]["point"], total, "{week}");
            let parts = figures["by_setting"].as_array().expect("settings");
            let club = parts.iter().find(|part| part["setting"] == "club").expect("the club's part");
            assert_printed(&club["share_pct"], share);
        }
    }

    async fn s03_the_weekly_list_says_what_rose(database: Database) {
        let (_server, squad, athlete) = p12(database).await;
        let list = squad.weekly_list("2026-W45").await;
        assert_eq!(each(&list["entries"], "athlete_id"), [athlete.id()], "{}", list.text());
        let entry = &list["entries"][0];
        assert_eq!((&entry["finding"], &entry["certainty"]), (&json!("over_limit"), &json!("certain")));
        assert_eq!(entry["rule"]["code"], "week_end_ratio");
        assert_printed(&entry["ratio"]["point"], "1.6067");
        assert_printed(&entry["week_load_au"]["point"], "2880");
        assert_printed(&entry["limit_au"]["point"], "2574");
        assert_printed(&entry["over_by_au"]["point"], "306");
        let made_up_of = json!([{ "setting": "school_team", "au": 1620.0 }, { "setting": "club", "au": 1260.0 }]);
        assert_eq!(entry["made_up_of"], made_up_of);
        let sentence = entry["sentence"].as_str().expect("a sentence");
        for part in ["2880 AU", "306 AU above", "2574 AU", "school team"] {
            assert!(sentence.contains(part), "{sentence}");
        }
        for text in [&list["caution"], &list["ratio_note"]] {
            assert!(text.as_str().is_some_and(|text| text.contains("not predict")), "{text}");
        }
    }
}
