//! Recipients who want to hear of questions get one mail for those of half an hour, with a link and nothing of what was asked.

use e2e::Athlete;

use crate::*;

/// Asks about a session of hers.
async fn ask(athlete: &Athlete, session: &str, text: &str) {
    let body = json!({ "text": text, "hurts": true, "about": { "session_id": session } });
    let path = format!("athletes/{}/questions", athlete.id());
    athlete.as_caller().post(path, body).await.expect(201);
}

on_both_databases! {
    async fn questions_are_gathered_in_one_mail_that_waits_for_quiet_hours(database: Database) {
        let mailbox = Mailbox::start().await;
        let mut server = setup(database, &mailbox).clock("2026-11-09T20:45:00+01:00").start().await;
        let club = server.club("Havneby Handball").await;
        let athlete = club.squad("Fjordpiger").await.athlete("Ingrid Solheim").await;
        let admin = club.as_role("club_admin");
        recipient(&admin, "coach@havneby.example").await;
        let strength = json!({ "channel": "email", "address": "strength@havneby.example", "questions": true });
        admin.post("notice-endpoints", strength).await.expect(201);
        let quiet = json!({ "quiet_hours": { "from": "21:00", "to": "07:00" } });
        admin.put("mail-settings", quiet).if_match("*").await.expect(200);
        let session = athlete.session("2026-11-09T17:30:00+01:00", 60, 6.0).await.string("session_id");
        for text in ["My knee hurts, do I carry on?", "Both legs?"] {
            ask(&athlete, &session, text).await;
        }
        nothing_more(&mailbox, 0).await;
        server.restart_at("2026-11-09T21:20:00+01:00").await;
        nothing_more(&mailbox, 0).await;
        server.restart_at("2026-11-10T07:01:00+01:00").await;
        let mail = mailbox.wait_for(1).await.remove(0);
        assert_eq!(mail.field("Subject"), "Questions to the strength coaches of Havneby Handball");
        assert_eq!(mail.to, "strength@havneby.example");
        let text = mail.text();
        for said in ["not an emergency channel", "/questions?open=true"] {
            assert!(text.contains(said), "{said}: {text}");
        }
        for never in ["knee", "hurt", "legs", "Ingrid", "Solheim", "Fjordpiger", athlete.id()] {
            assert!(!text.contains(never), "{never}: {text}");
        }
        nothing_more(&mailbox, 1).await;
        // What is asked once it has left is told in another.
        ask(&athlete, &session, "And then?").await;
        server.restart_at("2026-11-10T07:40:00+01:00").await;
        mailbox.wait_for(2).await;
    }
}
