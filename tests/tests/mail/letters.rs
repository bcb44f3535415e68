//! Letters about a week: one of the close, one of what was corrected after it.

use crate::*;

/// What is in a letter that must not be: a name, or a figure of somebody.
fn private(mail: &Mail) -> Vec<&'static str> {
    let text = mail.text();
    let words = ["Ingrid", "Solheim", " AU", "2880", "2145", "ratio above"];
    words
        .into_iter()
        .filter(|word| text.contains(word))
        .collect()
}

on_both_databases! {
    async fn a_closed_week_is_told_once_in_counts_with_a_link(database: Database) {
        let mailbox = Mailbox::start().await;
        let server = setup(database, &mailbox).start().await;
        let (club, _) = spiked(&server).await;
        let other = club.squad("U12").await;
        let admin = club.as_role("club_admin");
        recipient(&admin, "coach@havneby.example").await;
        let only = json!({ "channel": "email", "address": "u12@havneby.example", "squads": [other.id()] });
        admin.post("notice-endpoints", only).await.expect(201);
        server.close_week("2026-W45");
        server.close_week("2026-W45");
        let mut mails = mailbox.wait_for(2).await;
        nothing_more(&mailbox, 2).await;
        mails.sort_by(|one, other| one.to.cmp(&other.to));
        let text = mails[0].text();
        for said in [
            "Weekly list, 2026-W45", "Havneby Handball: the week that ended on Sunday 8 November 2026.", "Fjordpiger",
            "Findings: 1 certain, 0 possible, 0 not computable.", "They do not predict an injury",
            "https://plimsoll.example.org/",
        ] {
            assert!(text.contains(said), "{said} in {text}");
        }
        assert_eq!(mails[0].field("Subject"), "Weekly list 2026-W45, 2 squads");
        assert_eq!(mails[0].field("Auto-Submitted"), "auto-generated");
        assert_eq!(mails[1].field("Subject"), "Weekly list 2026-W45, U12");
        assert!(!mails[1].text().contains("Fjordpiger"));
        assert_eq!((private(&mails[0]), private(&mails[1])), (vec![], vec![]));
    }

    async fn corrections_are_gathered_for_half_an_hour_and_told_once(database: Database) {
        let mailbox = Mailbox::start().await;
        let mut server = setup(database, &mailbox).start().await;
        let (club, spike) = spiked(&server).await;
        let admin = club.as_role("club_admin");
        recipient(&admin, "coach@havneby.example").await;
        server.close_week("2026-W45");
        mailbox.wait_for(1).await;
        let staff = club.as_role("integration");
        let path = format!("sessions/{}", spike.string("session_id"));
        for rpe in [6.0, 7.0, 5.0] {
            staff.patch(&path, json!({ "rpe": rpe })).if_match("*").await.expect(200);
        }
        nothing_more(&mailbox, 1).await;
        server.restart_at("2026-11-09T08:45:00+01:00").await;
        let mails = mailbox.wait_for(2).await;
        assert_eq!(mails[1].field("Subject"), "Corrected: weekly list 2026-W45, Fjordpiger");
        assert!(mails[1].text().contains("1 flag was withdrawn"), "{}", mails[1].text());
        assert_eq!(private(&mails[1]), Vec::<&str>::new());
        assert_ne!(mails[0].field("Message-ID"), mails[1].field("Message-ID"));
        // Once it has left, a further correction is another letter.
        staff.patch(&path, json!({ "rpe": 10 })).if_match("*").await.expect(200);
        server.restart_at("2026-11-09T09:30:00+01:00").await;
        mailbox.wait_for(3).await;
        nothing_more(&mailbox, 3).await;
    }

    async fn what_is_corrected_before_a_letter_leaves_is_told_in_it(database: Database) {
        let mailbox = Mailbox::start().await;
        let mut server = setup(database, &mailbox).start().await;
        let (club, spike) = spiked(&server).await;
        let admin = club.as_role("club_admin");
        recipient(&admin, "coach@havneby.example").await;
        let quiet = json!({ "quiet_hours": { "from": "07:00", "to": "17:00" } });
        admin.put("mail-settings", quiet).if_match("*").await.expect(200);
        server.close_week("2026-W45");
        let path = format!("sessions/{}", spike.string("session_id"));
        club.as_role("integration").patch(&path, json!({ "rpe": 5 })).if_match("*").await.expect(200);
        nothing_more(&mailbox, 0).await;
        server.restart_at("2026-11-09T17:00:00+01:00").await;
        let mail = mailbox.wait_for(1).await.remove(0);
        assert!(mail.text().contains("1 flag was withdrawn"), "{}", mail.text());
        nothing_more(&mailbox, 1).await;
    }

    async fn a_late_close_says_so(database: Database) {
        let mailbox = Mailbox::start().await;
        let server = setup(database, &mailbox).clock("2026-11-10T09:00:00+01:00").start().await;
        let (club, _) = spiked(&server).await;
        recipient(&club.as_role("club_admin"), "coach@havneby.example").await;
        server.close_week("2026-W45");
        let mail = mailbox.wait_for(1).await.remove(0);
        assert!(mail.text().contains("It was closed later than the club's time for it."), "{}", mail.text());
    }
}
