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

    async fn who_asks_to_wait_is_left_alone_for_so_long(database: Database) {
        let mut server = setup(database).clock("2026-11-09T08:00:00+01:00").start().await;
        let admin = server.club("Havneby Handball").await.as_role("club_admin");
        let receiver = Receiver::start(|number| match number {
            0 => Answering::Head("429 Too Many Requests\r\nretry-after: 7200\r\n"),
            _ => Answering::Head("204 No Content\r\n"),
        }).await;
        let made = endpoint(&admin, &receiver).await;
        let notice = try_out(&admin, &made).await;
        let refused = delivery(&admin, &notice, attempted(1)).await;
        assert_eq!((&refused["state"], &refused["attempts"][0]["status"]), (&json!("pending"), &json!(429)));
        let due: jiff::Timestamp = refused["due_at"].as_str().expect("an instant").parse().expect("RFC 3339");
        let asked: jiff::Timestamp = "2026-11-09T10:00:00+01:00".parse().expect("RFC 3339");
        assert!(due >= asked, "{due}");
        server.restart_at("2026-11-09T09:59:00+01:00").await;
        tokio::time::sleep(Duration::from_secs(2)).await;
        assert_eq!(receiver.messages().len(), 1);
        server.restart_at("2026-11-09T10:05:00+01:00").await;
        delivery(&admin, &notice, is("delivered")).await;
    }

    async fn a_connection_that_breaks_before_the_status_is_tried_again_and_after_it_the_status_counts(database: Database) {
        let server = setup(database).start().await;
        let admin = server.club("Havneby Handball").await.as_role("club_admin");
        let receiver = Receiver::start(|number| match number {
            0 => Answering::Reset("HTTP/1.1 200"),
            _ => Answering::Reset("HTTP/1.1 200 OK\r\ncontent-length: 1000\r\n\r\nthank"),
        }).await;
        let made = endpoint(&admin, &receiver).await;
        let notice = try_out(&admin, &made).await;
        let taken = delivery(&admin, &notice, is("delivered")).await;
        let outcomes = [&taken["attempts"][0], &taken["attempts"][1]];
        assert_eq!(outcomes.map(|one| &one["outcome"]), [&json!("unreachable"), &json!("accepted")]);
        assert_eq!(outcomes.map(|one| &one["status"]), [&Value::Null, &json!(200)]);
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
