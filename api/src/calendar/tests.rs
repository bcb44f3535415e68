mod hostile;
mod random;
mod rows;

use jiff::civil::date;

use super::*;

const HEADER: &str = "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//Club//Plan//EN\r\n";

fn copenhagen() -> TimeZone {
    TimeZone::get("Europe/Copenhagen").unwrap()
}

/// A calendar of events, each as its lines.
fn calendar(events: &[&str]) -> String {
    let event = |lines: &&str| format!("BEGIN:VEVENT\n{lines}\nEND:VEVENT\n");
    let events: String = events.iter().map(event).collect();
    format!("{HEADER}{events}END:VCALENDAR\n")
}

fn autumn(text: &str) -> Calendar {
    let window = (date(2026, 10, 1), date(2026, 11, 30));
    expand(text.as_bytes(), window, &copenhagen(), &Bounds::default()).unwrap()
}

fn refused(text: &str) -> Code {
    let window = (date(2026, 10, 1), date(2026, 11, 30));
    let refused = expand(text.as_bytes(), window, &copenhagen(), &Bounds::default());
    refused.unwrap_err().code
}

fn shown(instances: &[Instance]) -> Vec<String> {
    let one = |one: &Instance| format!("{} {} {}", one.start.at, one.minutes, one.status.code());
    instances.iter().map(one).collect()
}

fn codes(read: &Calendar) -> Vec<(usize, Code)> {
    let problems = read.problems.iter();
    problems.map(|one| (one.component, one.code)).collect()
}

const PRACTICE: &str = "UID:practice@club.example\nDTSTART;TZID=Europe/Copenhagen:20261013T173000\n\
                        DTEND;TZID=Europe/Copenhagen:20261013T190000\nSUMMARY:Practice";
const RULE: &str = "RRULE:FREQ=WEEKLY;BYDAY=TU,TH;UNTIL=20261105T163000Z";
const MOVED: &str = "UID:practice@club.example\nSEQUENCE:1\n\
                     RECURRENCE-ID;TZID=Europe/Copenhagen:20261027T173000\n\
                     DTSTART;TZID=Europe/Copenhagen:20261028T180000\nDURATION:PT1H30M";
const CANCELLED: &str = "UID:practice@club.example\nSEQUENCE:1\nSTATUS:CANCELLED\n\
                         RECURRENCE-ID;TZID=Europe/Copenhagen:20261022T173000\n\
                         DTSTART;TZID=Europe/Copenhagen:20261022T173000\nDURATION:PT1H30M";

/// S20b. Eight dates by the rule; one is cancelled and one moved: seven instances, 630 minutes.
#[test]
fn s20b_a_practice_over_the_clock_change_with_one_cancelled_and_one_moved() {
    let read = autumn(&calendar(&[
        &format!("{PRACTICE}\n{RULE}"),
        CANCELLED,
        MOVED,
    ]));
    assert_eq!(read.problems, []);
    assert_eq!(
        shown(&read.instances),
        [
            "2026-10-13T15:30:00Z 90 planned",
            "2026-10-15T15:30:00Z 90 planned",
            "2026-10-20T15:30:00Z 90 planned",
            "2026-10-22T15:30:00Z 90 cancelled",
            "2026-10-28T17:00:00Z 90 moved",
            "2026-10-29T16:30:00Z 90 planned",
            "2026-11-03T16:30:00Z 90 planned",
            "2026-11-05T16:30:00Z 90 planned",
        ]
    );
    let held = read
        .instances
        .iter()
        .filter(|one| one.status != Status::Cancelled);
    let minutes: Vec<u32> = held.map(|one| one.minutes).collect();
    assert_eq!((minutes.len(), minutes.iter().sum()), (7, 630));
}

/// S20b, the date taken out with EXDATE instead.
#[test]
fn s20b_a_date_taken_out_is_no_instance() {
    let gone = "EXDATE;TZID=Europe/Copenhagen:20261022T173000";
    let read = autumn(&calendar(&[&format!("{PRACTICE}\n{RULE}\n{gone}"), MOVED]));
    assert_eq!(read.instances.len(), 7);
    let minutes: u32 = read.instances.iter().map(|one| one.minutes).sum();
    assert_eq!(minutes, 630);
}

#[test]
fn an_instance_is_named_by_its_original_start_whatever_the_rule_becomes() {
    let at = |text: &str| RecurrenceId::At(text.parse().unwrap());
    let read = autumn(&calendar(&[&format!("{PRACTICE}\n{RULE}"), MOVED]));
    let moved = &read.instances[4];
    assert_eq!(moved.recurrence_id, Some(at("2026-10-27T16:30:00Z")));
    assert_eq!(
        (moved.sequence, moved.start.date()),
        (1, date(2026, 10, 28))
    );
    let longer = RULE
        .replace("TU,TH", "TU,TH,FR")
        .replace("20261105", "20261231");
    let later = autumn(&calendar(&[&format!("{PRACTICE}\n{longer}"), MOVED]));
    let names = |read: &Calendar| -> Vec<_> {
        read.instances
            .iter()
            .filter_map(|one| one.recurrence_id)
            .collect()
    };
    assert!(names(&read).iter().all(|name| names(&later).contains(name)));
}

#[test]
fn a_single_event_has_no_recurrence_id() {
    let read = autumn(&calendar(&[PRACTICE]));
    assert_eq!(shown(&read.instances), ["2026-10-13T15:30:00Z 90 planned"]);
    assert_eq!(read.instances[0].recurrence_id, None);
    assert_eq!(
        read.instances[0].start.zone_name(),
        Some("Europe/Copenhagen")
    );
    assert_eq!(read.instances[0].text.summary.as_deref(), Some("Practice"));
}

/// RFC 5545, 3.3.5: with two such times the first, with none the offset from before.
#[test]
fn local_times_that_happen_twice_or_not_at_all() {
    let night = "UID:1\nDTSTART;TZID=Europe/Copenhagen:20261024T023000\nDURATION:PT1H\n\
                 RRULE:FREQ=DAILY;COUNT=3";
    let starts = shown(&autumn(&calendar(&[night])).instances);
    assert_eq!(starts[1], "2026-10-25T00:30:00Z 60 planned");
    let spring = calendar(&[&night.replace("20261024", "20270327")]);
    let window = (date(2027, 3, 1), date(2027, 3, 31));
    let read = expand(spring.as_bytes(), window, &copenhagen(), &Bounds::default()).unwrap();
    assert_eq!(
        read.instances[1].start.local(),
        date(2027, 3, 28).at(3, 30, 0, 0)
    );
    let shown = shown(&read.instances);
    assert_eq!(shown[1], "2027-03-28T01:30:00Z 60 planned");
    assert_eq!(shown[2], "2027-03-29T00:30:00Z 60 planned");
}

#[test]
fn what_comes_without_a_zone_is_read_at_home() {
    let read = autumn(&calendar(&[
        "UID:1\nDTSTART:20261013T173000\nDURATION:PT90M",
        "UID:2\nDTSTART:20261013T223000Z\nDURATION:PT90M",
        "UID:3\nDTSTART;VALUE=DATE:20261025",
    ]));
    let said: Vec<_> = read.instances.iter().map(|one| one.start.said).collect();
    assert_eq!(said, [Said::Floating, Said::Utc, Said::Date]);
    let dates: Vec<_> = read
        .instances
        .iter()
        .map(|one| one.start.date().day())
        .collect();
    assert_eq!(dates, [13, 14, 25]);
    assert!(
        read.instances
            .iter()
            .all(|one| one.start.zone_name().is_none())
    );
    let day = &read.instances[2];
    assert!(day.is_all_day());
    assert_eq!(
        shown(std::slice::from_ref(day)),
        ["2026-10-24T22:00:00Z 1500 planned"]
    );
}

/// RFC 5545, 3.8.4.4.
#[test]
fn a_change_from_an_instance_on_moves_every_later_one() {
    let later = MOVED.replace("RECURRENCE-ID", "RECURRENCE-ID;RANGE=THISANDFUTURE");
    let read = autumn(&calendar(&[&format!("{PRACTICE}\n{RULE}"), &later]));
    let starts: Vec<String> = shown(&read.instances).split_off(4);
    assert_eq!(
        starts,
        [
            "2026-10-28T17:00:00Z 90 moved",
            "2026-10-30T17:00:00Z 90 moved",
            "2026-11-04T17:00:00Z 90 moved",
            "2026-11-06T17:00:00Z 90 moved",
        ]
    );
}

/// RFC 5545, 3.8.5.3, every Friday the 13th: DTSTART is no such day, and is taken out with EXDATE.
#[test]
fn a_start_that_the_rule_does_not_give_is_the_first_instance_unless_taken_out() {
    let start = "UID:1\nDTSTART;TZID=America/New_York:19970902T090000\nDURATION:PT1H\n\
                 RRULE:FREQ=MONTHLY;BYDAY=FR;BYMONTHDAY=13";
    let gone = format!("{start}\nEXDATE;TZID=America/New_York:19970902T090000");
    let window = (date(1997, 1, 1), date(2000, 12, 31));
    let read = |lines: &str| {
        let text = calendar(&[lines]);
        let read = expand(text.as_bytes(), window, &copenhagen(), &Bounds::default());
        let instances = read.unwrap().instances;
        let dates = instances.iter().map(|one| one.start.date().to_string());
        dates.collect::<Vec<_>>()
    };
    let published = [
        "1998-02-13",
        "1998-03-13",
        "1998-11-13",
        "1999-08-13",
        "2000-10-13",
    ];
    assert_eq!(read(&gone), published);
    assert_eq!(read(start)[0], "1997-09-02");
    assert_eq!(read(start)[1..], published);
}
