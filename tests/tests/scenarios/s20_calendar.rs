//! S20 (b): a recurring practice across the end of summer time, one instance cancelled, one moved; the rule then changes.
//!
//! RFC 5545 is what the text is written by; the instants follow from Europe/Copenhagen in the IANA time zone database.

use crate::*;

const NOW: &str = "2026-10-12T08:00:00+02:00";
const ID: &str = "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0c20";

/// Tuesdays and Thursdays at 17:30 by this rule, Thursday 22 October called off, Tuesday 27 October moved to Wednesday at 18:00.
fn calendar(rule: &str, excepted: &str) -> String {
    let lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//Havneby//Hall//EN",
        "BEGIN:VEVENT",
        "UID:u16@havneby.example",
        "DTSTAMP:20260901T080000Z",
        "DTSTART;TZID=Europe/Copenhagen:20261013T173000",
        "DTEND;TZID=Europe/Copenhagen:20261013T190000",
        rule,
        excepted,
        "SUMMARY:U16 practice",
        "END:VEVENT",
        "BEGIN:VEVENT",
        "UID:u16@havneby.example",
        "DTSTAMP:20260901T080000Z",
        "RECURRENCE-ID;TZID=Europe/Copenhagen:20261027T173000",
        "DTSTART;TZID=Europe/Copenhagen:20261028T180000",
        "DTEND;TZID=Europe/Copenhagen:20261028T193000",
        "SUMMARY:U16 practice",
        "END:VEVENT",
        "END:VCALENDAR",
        "",
    ];
    lines.join("\r\n")
}

const RULE: &str = "RRULE:FREQ=WEEKLY;BYDAY=TU,TH;UNTIL=20261105T235959Z";
const CALLED_OFF: &str = "EXDATE;TZID=Europe/Copenhagen:20261022T173000";

on_both_databases! {
    async fn s20_a_recurring_practice_keeps_its_instances(database: Database) {
        let (_server, club, squad) = club_with_squad(database, NOW, "U16").await;
        let athlete = squad.athlete("R-101").await;
        let app = club.as_role("integration");
        let path = format!("calendars/{ID}");
        let sent = app.put(&path, Value::Null).body("text/calendar", calendar(RULE, CALLED_OFF)).await.expect(201);
        assert_eq!(sent["reading"]["unmapped"], 7, "nothing is guessed");
        let rule = json!({ "text_contains": "u16 PRACTICE", "setting": "club", "kind": "practice", "squads": [squad.id()] });
        let mapped = app.patch(&path, json!({ "rules": [rule] })).if_match(sent.etag()).await.expect(200);
        assert_eq!((&mapped["reading"]["created"], &mapped["reading"]["unmapped"]), (&json!(7), &json!(0)));

        let first = events(&app).await;
        let starts: Vec<_> = first.iter().map(|event| (instant(event), event["status"].as_str().expect("a status"))).collect();
        assert_eq!(starts, [
            ("2026-10-13T15:30:00Z".to_owned(), "planned"), ("2026-10-15T15:30:00Z".to_owned(), "planned"),
            ("2026-10-20T15:30:00Z".to_owned(), "planned"), ("2026-10-28T17:00:00Z".to_owned(), "moved"),
            ("2026-10-29T16:30:00Z".to_owned(), "planned"), ("2026-11-03T16:30:00Z".to_owned(), "planned"),
            ("2026-11-05T16:30:00Z".to_owned(), "planned"),
        ]);
        let minutes: u64 = first.iter().map(|event| event["minutes"].as_u64().expect("minutes")).sum();
        assert_eq!(minutes, 630);
        assert_eq!(first[3]["recurrence_id"], "2026-10-27T16:30:00Z");
        let day = athlete.day_figures("2026-10-12").await;
        assert_eq!(day["state"], "assumed_rest");

        // From now on Tuesdays only, and 3 November is called off.
        let rule = "RRULE:FREQ=WEEKLY;BYDAY=TU;UNTIL=20261105T235959Z";
        let called_off = "EXDATE;TZID=Europe/Copenhagen:20261103T173000";
        let changed = app.put(&path, Value::Null).body("text/calendar", calendar(rule, called_off));
        let changed = changed.if_match(mapped.etag()).await.expect(200);
        let reading = &changed["reading"];
        assert_eq!((&reading["created"], &reading["changed"], &reading["unchanged"], &reading["cancelled"]),
            (&json!(0), &json!(0), &json!(3), &json!(4)));
        let second = events(&app).await;
        let id = |event: &Value| event["event_id"].clone();
        assert!(first.iter().map(id).eq(second.iter().map(id)), "every instance keeps its id");
        let status: Vec<_> = each_status(&second);
        assert_eq!(status, ["planned", "cancelled", "planned", "moved", "cancelled", "cancelled", "cancelled"]);
    }

    async fn s20_a_report_on_a_later_cancelled_instance_is_kept_and_listed(database: Database) {
        let (_server, club, squad) = club_with_squad(database, "2026-11-03T20:00:00+01:00", "U16").await;
        let athlete = squad.athlete("R-101").await;
        let app = club.as_role("integration");
        let path = format!("calendars/{ID}");
        let rule = json!({ "text_contains": "practice", "setting": "club", "kind": "practice", "squads": [squad.id()] });
        let sent = app.put(&path, Value::Null).body("text/calendar", calendar(RULE, CALLED_OFF)).await.expect(201);
        let mapped = app.patch(&path, json!({ "rules": [rule] })).if_match(sent.etag()).await.expect(200);
        athlete.session("2026-11-03T17:30:00+01:00", 90, 6.0).await;
        assert_eq!(athlete.day_figures("2026-11-03").await["state"], "reported");
        assert_eq!(athlete.day_figures("2026-10-29").await["state"], "unlogged", "expected by the calendar");

        // The calendar says afterwards that the practice of today was called off.
        let cancelled = calendar(RULE, CALLED_OFF).replace("END:VCALENDAR\r\n", "BEGIN:VEVENT\r\nUID:u16@havneby.example\r\n\
            DTSTAMP:20261103T160000Z\r\nRECURRENCE-ID;TZID=Europe/Copenhagen:20261103T173000\r\n\
            DTSTART;TZID=Europe/Copenhagen:20261103T173000\r\nDURATION:PT90M\r\nSTATUS:CANCELLED\r\nSUMMARY:U16 practice\r\n\
            END:VEVENT\r\nEND:VCALENDAR\r\n");
        let again = app.put(&path, Value::Null).body("text/calendar", cancelled).if_match(mapped.etag()).await.expect(200);
        assert_eq!((&again["reading"]["changed"], &again["reading"]["unchanged"]), (&json!(1), &json!(6)));
        let day = athlete.day_figures("2026-11-03").await;
        assert_eq!((&day["state"], &day["load_au"]), (&json!("reported"), &json!(540.0)), "the report is kept");
        let listed = app.get("contradictions").query("from", "2026-11-01").query("to", "2026-11-03").await.expect(200);
        assert!(listed.text().contains("cancelled"), "{}", listed.text());
    }
}

async fn events(app: &Client) -> Vec<Value> {
    let listed = app
        .get("events")
        .query("from", "2026-10-01")
        .query("to", "2026-11-30");
    let listed = listed.await.expect(200);
    listed["items"].as_array().expect("events").clone()
}

/// The start in UTC.
fn instant(event: &Value) -> String {
    let start: jiff::Timestamp = event["starts_at"]
        .as_str()
        .expect("a start")
        .parse()
        .expect("an instant");
    start.to_string()
}

fn each_status(events: &[Value]) -> Vec<&str> {
    events
        .iter()
        .map(|event| event["status"].as_str().expect("a status"))
        .collect()
}
