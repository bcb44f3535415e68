use super::*;
use crate::calendar::component::Components;
use jiff::tz::TimeZone;

fn read(lines: &str) -> Result<Event, Code> {
    let text = format!("BEGIN:VCALENDAR\nBEGIN:VEVENT\n{lines}\nEND:VEVENT\nEND:VCALENDAR");
    let bounds = Bounds::default();
    let mut components = Components::named("VEVENT", text.as_bytes(), &bounds).unwrap();
    let component = components.next().unwrap().unwrap();
    let home = TimeZone::get("Europe/Copenhagen").unwrap();
    let zones = Zones::new(&home);
    let head = Head::read(&component, &zones, &bounds);
    let event = head.and_then(|head| Event::read(head, &component, &zones, &bounds));
    event.map_err(|fault| fault.code)
}

fn with(lines: &str) -> Result<Event, Code> {
    read(&format!("UID:1\n{lines}"))
}

fn minutes(lines: &str) -> i64 {
    let event = with(lines).unwrap();
    event.length.minutes(&event.start).unwrap()
}

#[test]
fn an_end_gives_exact_minutes_and_a_duration_in_days_those_of_the_calendar() {
    // On 25 October 2026 the clocks of Copenhagen go back an hour at 3:00.
    let evening = "DTSTART;TZID=Europe/Copenhagen:20261024T180000";
    for (length, expected) in [
        ("DTEND;TZID=Europe/Copenhagen:20261025T180000", 25 * 60),
        ("DURATION:P1D", 25 * 60),
        ("DURATION:PT24H", 24 * 60),
        ("DURATION:P1DT30M", 25 * 60 + 30),
        ("DURATION:P1W", 7 * 24 * 60 + 60),
        ("DTEND:20261024T173000Z", 90),
        ("DURATION:PT90M29S", 90),
        ("DURATION:PT90M30S", 91),
    ] {
        assert_eq!(
            minutes(&format!("{evening}\n{length}")),
            expected,
            "{length}"
        );
    }
}

/// RFC 5545, 3.6.1: a date alone takes that day.
#[test]
fn dates_take_whole_days() {
    assert_eq!(minutes("DTSTART;VALUE=DATE:20261025"), 25 * 60);
    assert_eq!(
        minutes("DTSTART:20261025\nDTEND;VALUE=DATE:20261027"),
        49 * 60
    );
}

#[test]
fn each_fault_has_its_code() {
    let start = "DTSTART;TZID=Europe/Copenhagen:20261013T173000\n";
    for (lines, code) in [
        ("", Code::MissingStart),
        ("DTSTART:20261313T173000", Code::InvalidDate),
        ("DTSTART:18991231T173000", Code::InvalidDate),
        ("DTSTART;TZID=Hall time:20261013T173000", Code::UnknownZone),
        (
            "DTSTART:20261013T173000\nDTSTART:20261013T173000",
            Code::RepeatedProperty,
        ),
    ] {
        assert_eq!(with(lines), Err(code), "{lines}");
    }
    for (lines, code) in [
        ("", Code::ZeroDuration),
        ("DURATION:PT0S", Code::ZeroDuration),
        ("DTEND:20261013T153000Z", Code::ZeroDuration),
        ("DURATION:-PT90M", Code::NegativeDuration),
        ("DTEND:20261013T140000Z", Code::NegativeDuration),
        ("DTEND;VALUE=DATE:20261014", Code::ValueTypeDiffers),
        (
            "DTEND:20261013T163000Z\nDURATION:PT1H",
            Code::EndAndDuration,
        ),
        ("DURATION:P15D", Code::DurationTooLong),
        ("DURATION:P99999999999999999999D", Code::InvalidDuration),
        ("DURATION:P1Y", Code::InvalidDuration),
        (
            "DURATION:P1D\nRDATE;VALUE=DATE:20261014",
            Code::ValueTypeDiffers,
        ),
        ("DURATION:P1D\nEXRULE:FREQ=DAILY", Code::UnsupportedRule),
        (
            "DURATION:P1D\nRRULE:FREQ=DAILY\nRRULE:FREQ=WEEKLY",
            Code::UnsupportedRule,
        ),
        ("DURATION:P1D\nSEQUENCE:-1", Code::InvalidSequence),
        (
            "DURATION:P1D\nRECURRENCE-ID;RANGE=THISANDPRIOR:20261013T153000Z",
            Code::UnsupportedRange,
        ),
        (
            "DURATION:P1D\nRECURRENCE-ID:20261013T153000Z\nRRULE:FREQ=DAILY",
            Code::RuleInOverride,
        ),
        ("DURATION:P1D\nSUMMARY", Code::MalformedLine),
    ] {
        assert_eq!(with(&format!("{start}{lines}")), Err(code), "{lines}");
    }
    assert_eq!(
        read("DTSTART:20261013T173000Z\nDURATION:PT1H"),
        Err(Code::MissingUid)
    );
    assert_eq!(
        read("UID:\nDTSTART:20261013T173000Z"),
        Err(Code::MissingUid)
    );
}

#[test]
fn more_dates_than_the_bound_are_refused() {
    let dates = vec!["20261014T173000"; 10_001].join(",");
    for name in ["RDATE", "EXDATE"] {
        let lines = format!("DTSTART:20261013T173000\nDURATION:PT1H\n{name}:{dates}");
        assert_eq!(with(&lines), Err(Code::RecurrenceTooLong), "{name}");
    }
}

#[test]
fn an_added_period_has_its_own_length() {
    let event = with(
        "DTSTART:20261013T173000\nDURATION:PT90M\n\
         RDATE;VALUE=PERIOD:20261014T173000/PT1H,20261015T173000/20261015T193000",
    );
    let event = event.unwrap();
    let minutes = |added: &Added| added.length.unwrap().minutes(&added.start).unwrap();
    assert_eq!(
        event.added.iter().map(minutes).collect::<Vec<_>>(),
        [60, 120]
    );
}

#[test]
fn what_is_said_about_it_is_kept_up_to_the_bounds() {
    let long = "x".repeat(5_000);
    let event = with(&format!(
        "DTSTART:20261013T173000\nDURATION:PT90M\nSUMMARY:  Practice\\, girls \n\
         DESCRIPTION:{long}\nLOCATION:\nCATEGORIES:Hall\\, court 2,Practice\nCATEGORIES:,Girls"
    ));
    let text = event.unwrap().text;
    assert_eq!(text.summary.as_deref(), Some("Practice, girls"));
    assert_eq!(text.description.as_ref().map(String::len), Some(4_000));
    assert_eq!(text.location, None);
    assert_eq!(text.categories, ["Hall, court 2", "Practice", "Girls"]);
}
