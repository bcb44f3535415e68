//! Expected instants from the IANA zone database through Python's `zoneinfo` (searched minute by minute
//! for the first instant whose wall time is the wanted one or later), and once more through `dateutil`
//! where the local time exists.

use jiff::civil::date;
use plimsoll_domain::Weekday;

use super::*;

/// Zone, week, closing weekday and hour, instant at which the week is due.
const TABLE: &[(&str, &str, &str, i64, &str)] = &[
    (
        "Europe/Berlin",
        "2026-W11",
        "monday",
        7,
        "2026-03-16T06:00Z",
    ),
    (
        "Europe/Berlin",
        "2026-W12",
        "monday",
        7,
        "2026-03-23T06:00Z",
    ),
    (
        "Europe/Berlin",
        "2026-W13",
        "monday",
        7,
        "2026-03-30T05:00Z",
    ),
    (
        "Europe/Berlin",
        "2026-W12",
        "sunday",
        1,
        "2026-03-29T00:00Z",
    ),
    (
        "Europe/Berlin",
        "2026-W12",
        "sunday",
        2,
        "2026-03-29T01:00Z",
    ), // skipped
    (
        "Europe/Berlin",
        "2026-W12",
        "sunday",
        3,
        "2026-03-29T01:00Z",
    ),
    (
        "Europe/Berlin",
        "2026-W42",
        "monday",
        7,
        "2026-10-19T05:00Z",
    ),
    (
        "Europe/Berlin",
        "2026-W43",
        "monday",
        7,
        "2026-10-26T06:00Z",
    ),
    (
        "Europe/Berlin",
        "2026-W42",
        "sunday",
        1,
        "2026-10-24T23:00Z",
    ),
    (
        "Europe/Berlin",
        "2026-W42",
        "sunday",
        2,
        "2026-10-25T00:00Z",
    ), // comes twice
    (
        "Europe/Berlin",
        "2026-W42",
        "sunday",
        3,
        "2026-10-25T02:00Z",
    ),
    (
        "Europe/Berlin",
        "2026-W44",
        "monday",
        7,
        "2026-11-02T06:00Z",
    ),
    (
        "America/New_York",
        "2026-W09",
        "sunday",
        1,
        "2026-03-08T06:00Z",
    ),
    (
        "America/New_York",
        "2026-W09",
        "sunday",
        2,
        "2026-03-08T07:00Z",
    ), // skipped
    (
        "America/New_York",
        "2026-W09",
        "sunday",
        3,
        "2026-03-08T07:00Z",
    ),
    (
        "America/New_York",
        "2026-W10",
        "monday",
        7,
        "2026-03-09T11:00Z",
    ),
    (
        "America/New_York",
        "2026-W43",
        "sunday",
        0,
        "2026-11-01T04:00Z",
    ),
    (
        "America/New_York",
        "2026-W43",
        "sunday",
        1,
        "2026-11-01T05:00Z",
    ), // comes twice
    (
        "America/New_York",
        "2026-W43",
        "sunday",
        2,
        "2026-11-01T07:00Z",
    ),
    (
        "America/New_York",
        "2026-W44",
        "monday",
        7,
        "2026-11-02T12:00Z",
    ),
    (
        "America/New_York",
        "2026-W43",
        "monday",
        7,
        "2026-10-26T11:00Z",
    ),
    (
        "Australia/Lord_Howe",
        "2026-W13",
        "sunday",
        1,
        "2026-04-04T14:00Z",
    ),
    (
        "Australia/Lord_Howe",
        "2026-W13",
        "sunday",
        2,
        "2026-04-04T15:30Z",
    ),
    (
        "Australia/Lord_Howe",
        "2026-W13",
        "monday",
        7,
        "2026-03-29T20:00Z",
    ),
    (
        "Australia/Lord_Howe",
        "2026-W14",
        "monday",
        7,
        "2026-04-05T20:30Z",
    ),
    (
        "Australia/Lord_Howe",
        "2026-W39",
        "sunday",
        1,
        "2026-10-03T14:30Z",
    ),
    (
        "Australia/Lord_Howe",
        "2026-W39",
        "sunday",
        2,
        "2026-10-03T15:30Z",
    ), // skipped
    (
        "Australia/Lord_Howe",
        "2026-W39",
        "sunday",
        3,
        "2026-10-03T16:00Z",
    ),
    (
        "Australia/Lord_Howe",
        "2026-W40",
        "monday",
        7,
        "2026-10-04T20:00Z",
    ),
    (
        "Australia/Lord_Howe",
        "2026-W39",
        "monday",
        7,
        "2026-09-27T20:30Z",
    ),
    (
        "America/St_Johns",
        "2026-W09",
        "sunday",
        2,
        "2026-03-08T05:30Z",
    ), // skipped
    (
        "America/St_Johns",
        "2026-W10",
        "monday",
        7,
        "2026-03-09T09:30Z",
    ),
    (
        "America/St_Johns",
        "2026-W43",
        "sunday",
        1,
        "2026-11-01T03:30Z",
    ), // comes twice
    (
        "America/St_Johns",
        "2026-W44",
        "monday",
        7,
        "2026-11-02T10:30Z",
    ),
    (
        "America/St_Johns",
        "2026-W43",
        "monday",
        7,
        "2026-10-26T09:30Z",
    ),
    (
        "Africa/Casablanca",
        "2026-W06",
        "sunday",
        2,
        "2026-02-15T01:00Z",
    ), // comes twice
    (
        "Africa/Casablanca",
        "2026-W06",
        "sunday",
        3,
        "2026-02-15T03:00Z",
    ),
    (
        "Africa/Casablanca",
        "2026-W07",
        "monday",
        7,
        "2026-02-16T07:00Z",
    ),
    (
        "Africa/Casablanca",
        "2026-W06",
        "monday",
        7,
        "2026-02-09T06:00Z",
    ),
    (
        "Africa/Casablanca",
        "2026-W11",
        "sunday",
        2,
        "2026-03-22T02:00Z",
    ), // skipped
    (
        "Africa/Casablanca",
        "2026-W12",
        "monday",
        7,
        "2026-03-23T06:00Z",
    ),
    (
        "Pacific/Kiritimati",
        "2026-W45",
        "monday",
        7,
        "2026-11-08T17:00Z",
    ),
    (
        "Pacific/Kiritimati",
        "2026-W45",
        "monday",
        0,
        "2026-11-08T10:00Z",
    ),
    (
        "Pacific/Kiritimati",
        "2026-W45",
        "sunday",
        23,
        "2026-11-15T09:00Z",
    ),
    (
        "Pacific/Pago_Pago",
        "2026-W45",
        "monday",
        7,
        "2026-11-09T18:00Z",
    ),
    (
        "Pacific/Pago_Pago",
        "2026-W45",
        "monday",
        0,
        "2026-11-09T11:00Z",
    ),
    (
        "Pacific/Pago_Pago",
        "2026-W45",
        "sunday",
        23,
        "2026-11-16T10:00Z",
    ),
    ("Pacific/Apia", "2011-W50", "friday", 7, "2011-12-23T17:00Z"),
    (
        "Pacific/Apia",
        "2011-W51",
        "thursday",
        23,
        "2011-12-30T09:00Z",
    ),
    ("Pacific/Apia", "2011-W51", "friday", 0, "2011-12-30T10:00Z"), // skipped
    ("Pacific/Apia", "2011-W51", "friday", 7, "2011-12-30T10:00Z"), // skipped
    (
        "Pacific/Apia",
        "2011-W51",
        "saturday",
        0,
        "2011-12-30T10:00Z",
    ),
    (
        "Pacific/Apia",
        "2011-W51",
        "saturday",
        7,
        "2011-12-30T17:00Z",
    ),
    ("Pacific/Apia", "2011-W51", "monday", 7, "2011-12-26T17:00Z"),
    ("Pacific/Apia", "2011-W52", "monday", 7, "2012-01-01T17:00Z"),
    (
        "Europe/Copenhagen",
        "2026-W52",
        "monday",
        7,
        "2026-12-28T06:00Z",
    ),
    (
        "Europe/Copenhagen",
        "2026-W53",
        "monday",
        7,
        "2027-01-04T06:00Z",
    ),
    (
        "Europe/Copenhagen",
        "2027-W01",
        "monday",
        7,
        "2027-01-11T06:00Z",
    ),
    (
        "Europe/Copenhagen",
        "2028-W08",
        "tuesday",
        7,
        "2028-02-29T06:00Z",
    ),
    (
        "Europe/Copenhagen",
        "2028-W09",
        "wednesday",
        7,
        "2028-03-08T06:00Z",
    ),
    (
        "Europe/Copenhagen",
        "2024-W08",
        "thursday",
        7,
        "2024-02-29T06:00Z",
    ),
    (
        "Europe/Copenhagen",
        "2020-W53",
        "monday",
        7,
        "2021-01-04T06:00Z",
    ),
    (
        "America/Santiago",
        "2026-W35",
        "sunday",
        0,
        "2026-09-06T04:00Z",
    ), // skipped
    (
        "America/Santiago",
        "2026-W35",
        "sunday",
        1,
        "2026-09-06T04:00Z",
    ),
    (
        "America/Santiago",
        "2026-W13",
        "saturday",
        23,
        "2026-04-05T02:00Z",
    ), // comes twice
    (
        "Asia/Kathmandu",
        "2026-W45",
        "monday",
        7,
        "2026-11-09T01:15Z",
    ),
    ("UTC", "2026-W45", "monday", 7, "2026-11-09T07:00Z"),
    ("UTC", "2026-W53", "monday", 0, "2027-01-04T00:00Z"),
    ("Asia/Kolkata", "2026-W45", "monday", 7, "2026-11-09T01:30Z"),
    (
        "America/Havana",
        "2026-W09",
        "sunday",
        0,
        "2026-03-08T05:00Z",
    ), // skipped
    (
        "America/Havana",
        "2026-W43",
        "sunday",
        0,
        "2026-11-01T04:00Z",
    ), // comes twice
];

fn zone(name: &str) -> TimeZone {
    TimeZone::get(name).unwrap()
}

fn week(text: &str) -> IsoWeek {
    text.parse().unwrap()
}

fn at(text: &str) -> Timestamp {
    text.parse().unwrap()
}

fn closing(day: &str, hour: i64) -> ClosingTime {
    ClosingTime::new(Weekday::parse(day).unwrap(), hour).unwrap()
}

#[test]
fn every_row_of_the_table_is_due_at_its_instant() {
    assert!(TABLE.len() >= 60);
    for (name, text, day, hour, expected) in TABLE {
        let (zone, closing) = (zone(name), closing(day, *hour));
        let instant = expected.replace('Z', ":00Z");
        let found = due_at(&zone, closing, week(text));
        assert_eq!(found, Some(at(&instant)), "{name} {text} {day} {hour}");
    }
}

#[test]
fn every_row_is_due_from_its_instant_on_and_not_before() {
    let nothing = BTreeSet::new();
    let second = SignedDuration::from_secs(1);
    for (name, text, day, hour, _) in TABLE {
        let (zone, closing, week) = (zone(name), closing(day, *hour), week(text));
        let instant = due_at(&zone, closing, week).unwrap();
        assert_eq!(due(&zone, closing, week, &nothing, instant - second), []);
        let on_time = Due {
            week,
            at: instant,
            late: false,
        };
        assert_eq!(due(&zone, closing, week, &nothing, instant), [on_time]);
        let closed = BTreeSet::from([week]);
        assert_eq!(due(&zone, closing, week, &closed, instant), []);
    }
}

/// Zone, and the hours that lie between two due instants of a year, in minutes.
#[test]
fn weeks_follow_each_other_by_seven_local_days() {
    let hour = 60;
    for (name, expected) in [
        ("Europe/Berlin", [167 * hour, 168 * hour, 169 * hour]),
        ("America/New_York", [167 * hour, 168 * hour, 169 * hour]),
        ("Africa/Casablanca", [167 * hour, 168 * hour, 169 * hour]),
        (
            "Australia/Lord_Howe",
            [167 * hour + 30, 168 * hour, 168 * hour + 30],
        ),
    ] {
        let zone = zone(name);
        let weeks = week("2026-W01").through(week("2027-W01"));
        let due = weeks.map(|week| due_at(&zone, ClosingTime::default(), week).unwrap());
        let due: Vec<Timestamp> = due.collect();
        assert_eq!(due.len(), 54, "2026 has 53 weeks");
        let between = due.windows(2);
        let between = between.map(|pair| pair[1].duration_since(pair[0]).as_mins());
        assert_eq!(
            between.collect::<BTreeSet<i64>>(),
            expected.into(),
            "{name}"
        );
    }
}

#[test]
fn missed_weeks_come_in_order_and_late() {
    let zone = zone("Europe/Copenhagen");
    let closed = BTreeSet::from([week("2026-W44")]);
    // Down for fifteen days, up again on a Tuesday.
    let now = at("2026-11-24T08:00:00Z");
    let due = due(
        &zone,
        ClosingTime::default(),
        week("2026-W43"),
        &closed,
        now,
    );
    let found: Vec<_> = due
        .iter()
        .map(|due| (due.week.to_string(), due.late))
        .collect();
    let expected = ["2026-W43", "2026-W45", "2026-W46", "2026-W47"];
    assert_eq!(found, expected.map(|week| (week.to_owned(), true)));
}

#[test]
fn a_week_is_late_a_quarter_of_an_hour_after_its_time() {
    let due = at("2026-11-09T06:00:00Z");
    assert!(!is_late(due, at("2026-11-09T05:00:00Z")));
    assert!(!is_late(due, at("2026-11-09T06:14:59Z")));
    assert!(is_late(due, at("2026-11-09T06:15:00Z")));
}

#[test]
fn the_skipped_date_of_apia_closes_its_week_once() {
    let zone = zone("Pacific/Apia");
    assert!(
        zone.to_ambiguous_timestamp(date(2011, 12, 30).at(7, 0, 0, 0))
            .is_ambiguous()
    );
    let friday = closing("friday", 7);
    let after = at("2012-01-07T00:00:00Z");
    let due = due(&zone, friday, week("2011-W50"), &BTreeSet::new(), after);
    let weeks: Vec<String> = due.iter().map(|due| due.week.to_string()).collect();
    assert_eq!(weeks, ["2011-W50", "2011-W51", "2011-W52"]);
}
