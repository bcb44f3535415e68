//! A closed week and its correction are told, in ids and links alone.

use crate::*;

/// Every number that stands in a JSON value by itself.
fn numbers(value: &Value) -> Vec<&Value> {
    match value {
        Value::Number(_) => vec![value],
        Value::Array(items) => items.iter().flat_map(numbers).collect(),
        Value::Object(members) => members.values().flat_map(numbers).collect(),
        _ => Vec::new(),
    }
}

on_both_databases! {
    async fn a_closed_and_corrected_week_is_told_without_names_or_figures(database: Database) {
        let server = setup(database).start().await;
        let club = server.club("Havneby Handball").await;
        club.example_policy().await;
        let squad = club.squad("Fjordpiger").await;
        let spiked = squad.athlete("Ingrid Solheim").with("joined_on", "2026-10-12").await;
        let weeks = spiked.weeks("2026-10-12", &[1380.0, 1380.0, 1530.0, 2880.0]);
        club.bulk(weeks).await.expect(200);
        let admin = club.as_role("club_admin");
        let receiver = Receiver::taking().await;
        endpoint(&admin, &receiver).await;

        server.close_week("2026-W45");
        server.close_week("2026-W45");
        receiver.wait_for(1).await;
        let sessions = club.as_role("integration").get("sessions").query("athlete", spiked.id())
            .query("from", "2026-11-02").query("to", "2026-11-08").await.expect(200);
        for session in sessions["items"].as_array().expect("a list") {
            let path = format!("sessions/{}", session["session_id"].as_str().expect("an id"));
            club.as_role("integration").patch(path, json!({ "rpe": 1 })).if_match("*").await.expect(200);
        }
        let listed = admin.get("notices").await.expect(200);
        let told = listed["items"].as_array().expect("a list").iter().filter(|notice| notice["kind"] != "challenge").count();
        let messages = receiver.wait_for(told).await;
        let kinds: Vec<Value> = messages.iter()
            .map(|message| serde_json::from_str::<Value>(&message.body).expect("JSON")["type"].clone())
            .collect();
        assert_eq!(kinds.iter().filter(|kind| **kind == "plimsoll.week_closed").count(), 1, "{kinds:?}");
        assert!(kinds.contains(&json!("plimsoll.week_corrected")), "{kinds:?}");
        for message in &messages {
            let event: Value = serde_json::from_str(&message.body).expect("JSON");
            assert_eq!(numbers(&event), Vec::<&Value>::new(), "{}", message.body);
            for name in ["Ingrid", "Solheim", "Fjordpiger", "Havneby", spiked.id()] {
                assert!(!message.body.contains(name), "{name}: {}", message.body);
            }
            let list = event["data"]["squads"][0]["href"].as_str().expect("a link");
            club.as_role("coach").get(list).await.expect(200);
        }
    }
}
