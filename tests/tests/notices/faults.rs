//! Receivers that fail (T-26): what is tried again, what is not, and who waits for whom.

use crate::*;

on_both_databases! {
    async fn what_is_refused_is_tried_again_by_the_timetable(database: Database) {
        let server = setup(database).start().await;
        let admin = server.club("Havneby Handball").await.as_role("club_admin");
        let receiver = Receiver::start(|number| match number {
            0 => Answering::Head("500 Internal Server Error\r\n"),
            _ => Answering::Head("200 OK\r\n"),
        }).await;
        let made = endpoint(&admin, &receiver).await;
        let notice = try_out(&admin, &made).await;
        let refused = delivery(&admin, &notice, attempted(1)).await;
        assert_eq!((&refused["state"], &refused["attempts"][0]["status"]), (&json!("pending"), &json!(500)));
        let path = format!("notice-endpoints/{}", made.string("endpoint_id"));
        assert!(admin.get(&path).await.expect(200)["failing_since"].is_string());
        let taken = delivery(&admin, &notice, is("delivered")).await;
        assert_eq!(taken["attempts"].as_array().map(Vec::len), Some(2));
        assert_eq!(admin.get(&path).await.expect(200)["failing_since"], Value::Null);
        let messages = receiver.messages();
        assert_eq!(messages[0].body, messages[1].body);
        assert_eq!(messages[0].field("webhook-id"), messages[1].field("webhook-id"));
    }

    async fn gone_disables_the_endpoint(database: Database) {
        let server = setup(database).start().await;
        let admin = server.club("Havneby Handball").await.as_role("club_admin");
        let receiver = Receiver::start(|_| Answering::Head("410 Gone\r\n")).await;
        let made = endpoint(&admin, &receiver).await;
        let notice = try_out(&admin, &made).await;
        let fared = delivery(&admin, &notice, is("failed")).await;
        assert_eq!(fared["attempts"][0]["outcome"], "gone");
        let read = admin.get(format!("notice-endpoints/{}", made.string("endpoint_id"))).await.expect(200);
        assert_eq!((&read["enabled"], &read["disabled_why"]), (&json!(false), &json!("gone")));
    }

    async fn a_redirect_is_not_followed(database: Database) {
        let server = setup(database).start().await;
        let admin = server.club("Havneby Handball").await.as_role("club_admin");
        let target = Receiver::taking().await;
        let heads: Vec<&'static str> = [301, 302, 307, 308]
            .map(|status| &*format!("{status} Moved\r\nlocation: {}\r\n", target.url()).leak())
            .to_vec();
        for head in heads {
            let receiver = Receiver::start(move |_| Answering::Head(head)).await;
            let made = endpoint(&admin, &receiver).await;
            let notice = try_out(&admin, &made).await;
            let fared = delivery(&admin, &notice, attempted(1)).await;
            assert_eq!(fared["attempts"][0]["outcome"], "refused", "{head}");
        }
        assert_eq!(target.connections(), 0);
    }

    async fn of_an_endless_answer_64_kb_are_read(database: Database) {
        let server = setup(database).start().await;
        let admin = server.club("Havneby Handball").await.as_role("club_admin");
        let receiver = Receiver::start(|_| Answering::Endless).await;
        let made = endpoint(&admin, &receiver).await;
        let notice = try_out(&admin, &made).await;
        let fared = delivery(&admin, &notice, is("delivered")).await;
        assert_eq!(fared["attempts"][0]["answer_bytes"], 64_000);
    }

    async fn nobody_waits_for_a_receiver_that_never_answers(database: Database) {
        let server = setup(database).start().await;
        let admin = server.club("Havneby Handball").await.as_role("club_admin");
        let dead = Receiver::start(|_| Answering::Never).await;
        let alive = Receiver::taking().await;
        let (first, second) = (endpoint(&admin, &dead).await, endpoint(&admin, &alive).await);
        let stuck = try_out(&admin, &first).await;
        dead.wait_for(1).await;
        let mut sent = BTreeSet::new();
        for _ in 0..5 {
            sent.insert(try_out(&admin, &second).await);
        }
        let arrived = alive.wait_for(5).await;
        let arrived: BTreeSet<String> = arrived.iter().map(|message| message.field("webhook-id").to_owned()).collect();
        assert_eq!(arrived, sent);
        let waiting = delivery(&admin, &stuck, is("pending")).await;
        assert_eq!(waiting["attempts"], json!([]), "the other endpoint was served meanwhile");
        let timed_out = delivery(&admin, &stuck, attempted(1)).await;
        assert_eq!(timed_out["attempts"][0]["outcome"], "timed_out");
    }
}
