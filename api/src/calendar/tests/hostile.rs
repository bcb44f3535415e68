//! Texts that are none, and texts made to take long.

use std::time::{Duration, Instant};

use super::*;

#[test]
fn what_a_calendar_says_about_itself_is_checked() {
    for (line, code) in [
        ("VERSION:1.0", Code::UnsupportedVersion),
        ("CALSCALE:JULIAN", Code::UnsupportedScale),
        ("METHOD:REPLY", Code::UnsupportedMethod),
    ] {
        assert_eq!(refused(&calendar(&[]).replace("VERSION:2.0", line)), code);
    }
    let text = calendar(&[]);
    let reversed = (date(2026, 10, 2), date(2026, 10, 1));
    let outcome = expand(text.as_bytes(), reversed, &copenhagen(), &Bounds::default());
    assert_eq!(outcome.unwrap_err().code, Code::InvalidWindow);
}

/// The end of a text cut short is never taken for the end of the calendar.
#[test]
fn a_text_cut_short_anywhere_is_refused() {
    let text = calendar(&[&format!("{PRACTICE}\n{RULE}"), MOVED]);
    let window = (date(2026, 10, 1), date(2026, 11, 30));
    for end in 0..text.trim_end().len() {
        let cut = &text.as_bytes()[..end];
        assert!(
            expand(cut, window, &copenhagen(), &Bounds::default()).is_err(),
            "{end}"
        );
    }
}

#[test]
fn rules_that_never_end_or_never_match_are_refused_in_time() {
    let window = (date(2026, 10, 1), date(2026, 11, 30));
    for (rule, code) in [
        ("FREQ=SECONDLY", Code::UnsupportedRule),
        ("FREQ=DAILY;COUNT=4294967295", Code::RecurrenceTooLong),
        (
            "FREQ=DAILY;BYMONTH=2;BYMONTHDAY=30",
            Code::RecurrenceUnbounded,
        ),
        ("FREQ=WEEKLY;BYDAY=MO;BYSETPOS=9", Code::RecurrenceUnbounded),
        (
            "FREQ=MONTHLY;BYDAY=1MO;BYMONTHDAY=30",
            Code::RecurrenceUnbounded,
        ),
        (
            "FREQ=YEARLY;BYWEEKNO=1;BYMONTH=6",
            Code::RecurrenceUnbounded,
        ),
        (
            "FREQ=YEARLY;BYYEARDAY=366;BYMONTH=1",
            Code::RecurrenceUnbounded,
        ),
    ] {
        let begun = Instant::now();
        let text = calendar(&[&format!("{PRACTICE}\nRRULE:{rule}")]);
        let read = expand(text.as_bytes(), window, &copenhagen(), &Bounds::default()).unwrap();
        assert_eq!(codes(&read), [(1, code)], "{rule}");
        assert!(read.instances.is_empty());
        assert!(
            begun.elapsed() < Duration::from_secs(5),
            "{rule} {:?}",
            begun.elapsed()
        );
    }
    let ages = PRACTICE.replace("2026", "1901");
    let read = autumn(&calendar(&[&format!("{ages}\nRRULE:FREQ=DAILY")]));
    assert_eq!(codes(&read), [(1, Code::RecurrenceTooLong)]);
}

#[test]
fn many_rules_are_bounded_together() {
    let event = |uid: usize, rule: &str| {
        format!("UID:{uid}\nDTSTART:20000101T173000\nDURATION:PT1H\nRRULE:FREQ={rule}")
    };
    for rule in ["DAILY", "DAILY;BYMONTH=2;BYMONTHDAY=30"] {
        let events: Vec<String> = (0..5_000).map(|uid| event(uid, rule)).collect();
        let events: Vec<&str> = events.iter().map(String::as_str).collect();
        assert_eq!(
            refused(&calendar(&events)),
            Code::TooManyInstances,
            "{rule}"
        );
    }
}

/// The longest text that is taken, of lines that say nothing here, of small events and of one long line.
#[test]
fn the_longest_text_is_read_in_time() {
    let most = Bounds::default().bytes;
    let lines = "ATTENDEE;CN=\"A. Player\":mailto:player@club.example\r\n";
    let head = format!("{PRACTICE}\n{RULE}\n");
    let attended = head.clone() + &lines.repeat((most - 1_000) / lines.len());
    let described = format!("{head}ATTACH:{}", "x\n y".repeat((most - 1_000) / 4));
    for event in [attended, described] {
        let begun = Instant::now();
        let read = autumn(&calendar(&[&event]));
        assert_eq!(read.instances.len(), 8);
        assert!(
            begun.elapsed() < Duration::from_secs(20),
            "{:?}",
            begun.elapsed()
        );
    }
    let events: Vec<String> = (0..40_000)
        .map(|uid| {
            format!(
                "UID:{uid}\nDTSTART:20200101T173000\nDURATION:PT1H\n{}",
                lines.repeat(3)
            )
        })
        .collect();
    let events: Vec<&str> = events.iter().map(String::as_str).collect();
    let begun = Instant::now();
    assert_eq!(autumn(&calendar(&events)), Calendar::default());
    assert!(
        begun.elapsed() < Duration::from_secs(30),
        "{:?}",
        begun.elapsed()
    );
}
