//! The memory that texts take, whatever they are made of: each as long as it may be, one after the other and beside each other.

use crate::*;

/// Most megabytes that the program may take.
const MOST: f64 = 256.0;
/// Longest text, less what stands around what is repeated.
const LONGEST: usize = 10 * 1024 * 1024 - 2_000;

/// So much of this as a text may hold.
fn filled(part: &str) -> String {
    part.repeat(LONGEST / part.len())
}

fn one_event(held: &str) -> String {
    let time = "DTSTART:20261110T173000Z\r\nDURATION:PT90M\r\n";
    calendar(&[event("a", &format!("{time}{held}"))])
}

/// Events until the text is full, at most so many.
fn events(most: usize, one: impl Fn(usize) -> String) -> String {
    let mut held = String::new();
    for number in 0..most {
        let next = one(number);
        if held.len() + next.len() > LONGEST {
            break;
        }
        held += &next;
    }
    calendar(&[held])
}

/// Texts that come to more than may be read of one.
fn beyond() -> Vec<(&'static str, String)> {
    let zone = |parts: &str| format!("BEGIN:VTIMEZONE\r\nTZID:Hall\r\n{parts}END:VTIMEZONE\r\n");
    let part = "BEGIN:STANDARD\r\nDTSTART:20200101T030000\r\nTZOFFSETTO:+0100\r\nEND:STANDARD\r\n";
    let dates = "20261110T173000Z,".repeat(9_000);
    vec![
        (
            "components",
            calendar(&[filled("BEGIN:VTODO\r\nEND:VTODO\r\n")]),
        ),
        (
            "components, folded",
            calendar(&[filled("beg\r\n in:vtodo\r\nE\r\n\tND:vtodo\r\n")]),
        ),
        (
            "events",
            calendar(&[filled("BEGIN:VEVENT\r\nEND:VEVENT\r\n")]),
        ),
        ("nested", calendar(&[filled("BEGIN:VEVENT\r\n")])),
        ("properties", one_event(&filled("UID:\r\n"))),
        (
            "lists of dates",
            one_event(&filled("EXDATE:20261110T173000Z\r\n")),
        ),
        (
            "properties of the calendar",
            calendar(&[filled("UID:\r\n")]),
        ),
        ("parts of a zone", calendar(&[zone(&filled(part))])),
        (
            "properties of a zone",
            calendar(&[zone(&filled("TZID:\r\n"))]),
        ),
        (
            "dates added",
            events(60, |number| {
                event(
                    &format!("{number}"),
                    &format!("DTSTART:20261110T173000Z\r\nDURATION:PT90M\r\nRDATE:{dates}\r\n"),
                )
            }),
        ),
        (
            "dates taken out",
            events(60, |number| {
                event(
                    &format!("{number}"),
                    &format!("DTSTART:20261110T173000Z\r\nDURATION:PT90M\r\nEXDATE:{dates}\r\n"),
                )
            }),
        ),
        (
            "rules",
            events(50_000, |number| {
                event(
                    &format!("{number}"),
                    "DTSTART:20261110T173000Z\r\nDURATION:PT90M\r\nRRULE:FREQ=DAILY;COUNT=10000\r\n",
                )
            }),
        ),
    ]
}

/// Texts of which everything or much is read.
fn within() -> Vec<(&'static str, String)> {
    let long_list = "x,".repeat(250_000);
    let small = |time: &str| {
        let time = time.to_owned();
        move |number: usize| format!("BEGIN:VEVENT\r\nUID:{number}\r\n{time}END:VEVENT\r\n")
    };
    vec![
        (
            "a long line",
            one_event(&format!("ATTACH:{}\r\n", filled("x"))),
        ),
        (
            "a long line, folded",
            one_event(&format!("ATTACH:{}\r\n", filled("x\r\n  y"))),
        ),
        (
            "a long line that is read",
            one_event(&format!("DESCRIPTION:{}\r\n", filled("x\r\n  y"))),
        ),
        ("a long UID", one_event(&format!("UID:{}\r\n", filled("x")))),
        (
            "parameters",
            one_event(&format!("CATEGORIES{}:x\r\n", ";a".repeat(90)).repeat(2_000)),
        ),
        (
            "parameters beyond",
            one_event(&filled(&format!(
                "CATEGORIES{}:x\r\n",
                ";a".repeat(250_000)
            ))),
        ),
        (
            "lists",
            one_event(&filled(&format!("CATEGORIES:{long_list}\r\n"))),
        ),
        (
            "lines that say nothing",
            one_event(&filled("ATTENDEE:mailto:a@club.example\r\n")),
        ),
        (
            "descriptions",
            events(49_000, |number| {
                let said = format!(
                    "DTSTART:20261110T173000Z\r\nDURATION:PT90M\r\nDESCRIPTION:{}\r\n",
                    "x".repeat(4_000)
                );
                event(&format!("{number}"), &said)
            }),
        ),
        (
            "events that cannot be read",
            events(49_000, small(&"UID:\r\n".repeat(3))),
        ),
        (
            "events of other years",
            events(
                49_000,
                small(
                    "DTSTART:20200101T173000Z\r\nDURATION:PT9M\r\nSUMMARY:Practice of the girls under sixteen\r\n",
                ),
            ),
        ),
        (
            "rules of other years",
            events(
                49_000,
                small(
                    "DTSTART:20200101T173000Z\r\nDURATION:PT9M\r\nRRULE:FREQ=DAILY;COUNT=1;BYSECOND=0,1,2,3,4,5,6,7,8,9\r\n",
                ),
            ),
        ),
        (
            "zones",
            calendar(&[(0..24_000)
                .map(|number| {
                    format!(
                        "BEGIN:VTIMEZONE\r\nTZID:{number}\r\nBEGIN:STANDARD\r\n\
            DTSTART:20200101T030000\r\nTZOFFSETTO:+0100\r\nEND:STANDARD\r\nEND:VTIMEZONE\r\n"
                    )
                })
                .collect()]),
        ),
        (
            "events that no rule names",
            events(19_000, |number| {
                event(
                    &format!("{number}-{}", "x".repeat(300)),
                    "DTSTART:20261110T173000Z\r\nDURATION:PT9M\r\n",
                )
                .replace("U16", &format!("{number}"))
            }),
        ),
    ]
}

/// Sends each text as a trial, and says what the program has taken by then.
async fn try_all(
    server: &Server,
    app: &Client,
    texts: Vec<(&'static str, String)>,
    expected: impl Fn(&str) -> &'static str,
) {
    for (what, text) in texts {
        let bytes = text.len();
        let begun = std::time::Instant::now();
        let answer = put(app, &format!("calendars/{FREE_ID}"), text)
            .dry_run()
            .await;
        println!(
            "{what}: {bytes} bytes, {:?}, {} at most {:.0} MB",
            begun.elapsed(),
            answer.status,
            server.peak_memory()
        );
        let code = answer.body["code"].as_str().unwrap_or("none");
        assert_eq!(code, expected(what), "{what}: {}", answer.text());
        assert!(
            server.peak_memory() < MOST,
            "{what}: {} MB",
            server.peak_memory()
        );
    }
}

// How a text is read is the same whatever the database, so these are read on one.

#[tokio::test]
async fn texts_that_come_to_too_much_do_not_fill_the_memory() {
    let (server, club, _squad) = world(Database::Sqlite).await;
    let app = club.as_role("integration");
    let refused = |what: &str| match what {
        "nested" => "not_a_calendar",
        _ => "calendar_too_long",
    };
    try_all(&server, &app, beyond(), refused).await;
}

#[tokio::test]
async fn the_longest_texts_that_are_read_do_not_fill_the_memory() {
    let (server, club, _squad) = world(Database::Sqlite).await;
    let app = club.as_role("integration");
    try_all(&server, &app, within(), |_| "none").await;
}

#[tokio::test]
async fn long_texts_beside_each_other_do_not_fill_the_memory() {
    let (server, club, _squad) = world(Database::Postgres).await;
    let app = club.as_role("integration");
    let texts = [beyond(), within()].concat();
    let path = format!("calendars/{FREE_ID}");
    let sent = texts
        .into_iter()
        .map(|(_, text)| tokio::spawn(put(&app, &path, text).dry_run().into_future()));
    for answer in sent.collect::<Vec<_>>() {
        let answer = answer.await.expect("an answer");
        assert!(
            [201, 422, 503].contains(&answer.status),
            "{}",
            answer.text()
        );
    }
    println!("beside each other: at most {:.0} MB", server.peak_memory());
    assert!(server.peak_memory() < MOST, "{} MB", server.peak_memory());
}

#[tokio::test]
async fn a_calendar_does_not_gather_more_and_more() {
    let (server, club, squad) = world(Database::Sqlite).await;
    let app = club.as_role("integration");
    // Each text gives other events than the one before, and what is gone is cancelled and stays.
    let text = |generation: usize| {
        let one = |number: usize| {
            event(
                &format!("{generation}-{number:0>490}"),
                &format!(
                    "DTSTART;TZID=Europe/Copenhagen:20261110T{number:02}0000\r\n\
                DURATION:PT90M\r\nRRULE:FREQ=DAILY;COUNT=365\r\n"
                ),
            )
        };
        calendar(&(0..20).map(one).collect::<Vec<_>>())
    };
    let mut read = sent(&app, &squad, text(0)).await;
    let path = format!("calendars/{}", read.string("calendar_id"));
    let next = |generation, etag: &str| {
        put(&app, &path, text(generation))
            .query("confirm_large_removal", "true")
            .if_match(etag)
    };
    for generation in 1..4 {
        read = next(generation, read.etag()).await.expect(200);
        println!(
            "{} sessions, {} cancelled: at most {:.0} MB",
            read["reading"]["created"],
            read["reading"]["cancelled"],
            server.peak_memory()
        );
    }
    let refused = next(4, read.etag())
        .await
        .expect_problem(422, "calendar_too_long");
    assert!(
        refused.string("detail").contains("36500"),
        "{}",
        refused.text()
    );
    assert!(server.peak_memory() < MOST, "{} MB", server.peak_memory());
}

on_both_databases! {
    async fn as_many_sessions_as_may_be_do_not_fill_the_memory(database: Database) {
        let (server, club, squad) = world(database).await;
        let app = club.as_role("integration");
        // Twenty a day, each day of the two years that are read, whose UIDs are as long as they may be.
        let text = |minute: u32| {
            let one = |number: usize| {
                let uid = format!("{number:0>500}");
                event(&uid, &format!("DTSTART;TZID=Europe/Copenhagen:20251120T{:02}{minute:02}00\r\nDURATION:PT90M\r\n\
                    RRULE:FREQ=DAILY;COUNT=700\r\n", number % 24))
            };
            calendar(&(0..28).map(one).collect::<Vec<_>>())
        };
        let first = sent(&app, &squad, text(0)).await;
        assert_eq!(first["reading"]["created"], 19_600);
        println!("19,600 sessions: at most {:.0} MB", server.peak_memory());
        let path = format!("calendars/{}", first.string("calendar_id"));
        let moved = put(&app, &path, text(30)).if_match(first.etag()).await.expect(200);
        assert_eq!(moved["reading"]["changed"], 19_600);
        println!("19,600 sessions moved: at most {:.0} MB", server.peak_memory());
        app.get(format!("{path}/unmapped")).await.expect(200);
        assert!(server.peak_memory() < MOST, "{} MB", server.peak_memory());
    }

    async fn the_calendar_of_a_whole_club_is_read(database: Database) {
        let (server, club, squad) = world(database).await;
        let app = club.as_role("integration");
        // Forty squads, fifty practices each: two thousand events.
        let one = |number: usize| {
            let (month, day, hour) = (number % 12 + 1, number % 28 + 1, 8 + number % 12);
            event(&format!("{number}@hall.example"), &format!("DTSTART;TZID=Europe/Copenhagen:2026{month:02}{day:02}T{hour:02}0000\r\n\
                DURATION:PT90M\r\nLOCATION:Court {}\r\nDESCRIPTION:{}\r\n", number % 3, "Bring water. ".repeat(40)))
        };
        let read = sent(&app, &squad, calendar(&(0..2_000).map(one).collect::<Vec<_>>())).await;
        assert_eq!(read["reading"]["created"], 2_000);
        println!("2,000 events: at most {:.0} MB", server.peak_memory());
        assert!(server.peak_memory() < MOST, "{} MB", server.peak_memory());
    }
}
