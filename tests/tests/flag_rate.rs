//! What the policy owner sees of findings, and of limits that others have published.

use e2e::{Club, Server, assert_on_page, on_both_databases};
use serde_json::{Value, json};

const WEEKS: [&str; 4] = ["2026-W42", "2026-W43", "2026-W44", "2026-W45"];

/// Two athletes with four weeks each; P-12's last one is a spike of 2880 AU after 4290 AU in three weeks.
async fn club(server: &Server) -> Club {
    let club = server.club("Havneby Handball").await;
    club.example_policy().await;
    let squad = club.squad("U16").await;
    for (code, last) in [("P-12", 2880.0), ("P-07", 1500.0)] {
        let athlete = squad.athlete(code).with("joined_on", "2026-10-12").await;
        let weeks = athlete.weeks("2026-10-12", &[1380.0, 1380.0, 1530.0, last]);
        club.bulk(weeks).await.expect(200);
    }
    club
}

async fn rate(club: &Club) -> e2e::Answer {
    club.as_role("club_admin")
        .get("policy/flag-rate")
        .await
        .expect(200)
}

on_both_databases! {
    async fn new_findings_are_counted_beside_the_budget(database: Database) {
        let server = Server::start(database).await;
        let club = club(&server).await;
        let nothing = rate(&club).await;
        assert_eq!((&nothing["a_week_per_15_athletes"], &nothing["over_budget"]), (&Value::Null, &Value::Null));
        for week in WEEKS {
            server.close_week(week);
        }
        // Eight weeks of athletes and one flag: 15 x 1 / 8, as the rehearsal has it.
        let found = rate(&club).await;
        assert_eq!((&found["athlete_weeks"], &found["new_findings"]), (&json!(8), &json!(1)));
        assert_eq!((&found["a_week_per_15_athletes"], &found["over_budget"]), (&json!(1.875), &json!(false)));
        assert_eq!(found["budget_a_week_per_15_athletes"], 3);
        assert_eq!(found["rules"], json!([{ "code": "week_end_ratio", "new_findings": 1, "a_week_per_15_athletes": 1.875 }]));
        let last = json!({ "week": "2026-W45", "athletes": 2, "new_findings": 1, "a_week_per_15_athletes": 7.5 });
        assert_eq!((&found["weeks"][0], found["weeks"].as_array().map(Vec::len)), (&last, Some(4)));
        let policy = club.example_policy().into_body();
        let body = json!({ "policy": policy, "from_week": "2026-W42", "to_week": "2026-W45" });
        let rehearsed = club.as_role("club_admin").post("policy/rehearsals", body).await.expect(200);
        assert_eq!(rehearsed["in_force"]["a_week_per_15_athletes"], found["a_week_per_15_athletes"]);
    }

    async fn a_finding_that_was_withdrawn_had_been_read(database: Database) {
        let server = Server::start(database).await;
        let club = club(&server).await;
        server.close_week("2026-W45");
        assert_eq!(rate(&club).await["over_budget"], true, "15 x 1 / 2 is above 3");
        let app = club.as_role("integration");
        let flag = app.get("flags").await.expect(200);
        let absence = json!({ "athlete_id": flag["items"][0]["athlete_id"], "from": "2026-10-26", "to": "2026-11-20", "category": "exams" });
        app.post("absences", absence).await.expect(201);
        assert_eq!(app.get("flags").await.expect(200)["items"][0]["state"], "withdrawn");
        assert_eq!(rate(&club).await["new_findings"], 1);
    }

    async fn the_rate_is_also_a_page(database: Database) {
        let server = Server::start(database).await;
        let club = club(&server).await;
        let read = async |accept: &str| {
            let sent = club.as_role("club_admin").get("policy/flag-rate").header("Accept", accept).await;
            assert_eq!(sent.header("vary"), Some("Accept"), "{accept}");
            sent.expect(200)
        };
        let page = read("text/html").await.text();
        assert!(page.contains("No closed week had a policy") && assert_on_page(&rate(&club).await.body, &page) == 4, "{page}");
        for week in WEEKS {
            server.close_week(week);
        }
        let page = read("text/html").await.text();
        assert!(page.contains("That is 1.875 a week per 15 athletes, within the budget of 3."), "{page}");
        // Four of the whole, four a week, three of the rule and the note.
        assert_eq!(assert_on_page(&rate(&club).await.body, &page), 4 + 4 * 4 + 3 + 1);
        let refused = club.as_role("club_admin").get("policy/flag-rate");
        refused.header("Accept", "text/csv").await.expect_problem(406, "not_acceptable");
    }

    async fn weeks_without_a_policy_do_not_count(database: Database) {
        let server = Server::start(database).await;
        let club = server.club("Havneby Handball").await;
        club.squad("U16").await.athlete("P-12").with("joined_on", "2026-10-12").await;
        server.close_week("2026-W44");
        server.close_week("2026-W45");
        assert_eq!(rate(&club).await["weeks"], json!([]));
        club.example_policy().with("effective_from", "2026-11-02").await;
        let found = rate(&club).await;
        assert_eq!((&found["weeks"][0]["week"], &found["athlete_weeks"]), (&json!("2026-W45"), &json!(1)));
        assert_eq!((&found["new_findings"], &found["over_budget"]), (&json!(0), &json!(false)));
        club.as_role("privacy_lead").get("policy/flag-rate").await.expect(200);
        club.as_role("coach").get("policy/flag-rate").await.expect_problem(403, "role_may_not");
    }

    async fn published_limits_are_suggestions(database: Database) {
        let server = Server::start(database).await;
        let club = server.club("Havneby Handball").await;
        let found = club.as_role("coach").get("policy/suggestions").await.expect(200);
        assert!(found.string("note").starts_with("Suggestions, not law"));
        let items = found["items"].as_array().expect("items");
        let of = |code: &str| items.iter().find(|item| item["code"] == code).expect("the suggestion");
        assert_eq!((&of("ratio_1_5_coupled")["rule"], &of("ratio_1_5_coupled")["limit"]), (&json!("week_end_ratio"), &json!(1.5)));
        assert_eq!((&of("free_days_2")["rule"], &of("free_days_2")["limit"]), (&Value::Null, &Value::Null));
        // They are nobody's policy.
        club.as_role("club_admin").get("policy").await.expect_problem(404, "not_found");
        club.as_role("athlete").get("policy/suggestions").await.expect_problem(403, "role_may_not");
    }
}
