//! S19 as far as two clubs go: D-05 plays in Club A (1500 AU in the week) and in another club (930 AU), shared both ways until her
//! guardian withdraws.

use crate::*;

struct World {
    server: Server,
    a: Club,
    b: Club,
    squad: Squad,
    /// D-05 as Club A knows her, and as the other club does.
    here: Athlete,
    there: Athlete,
}

async fn world(database: Database) -> World {
    let (server, a, squad) = club_with_squad(database, "2026-11-20T11:00:00+01:00", "U14").await;
    a.example_policy().await;
    let b = server.club("Fjordby Handball").await;
    let here = squad.athlete("D-05").await;
    let there = b.squad("Girls").await.athlete("F-31").await;
    // Eight usual weeks in Club A alone, and the week in which both train her.
    store(&a, here.weeks("2026-09-14", &[1500.0; 9])).await;
    store(&b, there.weeks("2026-11-09", &[930.0])).await;
    World {
        server,
        a,
        b,
        squad,
        here,
        there,
    }
}

fn consents(athlete: &Athlete) -> String {
    format!("athletes/{}/consents", athlete.id())
}

/// Lets the organisation of `from` share with the club of `to`; answers where the consent is withdrawn.
async fn share(from: &Athlete, to: &Athlete, organisation: &str) -> String {
    let guardian = to.club().as_guardian_of(&[to]);
    let codes = format!("athletes/{}/sharing-codes", to.id());
    let named = guardian
        .post(codes, json!({ "organisation": organisation }))
        .await
        .expect(201);
    let consent = json!({ "purpose": "one figure for the whole week", "data_classes": ["day_totals"],
        "sharing_code": named["sharing_code"], "text_version": "2026-1" });
    let guardian = from.club().as_guardian_of(&[from]);
    let given = guardian.post(consents(from), consent).await.expect(201);
    assert_eq!(
        (&given["recipient_club_id"], &given["standing"]),
        (&json!(to.club().id()), &json!("in_force"))
    );
    format!(
        "{}/{}/withdrawal",
        consents(from),
        given.string("consent_id")
    )
}

impl World {
    async fn week(&self, athlete: &Athlete) -> Value {
        self.week_as(athlete, None).await
    }

    async fn week_as(&self, athlete: &Athlete, as_of: Option<&str>) -> Value {
        let coach = athlete.club().as_role("coach");
        let path = format!("athletes/{}/weeks?from=2026-W46&to=2026-W46", athlete.id());
        let read = coach.get(path);
        let read = match as_of {
            Some(as_of) => read.query("as_of", as_of),
            None => read,
        };
        read.await.expect(200)["weeks"][0].clone()
    }

    async fn list(&self) -> e2e::Answer {
        let coach = self.a.as_coach_of(&[&self.squad]);
        coach
            .get(format!("squads/{}/weeks/2026-W46", self.squad.id()))
            .await
            .expect(200)
    }

    async fn flags(&self) -> Vec<Value> {
        let flags = self.a.as_role("coach").get("flags").await.expect(200);
        flags["items"].as_array().expect("items").clone()
    }

    async fn gaps(&self) -> Vec<Value> {
        let mut gaps = Vec::new();
        for club in [&self.a, &self.b] {
            let found = club
                .as_role("privacy_lead")
                .get("consent-gaps")
                .await
                .expect(200);
            gaps.extend(found["gaps"].as_array().expect("gaps").clone());
        }
        gaps
    }
}

on_both_databases! {
    async fn s19_totals_are_shared_and_gone_once_consent_is_withdrawn(database: Database) {
        let world = world(database).await;
        let alone = world.week(&world.here).await;
        assert_exact(&alone["load_au"], "1500");
        assert_eq!(alone["by_setting"][0]["share_pct"], 100.0);
        let withdrawal = share(&world.there, &world.here, "Fjordby").await;
        share(&world.here, &world.there, "her first club").await;

        let both = world.week(&world.here).await;
        assert_exact(&both["load_au"], "2430");
        let of_second = json!({ "setting": "second_club", "au": 930.0, "share_pct": 38.27 });
        assert!(both["by_setting"].as_array().expect("settings").contains(&of_second), "{}", both["by_setting"]);
        assert_exact(&world.week(&world.there).await["load_au"], "2430");
        assert_eq!(world.list().await["settings_not_shared"], 0);
        let known_then = world.list().await.string("as_of");
        let while_shared = world.week_as(&world.here, Some(&known_then)).await;
        assert_exact(&while_shared["load_au"], "2430");
        world.server.close_week("2026-W46");
        let raised = world.flags().await;
        let rules: Vec<&Value> = raised.iter().map(|flag| &flag["rule"]).collect();
        assert_eq!(rules, ["own_highest_week"], "2430 is above 110 % of 1500");
        let flag = format!("flags/{}", raised[0]["flag_id"].as_str().expect("an id"));
        assert_eq!(world.gaps().await, Vec::<Value>::new());

        // Friday 20 November: her guardian withdraws what the other club shares.
        let guardian = world.b.as_guardian_of(&[&world.there]);
        guardian.post(&withdrawal, json!({})).await.expect(200);
        let after = world.week(&world.here).await;
        assert_exact(&after["load_au"], "1500");
        assert_eq!(after["by_setting"], json!([{ "setting": "club", "au": 1500.0, "share_pct": null }]), "never 100 %");
        assert_eq!(world.list().await["settings_not_shared"], 1);
        let trainer = world.a.as_role("athletic_trainer");
        let history = trainer.get(format!("athletes/{}/history?purpose=follow_up", world.here.id())).await.expect(200);
        assert_eq!(history["not_known"]["settings_not_shared"], 1);
        assert_eq!(history["not_known"]["not_shared"], json!([{ "organisation": "Fjordby" }]));
        // The past is judged by today's consent too.
        let of_then = world.week_as(&world.here, Some(&known_then)).await;
        assert_exact(&of_then["load_au"], "1500");
        // What was computed with it is hidden, and kept.
        assert_eq!(world.flags().await, Vec::<Value>::new());
        world.a.as_role("coach").get(&flag).await.expect_problem(404, "not_found");
        assert_eq!(world.list().await["correction"], Value::Null);
        let kept = world.server.rows("SELECT count(*) FROM flag_versions WHERE hidden_at IS NOT NULL");
        assert_eq!(kept, [["2"]], "raised, and withdrawn");
        let copies = world.server.rows("SELECT count(*) FROM shared_day_totals WHERE load_half = 1860");
        assert_eq!(copies, [["0"]]);
        // The other direction is another consent.
        assert_exact(&world.week(&world.there).await["load_au"], "2430");
        assert_eq!(world.gaps().await, Vec::<Value>::new());
        guardian.post(&withdrawal, json!({})).await.expect(200);
    }

    async fn s19_nothing_but_totals_crosses_the_border(database: Database) {
        let world = world(database).await;
        let titled = world.there.session("2026-11-10T17:30:00+01:00", 60, 5.0).with("note", "hall at Sondervang");
        titled.await;
        share(&world.there, &world.here, "her gymnastics").await;
        let coach = world.a.as_coach_of(&[&world.squad]);
        let of_her = format!("athletes/{}", world.here.id());
        let squad = format!("squads/{}/weeks/2026-W46?explain=true", world.squad.id());
        let mut told = String::new();
        for path in [
            format!("{of_her}/weeks?from=2026-W46&to=2026-W46&explain=true"), format!("{of_her}/load?from=2026-11-09&to=2026-11-15&explain=true"),
            squad, of_her.clone(),
        ] {
            told += &coach.get(path).await.expect(200).text();
        }
        let guardian = world.a.as_guardian_of(&[&world.here]);
        told += &guardian.get(format!("{of_her}/sharing-links")).await.expect(200).text();
        told += &world.a.as_role("privacy_lead").get("audit").await.expect(200).text();
        for foreign in [world.there.id(), world.b.id(), "Fjordby", "F-31", "Girls", "Sondervang", "T17:30"] {
            assert!(!told.contains(foreign), "{foreign} is told: {told}");
        }
        assert!(told.contains("\"shared\":[{\"minutes\":60,\"load_au\":300.0}]"), "{told}");
        let rows = world.server.rows("SELECT * FROM shared_day_totals");
        assert_eq!(rows.len(), 2);
        assert!(rows.iter().all(|row| row.len() == 9));
    }
}
