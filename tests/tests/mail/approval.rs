//! A club's first recipient: nothing is sent before a second person has approved the address.

use crate::*;

/// The recipient as it is.
async fn read(by: &Client, recipient: &Answer) -> Answer {
    let path = format!("notice-endpoints/{}", recipient.string("endpoint_id"));
    by.get(path).await.expect(200)
}

on_both_databases! {
    async fn the_first_recipient_waits_for_a_second_person(database: Database) {
        let mailbox = Mailbox::start().await;
        let server = setup(database, &mailbox).start().await;
        let (club, _) = spiked(&server).await;
        let admin = club.as_role("club_admin");
        let made = named(&admin, "coach@havneby.example").await;
        assert_eq!(made["waiting_for"], "approval");
        let notice = try_out(&admin, &made).await;
        server.close_week("2026-W45");
        let waiting = delivery(&admin, &notice, |one| one["waiting_for"] == "approval").await;
        assert_eq!((&waiting["state"], &waiting["attempts"]), (&json!("pending"), &json!([])));
        nothing_more(&mailbox, 0).await;

        // Neither whoever entered it nor somebody without the right; and not without having read it.
        approve(&admin, &made).await.expect_problem(403, "own_address");
        approve(&club.as_role("coach"), &made).await.expect_problem(403, "role_may_not");
        let lead = admin.colleague("privacy_lead");
        let path = format!("notice-endpoints/{}/approval", made.string("endpoint_id"));
        lead.post(&path, json!({})).await.expect_problem(428, "precondition_required");
        lead.post(&path, json!({})).if_match("\"7\"").await.expect_problem(412, "precondition_failed");
        let seen = read(&lead, &made).await;
        assert_eq!((&seen["address"], &seen["waiting_for"]), (&json!("coach@havneby.example"), &json!("approval")));
        let approved = lead.post(&path, json!({})).if_match(seen.etag()).await.expect(200);
        assert!(approved["confirmed_at"].is_string() && approved["waiting_for"].is_null());
        assert_eq!(mailbox.wait_for(2).await.len(), 2, "what was kept back goes out");
        assert_eq!(approve(&lead, &made).await.expect(200)["version"], 2, "once is enough");

        // The next are free.
        let next = named(&admin, "other@havneby.example").await;
        assert_eq!(next["waiting_for"], Value::Null);
        try_out(&admin, &next).await;
        mailbox.wait_for(3).await;
        let webhook = admin.post("notice-endpoints", json!({ "url": "https://club.example.org/notices" })).await.expect(201);
        approve(&lead, &webhook).await.expect_problem(422, "other_channel");
        let path = format!("notice-endpoints/{}/confirmation", made.string("endpoint_id"));
        admin.post(path, json!({})).await.expect_problem(422, "other_channel");
    }

    async fn another_address_of_the_only_recipient_waits_again(database: Database) {
        let mailbox = Mailbox::start().await;
        let server = setup(database, &mailbox).start().await;
        let club = server.club("Havneby Handball").await;
        let admin = club.as_role("club_admin");
        let made = recipient(&admin, "coach@havneby.example").await;
        let path = format!("notice-endpoints/{}", made.string("endpoint_id"));
        let moved = admin.patch(&path, json!({ "address": "else@havneby.example" })).if_match("*").await.expect(200);
        assert_eq!(moved["waiting_for"], "approval");
        let colleague = club.client(e2e::Identity::role("club_admin").subject("second-admin"));
        approve(&colleague, &made).await.expect(200);
        // Whoever changes nothing of the address leaves it approved.
        let same = admin.patch(&path, json!({ "enabled": false })).if_match("*").await.expect(200);
        assert!(same["confirmed_at"].is_string());
    }

    async fn every_recipient_waits_where_the_operator_wants_it(database: Database) {
        let mailbox = Mailbox::start().await;
        let server = setup(database, &mailbox).setting("PLIMSOLL_MAIL_APPROVAL", "every").start().await;
        let admin = server.club("Havneby Handball").await.as_role("club_admin");
        recipient(&admin, "coach@havneby.example").await;
        let next = named(&admin, "other@havneby.example").await;
        assert_eq!(next["waiting_for"], "approval");
        try_out(&admin, &next).await;
        nothing_more(&mailbox, 0).await;
        approve(&admin.colleague("privacy_lead"), &next).await.expect(200);
        assert_eq!(mailbox.wait_for(1).await[0].to, "other@havneby.example");
    }
}
