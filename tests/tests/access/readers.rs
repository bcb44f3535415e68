//! In which roles an athlete's record was read: for her, her guardians and the privacy lead.

use crate::*;

fn readers(athlete: &Athlete) -> String {
    format!("athletes/{}/readers", athlete.id())
}

/// What was read in which role, the latest first.
fn told(page: &Answer) -> Vec<(&str, &str)> {
    let items = page["items"].as_array().expect("items");
    let texts = items.iter().map(|item| {
        let text = |field: &str| item[field].as_str().expect("a text");
        (text("role"), text("action"))
    });
    texts.collect()
}

on_both_databases! {
    async fn a_guardian_is_told_roles_purposes_and_times(database: Database) {
        let server = Server::start(database).await;
        let club = server.club("Havneby Handball").await;
        let squad = club.squad("U16").await;
        let (own, other) = (squad.athlete("P-07").await, squad.athlete("P-12").await);
        let coach = club.client(Identity::role("coach").subject("coach-3"));
        coach.get(format!("athletes/{}/load", own.id())).await.expect(200);
        coach.get(format!("athletes/{}/load", other.id())).await.expect(200);
        let trainer = club.client(Identity::role("athletic_trainer").subject("trainer-1"));
        let history = format!("athletes/{}/history", own.id());
        trainer.get(&history).query("purpose", "screening").await.expect(200);
        coach.get(&history).query("purpose", "screening").await.expect_problem(403, "role_may_not");

        let guardian = club.as_guardian_of(&[&own]);
        let page = guardian.get(readers(&own)).await.expect(200);
        assert_eq!(told(&page), [("athletic_trainer", "read_history_without_pain"), ("coach", "read_load")]);
        let first = &page["items"][0];
        assert_eq!((&first["purpose"], &first["subject"], &first["client"]), (&json!("screening"), &Value::Null, &Value::Null));
        assert_eq!(first["at"].as_str().map(|at| &at[..10]), Some("2026-11-09"));
        assert_eq!((&page["items"][1]["purpose"], &page["next"]), (&Value::Null, &Value::Null));
        for word in ["coach-3", "trainer-1", "plimsoll-cli"] {
            assert!(!page.text().contains(word), "{word}: {}", page.text());
        }

        // Looking is a read of the record, too, and the athlete sees who looked.
        let page = own.as_caller().get(readers(&own)).await.expect(200);
        assert_eq!(told(&page)[0], ("guardian", "list_readers"));
        assert_eq!(page["items"][0]["subject"], Value::Null);

        let lead = club.client(Identity::role("privacy_lead").subject("lead-1"));
        let page = lead.get(readers(&own)).await.expect(200);
        assert_eq!(told(&page)[..2], [("athlete", "list_readers"), ("guardian", "list_readers")]);
        assert_eq!((&page["items"][2]["subject"], &page["items"][3]["subject"]), (&json!("trainer-1"), &json!("coach-3")));
        let of_other = lead.get(readers(&other)).await.expect(200);
        assert_eq!(told(&of_other), [("coach", "read_load")]);
    }

    async fn pages_go_back_in_time_and_end(database: Database) {
        let server = Server::start(database).await;
        let club = server.club("Havneby Handball").await;
        let own = club.squad("U16").await.athlete("P-07").await;
        let coach = club.as_role("coach");
        for _ in 0..5 {
            coach.get(format!("athletes/{}/load", own.id())).await.expect(200);
        }
        let guardian = club.as_guardian_of(&[&own]);
        let (mut after, mut seen) = (None, Vec::new());
        loop {
            let call = guardian.get(readers(&own)).query("limit", 2);
            let page = match &after {
                None => call.await,
                Some(after) => call.query("after", after).await,
            };
            let page = page.expect(200);
            seen.extend(told(&page).into_iter().map(|(role, _)| role.to_owned()));
            match page["next"].as_str() {
                Some(next) => after = Some(next.to_owned()),
                None => break,
            }
        }
        // What is entered meanwhile comes before the first page.
        assert_eq!(seen, ["coach"; 5]);
        let list = guardian.get(readers(&own)).await.expect(200);
        assert_eq!(told(&list)[..4], [("guardian", "list_readers"), ("guardian", "list_readers"), ("guardian", "list_readers"), ("coach", "read_load")]);
    }

    async fn nobody_sees_the_readers_of_another_record(database: Database) {
        let server = Server::start(database).await;
        let club = server.club("Havneby Handball").await;
        let squad = club.squad("U16").await;
        let (own, other) = (squad.athlete("P-07").await, squad.athlete("P-12").await);
        for caller in [own.as_caller(), club.as_guardian_of(&[&own])] {
            let there = caller.get(readers(&other)).await.expect_problem(404, "not_found");
            let absent = caller.get(format!("athletes/{}/readers", e2e::FREE_ID)).await.expect_problem(404, "not_found");
            assert_eq!(there["detail"], absent["detail"]);
        }
        for role in ["coach", "strength_coach", "athletic_trainer", "club_admin", "integration"] {
            club.as_role(role).get(readers(&own)).await.expect_problem(403, "role_may_not");
        }
        let stranger = server.club("Fjordby Handball").await;
        stranger.as_role("privacy_lead").get(readers(&own)).await.expect_problem(404, "not_found");
        let lead = club.as_role("privacy_lead");
        lead.get(format!("athletes/{}/readers", e2e::FREE_ID)).await.expect_problem(404, "not_found");
    }
}
