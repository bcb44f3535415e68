//! S19 as far as the squad goes: a figure of six is told, is withheld once one of them no longer consents, and four are too few. And
//! what a coach is refused, in the same words whether there is something or not.

use crate::*;

const LOADS: [f64; 6] = [1500.0, 1620.0, 1480.0, 1710.0, 1390.0, 1550.0];

struct World {
    server: Server,
    club: Club,
    squad: Squad,
    athletes: Vec<Athlete>,
}

/// The U14 squad in 2026-W47; consent to squad figures is needed.
async fn u14(database: Database, loads: &[f64]) -> World {
    let (server, club, squad) = club_with_squad(database, "2026-11-23T07:00:00+01:00", "U14").await;
    let needed = json!({ "own_age": 18, "needed_for": ["squad_figures"] });
    let lead = club.as_role("privacy_lead");
    lead.put("consent-settings", needed)
        .if_match("*")
        .await
        .expect(200);
    let mut athletes = Vec::new();
    for (load, number) in loads.iter().zip(1..) {
        let athlete = squad.athlete(&format!("D-{number:02}")).await;
        store(&club, athlete.weeks("2026-11-16", &[*load])).await;
        athletes.push(athlete);
    }
    World {
        server,
        club,
        squad,
        athletes,
    }
}

impl World {
    async fn consent(&self, athlete: &Athlete) -> String {
        let consent = json!({ "purpose": "figures of the squad", "data_classes": ["squad_figures"], "recipient_role": "coach",
            "text_version": "2026-1" });
        let path = format!("athletes/{}/consents", athlete.id());
        let guardian = self.club.as_guardian_of(&[athlete]);
        let given = guardian.post(&path, consent).await.expect(201);
        format!("{path}/{}/withdrawal", given.string("consent_id"))
    }

    async fn withdraw(&self, athlete: &Athlete, path: &str) {
        let guardian = self.club.as_guardian_of(&[athlete]);
        guardian.post(path, json!({})).await.expect(200);
    }

    async fn summary(&self) -> e2e::Answer {
        let coach = self.club.as_coach_of(&[&self.squad]);
        let path = format!("squads/{}/weeks/2026-W47/summary", self.squad.id());
        coach.get(path).await.expect(200)
    }

    async fn summary_as_of(&self, instant: &str) -> e2e::Answer {
        let coach = self.club.as_coach_of(&[&self.squad]);
        let path = format!("squads/{}/weeks/2026-W47/summary", self.squad.id());
        coach.get(path).query("as_of", instant).await.expect(200)
    }
}

/// What a summary tells, whenever it was read.
fn told(summary: &e2e::Answer) -> Value {
    let mut told = summary.body.clone();
    told["as_of"] = Value::Null;
    told
}

#[track_caller]
fn assert_withheld(summary: &e2e::Answer, reason: &str) {
    for figure in [
        "contributors",
        "mean_au",
        "lower_quartile_au",
        "median_au",
        "upper_quartile_au",
    ] {
        assert_eq!(summary[figure], Value::Null, "{figure}: {}", summary.text());
    }
    assert_eq!(summary["reason"], reason);
}

on_both_databases! {
    async fn s19_a_figure_of_six_is_frozen_and_withheld_once_one_withdraws(database: Database) {
        let world = u14(database, &LOADS).await;
        let mut withdrawals = Vec::new();
        for athlete in &world.athletes {
            withdrawals.push(world.consent(athlete).await);
        }
        assert_withheld(&world.summary().await, "week_not_closed");
        world.server.close_week("2026-W47");
        let shown = world.summary().await;
        assert_eq!((&shown["contributors"], &shown["mean_au"]), (&json!(6), &json!(1541.67)));
        assert_eq!((&shown["lower_quartile_au"], &shown["median_au"], &shown["upper_quartile_au"]), (&json!(1485.0), &json!(1525.0), &json!(1602.5)));
        // What is corrected or joins later changes nothing.
        world.athletes[0].session("2026-11-18T17:30:00+01:00", 60, 5.0).await;
        let late = world.squad.athlete("D-07").await;
        store(&world.club, late.weeks("2026-11-16", &[900.0])).await;
        world.consent(&late).await;
        assert_eq!(told(&world.summary().await), told(&shown));
        assert_eq!(world.summary_as_of(&shown.string("as_of")).await.text(), shown.text(), "as it was then");
        assert_withheld(&world.summary_as_of("2026-11-23T06:00:00Z").await, "week_not_closed");

        world.withdraw(&world.athletes[5], &withdrawals[5]).await;
        let after = world.summary().await;
        assert_withheld(&after, "consent_changed");
        // But for the digits of instants and ids.
        let figures = after.body.as_object().expect("an object").iter().filter(|(name, _)| !name.ends_with("_at") && !name.ends_with("_id"));
        let figures: String = figures.filter(|(name, _)| *name != "as_of").map(|(_, value)| value.to_string()).collect();
        for load in ["1540", "1550", "1541"] {
            assert!(!figures.contains(load), "{figures}");
        }
        // Nor does a past instant tell what was withdrawn since.
        assert_withheld(&world.summary_as_of(&shown.string("as_of")).await, "consent_changed");
        // Consent given anew brings back what was told before, and nothing else.
        world.consent(&world.athletes[5]).await;
        assert_eq!(told(&world.summary().await), told(&shown));
    }

    async fn s19_four_are_too_few_from_the_start(database: Database) {
        let world = u14(database, &LOADS[..5]).await;
        for athlete in &world.athletes[..4] {
            world.consent(athlete).await;
        }
        world.server.close_week("2026-W47");
        assert_withheld(&world.summary().await, "fewer_than_5_contributors");
        // The fifth is late: the figure was frozen without her.
        world.consent(&world.athletes[4]).await;
        assert_withheld(&world.summary().await, "fewer_than_5_contributors");
    }

    async fn s19_who_has_an_open_session_does_not_contribute(database: Database) {
        let world = u14(database, &LOADS[..5]).await;
        for athlete in &world.athletes {
            world.consent(athlete).await;
        }
        let event = json!({ "setting": "club", "kind": "practice", "minutes": 90, "starts_at": "2026-11-19T17:30:00+01:00",
            "athletes": [world.athletes[0].id()] });
        world.club.as_role("integration").post("events", event).await.expect(201);
        world.server.close_week("2026-W47");
        assert_withheld(&world.summary().await, "fewer_than_5_contributors");
    }

    async fn s19_a_coach_is_refused_in_the_same_words_and_the_refusal_is_kept(database: Database) {
        let world = u14(database, &LOADS[..1]).await;
        let d05 = &world.athletes[0];
        let coach = world.club.as_coach_of(&[&world.squad]);
        let trainer = world.club.as_role("athletic_trainer");
        let history = format!("athletes/{}/history?purpose=screening", d05.id());
        let paths = ["tests", "restrictions", "clearance-records", "injuries", "pain-reports", &history];
        let mut before = Vec::new();
        for path in paths {
            before.push(coach.get(path).await.expect_problem(403, "role_may_not")["detail"].clone());
        }
        let result = json!({ "athlete_id": d05.id(), "test": "single_hop_distance", "side": "left", "trials": [126, 128.5],
            "tested_on": "2026-11-02", "tester": "Runa F." });
        trainer.post("tests", result).await.expect(201);
        let hurts = json!({ "athlete_id": d05.id(), "date": "2026-11-02", "hurts": true, "area": "knee" });
        world.club.as_guardian_of(&[d05]).post("pain-reports", hurts).await.expect(201);
        for (path, words) in paths.iter().zip(&before) {
            assert_eq!(coach.get(path).await.expect_problem(403, "role_may_not")["detail"], *words, "{path}");
        }
        let other = world.club.squad("U16").await;
        coach.get(format!("squads/{}/weeks/2026-W47", other.id())).await.expect_problem(404, "not_found");
        coach.get(format!("squads/{}/weeks/2026-W47/summary", other.id())).await.expect_problem(404, "not_found");
        trainer.get("tests").query("athlete", d05.id()).await.expect(200);
        trainer.get(&history).await.expect(200);
        let audit = world.club.as_role("privacy_lead").get("audit").query("limit", 500).await.expect(200);
        let rows = audit["items"].as_array().expect("items");
        let refused = rows.iter().filter(|row| row["outcome"] == "refused");
        assert!(refused.clone().all(|row| row["role"] == "coach" && row["athlete_id"] == Value::Null));
        assert_eq!(refused.count(), 2 * paths.len());
        let reads: Vec<_> = rows.iter().filter(|row| row["athlete_id"] == d05.id()).collect();
        let told = |row: &&Value| (row["role"].clone(), row["action"].clone(), row["purpose"].clone());
        let expected = [
            (json!("athletic_trainer"), json!("list_test_results"), Value::Null),
            (json!("athletic_trainer"), json!("read_history_without_pain"), json!("screening")),
        ];
        assert_eq!(reads.iter().map(told).collect::<Vec<_>>(), expected);
    }
}
