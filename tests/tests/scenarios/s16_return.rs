//! S16: P-31 (U18) comes back after 35 days away, 5 October to 8 November 2026.

use crate::planned::{assert_no_verdict, away, rules_with_return_ceiling};
use crate::*;

const BEFORE: [f64; 4] = [2100.0, 2300.0, 2200.0, 2400.0];

struct P31 {
    server: Server,
    squad: Squad,
    athlete: Athlete,
    absence: String,
}

async fn p31(database: Database, done: &[f64]) -> P31 {
    let (server, club, squad) = club_with_squad(database, "2026-12-07T07:00:00+01:00", "U18").await;
    club.example_policy()
        .with("rules", rules_with_return_ceiling())
        .await;
    let athlete = squad.athlete("P-31").with("joined_on", "2026-09-07").await;
    store(&club, athlete.weeks("2026-09-07", &BEFORE)).await;
    store(&club, athlete.weeks("2026-11-09", done)).await;
    let absence = away(&athlete, "2026-10-05", "2026-11-08").await;
    P31 {
        server,
        squad,
        athlete,
        absence,
    }
}

/// Sets a restriction of P-31, as a licensed clinician, and gives its id.
async fn restrict(p31: &P31, mut restriction: Value) -> String {
    let club = p31.squad.club();
    let licence = json!({ "subject": "local", "name": "Vera Holm", "licence_type": "physiotherapist", "valid_until": "2027-06-30" });
    club.as_role("club_admin")
        .post("licences", licence)
        .await
        .expect(201);
    restriction["athlete_id"] = json!(p31.athlete.id());
    let trainer = club.as_role("athletic_trainer");
    let set = trainer.post("restrictions", restriction).await.expect(201);
    set.string("restriction_id")
}

on_both_databases! {
    async fn s16_ceilings_after_an_absence(database: Database) {
        let p31 = p31(database, &[900.0, 1500.0, 1750.0, 2000.0]).await;
        let weeks = [("2026-W46", "1125", "40"), ("2026-W47", "1575", "66.67"), ("2026-W48", "1800", "77.78"), ("2026-W49", "2025", "88.89")];
        for ((week, ceiling, share), number) in weeks.into_iter().zip(1..) {
            let figures = p31.athlete.week_figures(week).await;
            let since = &figures["since_return"];
            assert_eq!(since["absence"], json!({"from": "2026-10-05", "to": "2026-11-08", "days": 35}));
            assert_eq!((&since["week"], &since["step"]), (&json!(number), &json!(number)), "{since}");
            assert_printed(&since["pre_absence_week_au"], "2250");
            assert_exact(&since["ceiling_au"], ceiling);
            assert_printed(&since["share_of_pre_absence_pct"], share);
            let list = p31.squad.weekly_list(week).await;
            assert_eq!(list["entries"], json!([]), "no week is above its ceiling");
            assert_no_verdict(&list.text());
            assert_no_verdict(&figures.to_string());
        }
        let last = p31.athlete.week_figures("2026-W49").await;
        assert_printed(&last["since_return"]["four_week_mean_pct"], "68.33");
        let changes = [("2026-W47", "600", "66.67"), ("2026-W48", "250", "16.67"), ("2026-W49", "250", "14.29")];
        for (week, au, pct) in changes {
            let change = &p31.athlete.week_figures(week).await["change_from_previous_week"];
            assert_printed(&change["au"], au);
            assert_printed(&change["pct"]["point"], pct);
        }
    }

    async fn s16_the_ratio_waits_for_the_absence_to_leave_its_window(database: Database) {
        let p31 = p31(database, &[900.0, 1500.0, 1750.0, 2000.0]).await;
        let first = p31.athlete.week_figures("2026-W46").await;
        assert_none(&first["ratio_coupled"], "absence_in_window");
        let days = p31.athlete.load("2026-12-05", "2026-12-06").await["days"].clone();
        assert_none(&days[0]["ratio_coupled"], "absence_in_window");
        assert_exact(&days[1]["ratio_coupled"], "1.3008");
    }

    async fn s16_a_breach_is_found_flagged_and_repeats_the_step(database: Database) {
        let p31 = p31(database, &[900.0, 1600.0, 1570.0]).await;
        let list = p31.squad.weekly_list("2026-W47").await;
        let entry = &list["entries"][0];
        assert_eq!((&entry["finding"], &entry["certainty"]), (&json!("return_ceiling"), &json!("certain")), "{}", list.text());
        assert_exact(&entry["limit_au"], "1575");
        assert_exact(&entry["over_by_au"], "25");
        assert_eq!(entry["rule"]["code"], "return_ceiling");
        assert_eq!(entry["returning"]["step"], 2);
        assert_eq!(
            entry["sentence"],
            "Week 2 after an absence of 35 days came to 1600 AU, 25 AU above its ceiling of 1575 AU; \
             the mean week before the absence was 2250 AU."
        );
        let next = p31.athlete.week_figures("2026-W48").await;
        assert_eq!((&next["since_return"]["week"], &next["since_return"]["step"]), (&json!(3), &json!(2)));
        assert_exact(&next["since_return"]["ceiling_au"], "1575");

        p31.server.close_week("2026-W47");
        let coach = p31.squad.club().as_role("coach");
        let flags = coach.get("flags").query("week", "2026-W47").await.expect(200);
        assert_eq!(each(&flags["items"], "rule"), ["return_ceiling"], "{}", flags.text());
        let flag = &flags["items"][0];
        assert_eq!((&flag["state"], &flag["current"]["certainty"]), (&json!("open"), &json!("certain")));
        let figures = &flag["current"]["figures"];
        assert_exact(&figures["over_by_au"], "25");
        assert_printed(&figures["returning"]["pre_absence_week_au"], "2250");
        let list = p31.squad.weekly_list("2026-W47").await;
        assert_eq!(list["entries"][0]["flag_id"], flag["flag_id"]);

        // Without the absence there is no ceiling, and the flag holds no longer.
        let family = p31.squad.club().as_guardian_of(&[&p31.athlete]);
        let path = format!("absences/{}", p31.absence);
        family.delete(&path).if_match("*").await.expect(204);
        let flags = coach.get("flags").query("week", "2026-W47").await.expect(200);
        let ceiling = flags["items"].as_array().into_iter().flatten().find(|flag| flag["rule"] == "return_ceiling");
        assert_eq!(ceiling.map(|flag| &flag["state"]), Some(&json!("withdrawn")), "{}", flags.text());
    }

    async fn s16_a_correction_before_the_absence_reaches_the_flag(database: Database) {
        let p31 = p31(database, &[900.0, 1600.0]).await;
        p31.server.close_week("2026-W47");
        let extra = p31.athlete.session("2026-09-09T17:30:00+02:00", 60, 10.0);
        extra.with("reason", "found on paper").await;
        let coach = p31.squad.club().as_role("coach");
        // The mean week before is 2400 now, and 70 % of it is 1680.
        let flags = coach.get("flags").query("week", "2026-W47").await.expect(200);
        assert_eq!(flags["items"][0]["state"], "withdrawn", "{}", flags.text());
        assert_exact(&flags["items"][0]["current"]["figures"]["limit_au"], "1680");
    }

    async fn s16_a_clinicians_limit_binds_is_named_and_its_breach_repeats_the_step(database: Database) {
        let p31 = p31(database, &[900.0, 1500.0, 1500.0, 1750.0]).await;
        let club = p31.squad.club();
        p31.server.close_week("2026-W47");
        let coach = club.as_role("coach");
        let flags = coach.get("flags").query("week", "2026-W47").await.expect(200);
        assert_eq!(flags["items"], json!([]), "1500 of 1575 AU");
        let limit = restrict(&p31, json!({ "from": "2026-11-16", "review_date": "2026-11-23", "until": "2026-11-22",
            "availability": "limited", "max_week_au": 1400 })).await;

        let since = p31.athlete.week_figures("2026-W47").await["since_return"].clone();
        assert_exact(&since["ceiling_au"], "1400");
        assert_eq!(since["binding"], "clinician");
        let list = p31.squad.weekly_list("2026-W47").await;
        let entry = &list["entries"][0];
        assert_eq!((&entry["finding"], &entry["returning"]["binding"]), (&json!("return_ceiling"), &json!("clinician")), "{}", list.text());
        assert_exact(&entry["over_by_au"], "100");
        assert_eq!(
            entry["sentence"],
            "Week 2 after an absence of 35 days came to 1500 AU, 100 AU above its ceiling of 1400 AU (a clinician's limit); \
             the mean week before the absence was 2250 AU."
        );
        assert_no_verdict(&list.text());
        // The flag of the closed week is judged again by the change.
        let flags = coach.get("flags").query("week", "2026-W47").await.expect(200);
        assert_eq!(each(&flags["items"], "rule"), ["return_ceiling"], "{}", flags.text());
        for (week, number, step, ceiling) in [("2026-W48", 3, 2, "1575"), ("2026-W49", 4, 3, "1800")] {
            let since = p31.athlete.week_figures(week).await["since_return"].clone();
            assert_eq!((&since["week"], &since["step"], &since["binding"]), (&json!(number), &json!(step), &json!("policy")), "{since}");
            assert_exact(&since["ceiling_au"], ceiling);
        }
        // Without the limit the flag holds no longer.
        let trainer = club.as_role("athletic_trainer");
        let removal = trainer.delete(format!("restrictions/{limit}")).body("application/json", r#"{"reason": "wrong athlete"}"#);
        removal.if_match("*").await.expect(204);
        let flags = coach.get("flags").query("week", "2026-W47").await.expect(200);
        assert_eq!(flags["items"][0]["state"], "withdrawn", "{}", flags.text());
    }

    async fn s16_while_a_written_clearance_is_waited_for_there_is_no_ceiling(database: Database) {
        let p31 = p31(database, &[900.0, 1600.0, 0.0, 0.0]).await;
        let held = restrict(&p31, json!({ "from": "2026-11-16", "review_date": "2026-11-23",
            "availability": "not_available", "written_clearance_required": "heart" })).await;
        for week in ["2026-W47", "2026-W48", "2026-W49"] {
            assert_eq!(p31.athlete.week_figures(week).await["since_return"], Value::Null, "{week}");
            let list = p31.squad.weekly_list(week).await;
            assert!(!list.text().contains("return_ceiling"), "{}", list.text());
        }
        assert_exact(&p31.athlete.week_figures("2026-W46").await["since_return"]["ceiling_au"], "1125");
        // Cleared on 30 November: 14 days away, from which the ramp restarts with the first load.
        let trainer = p31.squad.club().as_role("athletic_trainer");
        let decision = json!({ "athlete_id": p31.athlete.id(), "decision": "return_to_participation", "scope": "practice",
            "decided_on": "2026-11-30", "document_reference": "folder 12", "restriction_id": held });
        trainer.post("clearance-records", decision).await.expect(201);
        let since = p31.athlete.week_figures("2026-W49").await["since_return"].clone();
        assert_eq!((&since["week"], &since["step"]), (&json!(1), &json!(1)), "{since}");
        assert_eq!(since["absence"], json!({ "from": "2026-11-16", "to": "2026-11-29", "days": 14 }));
        assert_printed(&since["pre_absence_week_au"], "2250");
        assert_exact(&since["ceiling_au"], "1125");
    }

    async fn s16_the_family_sees_loads_and_no_ceiling(database: Database) {
        let p31 = p31(database, &[900.0, 1500.0]).await;
        let weeks = p31.athlete.as_caller().get(format!("athletes/{}/weeks", p31.athlete.id()));
        let own = weeks.query("from", "2026-W46").query("to", "2026-W47").await.expect(200);
        for week in own["weeks"].as_array().expect("weeks") {
            assert_eq!(week["since_return"], Value::Null);
            assert!(week["load_au"]["point"].is_f64());
        }
    }
}
