//! `kill -9` between commit and delivery (T-04): every notice arrives at least once, and no other.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha20Rng;

use crate::*;

on_both_databases! {
    async fn every_notice_arrives_at_least_once_whenever_the_program_is_killed(database: Database) {
        let mut server = setup(database).start().await;
        let club = server.club("Havneby Handball").await;
        let receiver = Receiver::taking().await;
        let made = endpoint(&club.as_role("club_admin"), &receiver).await;
        let mut random = ChaCha20Rng::seed_from_u64(4);
        let kills = many(8, 100);
        let mut answered = 0;
        for round in 1..=kills {
            for _ in 0..4 {
                try_out(&club.as_role("club_admin"), &made).await;
                answered += 1;
            }
            tokio::time::sleep(Duration::from_millis(random.random_range(0..=1_500))).await;
            server.kill();
            // Later than any lease of the program that was killed.
            server.restart_at(&format!("2026-11-09T{:02}:{:02}:00+01:00", 8 + round / 30, 2 * (round % 30))).await;
        }
        let admin = club.as_role("club_admin");
        let listed = admin.get("notices").query("limit", 500).await.expect(200);
        let events: BTreeSet<String> = listed["items"].as_array().expect("a list").iter()
            .filter(|notice| notice["kind"] == "test")
            .map(|notice| notice["notice_id"].as_str().expect("an id").to_owned())
            .collect();
        assert_eq!(events.len(), answered, "what was answered is listed, once");
        for event in &events {
            delivery(&admin, event, is("delivered")).await;
        }
        let messages = receiver.messages();
        let mut bodies: BTreeMap<&str, &str> = BTreeMap::new();
        for message in &messages {
            let first = bodies.entry(message.field("webhook-id")).or_insert(&message.body);
            assert_eq!(*first, message.body, "the same bytes each time");
        }
        let arrived: BTreeSet<String> = bodies.keys().map(|id| (*id).to_owned()).collect();
        assert_eq!(arrived, events);
        println!("{database:?}: {kills} kills, {} notices, {} messages, 0 lost, 0 unknown", events.len(), messages.len());
    }
}
