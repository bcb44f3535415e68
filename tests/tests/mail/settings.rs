//! How mail looks, when it goes out, and who decides whether it names athletes.

use crate::*;

on_both_databases! {
    async fn mail_comes_under_the_clubs_name_and_waits_for_the_end_of_quiet_hours(database: Database) {
        let mailbox = Mailbox::start().await;
        let mut server = setup(database, &mailbox).clock("2026-11-09T06:40:00+01:00").start().await;
        let admin = server.club("Havneby Handball").await.as_role("club_admin");
        let made = recipient(&admin, "coach@havneby.example").await;
        let usual = admin.get("mail-settings").await.expect(200);
        assert_eq!(usual.body, json!({ "sender_name": null, "reply_to": null, "quiet_hours": null, "version": 0 }));
        let wanted = json!({ "sender_name": "Havneby ungdom", "reply_to": "kontor@havneby.example",
            "quiet_hours": { "from": "21:00", "to": "07:15" } });
        admin.put("mail-settings", wanted.clone()).await.expect_problem(428, "precondition_required");
        let set = admin.put("mail-settings", wanted.clone()).if_match("\"0\"").await.expect(200);
        assert_eq!((&set["version"], &set["quiet_hours"]["to"]), (&json!(1), &json!("07:15")));
        assert_eq!(admin.put("mail-settings", wanted).await.expect(200)["version"], 1);

        let notice = try_out(&admin, &made).await;
        let waiting = delivery(&admin, &notice, |one| one["waiting_for"] == "quiet_hours").await;
        assert_eq!((&waiting["due_at"], &waiting["attempts"]), (&json!("2026-11-09T06:15:00Z"), &json!([])));
        server.restart_at("2026-11-09T07:15:00+01:00").await;
        let mail = mailbox.wait_for(1).await.remove(0);
        assert_eq!(mail.to, "coach@havneby.example");
        assert_eq!(mail.field("From"), "\"Havneby ungdom\" <plimsoll@example.org>");
        assert_eq!(mail.field("Reply-To"), "kontor@havneby.example");
        assert!(delivery(&admin, &notice, |one| one["state"] == "delivered").await["waiting_for"].is_null());
    }

    async fn only_the_privacy_lead_lets_mail_name_athletes_and_it_is_entered(database: Database) {
        let mailbox = Mailbox::start().await;
        let server = setup(database, &mailbox).start().await;
        let (club, _) = spiked(&server).await;
        let admin = club.as_role("club_admin");
        let made = recipient(&admin, "coach@havneby.example").await;
        let lead = club.as_role("privacy_lead");
        assert_eq!(admin.get("mail-names").await.expect(200)["names"], false);
        for role in ["club_admin", "coach", "integration"] {
            let asked = club.as_role(role).put("mail-names", json!({ "names": true }));
            asked.if_match("*").await.expect_problem(403, "role_may_not");
        }
        lead.put("mail-names", json!({ "names": true })).if_match("\"0\"").await.expect(200);
        server.close_week("2026-W45");
        let mail = mailbox.wait_for(1).await.remove(0);
        assert!(mail.text().contains("Ingrid Solheim: "), "{}", mail.text());
        let listed = lead.get("audit").await.expect(200);
        let rows: Vec<_> = listed["items"].as_array().expect("a list").iter()
            .map(|row| (row["action"].as_str().expect("text"), row["subject"].as_str().expect("text"), row["outcome"].as_str().expect("text")))
            .filter(|(action, ..)| action.contains("mail"))
            .map(|(action, subject, outcome)| (action, subject == made.string("endpoint_id"), outcome))
            .collect();
        assert_eq!(rows, [("put_mail_names", false, "asked"), ("mail_weekly_list", true, "read")]);
        assert!(server.run(&["audit", "verify"]).status.success());
    }
}
