use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::date;

use super::*;

/// Zone, week, weekday after it, local time, the instant expected. Computed with Python 3.11's zoneinfo by going through the
/// minutes of UTC to the first at which the zone's clocks show that local time or a later one.
#[rustfmt::skip] // One case a line.
const CASES: [(&str, &str, i32, &str, &str); 75] = [
    ("Europe/Berlin", "2026-W45", 1, "07:00", "2026-11-09T06:00:00Z"),
    ("Europe/Berlin", "2026-W52", 1, "07:00", "2026-12-28T06:00:00Z"),
    ("Europe/Berlin", "2026-W53", 1, "07:00", "2027-01-04T06:00:00Z"),
    ("Europe/Berlin", "2027-W01", 1, "07:00", "2027-01-11T06:00:00Z"),
    ("Europe/Copenhagen", "2026-W45", 1, "07:00", "2026-11-09T06:00:00Z"),
    ("Europe/Copenhagen", "2026-W52", 1, "07:00", "2026-12-28T06:00:00Z"),
    ("Europe/Copenhagen", "2026-W53", 1, "07:00", "2027-01-04T06:00:00Z"),
    ("Europe/Copenhagen", "2027-W01", 1, "07:00", "2027-01-11T06:00:00Z"),
    ("America/New_York", "2026-W45", 1, "07:00", "2026-11-09T12:00:00Z"),
    ("America/New_York", "2026-W52", 1, "07:00", "2026-12-28T12:00:00Z"),
    ("America/New_York", "2026-W53", 1, "07:00", "2027-01-04T12:00:00Z"),
    ("America/New_York", "2027-W01", 1, "07:00", "2027-01-11T12:00:00Z"),
    ("America/St_Johns", "2026-W45", 1, "07:00", "2026-11-09T10:30:00Z"),
    ("America/St_Johns", "2026-W52", 1, "07:00", "2026-12-28T10:30:00Z"),
    ("America/St_Johns", "2026-W53", 1, "07:00", "2027-01-04T10:30:00Z"),
    ("America/St_Johns", "2027-W01", 1, "07:00", "2027-01-11T10:30:00Z"),
    ("Australia/Lord_Howe", "2026-W45", 1, "07:00", "2026-11-08T20:00:00Z"),
    ("Australia/Lord_Howe", "2026-W52", 1, "07:00", "2026-12-27T20:00:00Z"),
    ("Australia/Lord_Howe", "2026-W53", 1, "07:00", "2027-01-03T20:00:00Z"),
    ("Australia/Lord_Howe", "2027-W01", 1, "07:00", "2027-01-10T20:00:00Z"),
    ("Pacific/Kiritimati", "2026-W45", 1, "07:00", "2026-11-08T17:00:00Z"),
    ("Pacific/Kiritimati", "2026-W52", 1, "07:00", "2026-12-27T17:00:00Z"),
    ("Pacific/Kiritimati", "2026-W53", 1, "07:00", "2027-01-03T17:00:00Z"),
    ("Pacific/Kiritimati", "2027-W01", 1, "07:00", "2027-01-10T17:00:00Z"),
    ("Pacific/Pago_Pago", "2026-W45", 1, "07:00", "2026-11-09T18:00:00Z"),
    ("Pacific/Pago_Pago", "2026-W52", 1, "07:00", "2026-12-28T18:00:00Z"),
    ("Pacific/Pago_Pago", "2026-W53", 1, "07:00", "2027-01-04T18:00:00Z"),
    ("Pacific/Pago_Pago", "2027-W01", 1, "07:00", "2027-01-11T18:00:00Z"),
    ("Asia/Kathmandu", "2026-W45", 1, "07:00", "2026-11-09T01:15:00Z"),
    ("Asia/Kathmandu", "2026-W52", 1, "07:00", "2026-12-28T01:15:00Z"),
    ("Asia/Kathmandu", "2026-W53", 1, "07:00", "2027-01-04T01:15:00Z"),
    ("Asia/Kathmandu", "2027-W01", 1, "07:00", "2027-01-11T01:15:00Z"),
    ("UTC", "2026-W45", 1, "07:00", "2026-11-09T07:00:00Z"),
    ("UTC", "2026-W52", 1, "07:00", "2026-12-28T07:00:00Z"),
    ("UTC", "2026-W53", 1, "07:00", "2027-01-04T07:00:00Z"),
    ("UTC", "2027-W01", 1, "07:00", "2027-01-11T07:00:00Z"),
    ("Europe/Berlin", "2026-W12", 7, "01:59", "2026-03-29T00:59:00Z"),
    ("Europe/Berlin", "2026-W12", 7, "02:00", "2026-03-29T01:00:00Z"),
    ("Europe/Berlin", "2026-W12", 7, "02:30", "2026-03-29T01:00:00Z"),
    ("Europe/Berlin", "2026-W12", 7, "03:00", "2026-03-29T01:00:00Z"),
    ("Europe/Berlin", "2026-W12", 7, "03:30", "2026-03-29T01:30:00Z"),
    ("America/New_York", "2026-W09", 7, "01:59", "2026-03-08T06:59:00Z"),
    ("America/New_York", "2026-W09", 7, "02:30", "2026-03-08T07:00:00Z"),
    ("America/New_York", "2026-W09", 7, "03:00", "2026-03-08T07:00:00Z"),
    ("Australia/Lord_Howe", "2026-W39", 7, "01:59", "2026-10-03T15:29:00Z"),
    ("Australia/Lord_Howe", "2026-W39", 7, "02:10", "2026-10-03T15:30:00Z"),
    ("Australia/Lord_Howe", "2026-W39", 7, "02:30", "2026-10-03T15:30:00Z"),
    ("America/St_Johns", "2026-W09", 7, "02:30", "2026-03-08T05:30:00Z"),
    ("Europe/Berlin", "2026-W42", 7, "01:59", "2026-10-24T23:59:00Z"),
    ("Europe/Berlin", "2026-W42", 7, "02:00", "2026-10-25T00:00:00Z"),
    ("Europe/Berlin", "2026-W42", 7, "02:30", "2026-10-25T00:30:00Z"),
    ("Europe/Berlin", "2026-W42", 7, "03:00", "2026-10-25T02:00:00Z"),
    ("America/New_York", "2026-W43", 7, "01:30", "2026-11-01T05:30:00Z"),
    ("America/New_York", "2026-W43", 7, "02:00", "2026-11-01T07:00:00Z"),
    ("Australia/Lord_Howe", "2026-W13", 7, "01:30", "2026-04-04T14:30:00Z"),
    ("Australia/Lord_Howe", "2026-W13", 7, "01:45", "2026-04-04T14:45:00Z"),
    ("Australia/Lord_Howe", "2026-W13", 7, "02:00", "2026-04-04T15:30:00Z"),
    ("America/St_Johns", "2026-W43", 7, "01:30", "2026-11-01T04:00:00Z"),
    ("Africa/Casablanca", "2024-W10", 7, "02:30", "2024-03-17T02:30:00Z"),
    ("Africa/Casablanca", "2024-W10", 7, "03:00", "2024-03-17T03:00:00Z"),
    ("Africa/Casablanca", "2024-W15", 7, "02:00", "2024-04-21T01:00:00Z"),
    ("Africa/Casablanca", "2024-W15", 7, "02:30", "2024-04-21T01:30:00Z"),
    ("Africa/Casablanca", "2024-W15", 7, "03:30", "2024-04-21T02:30:00Z"),
    ("Africa/Casablanca", "2024-W09", 1, "07:00", "2024-03-04T06:00:00Z"),
    ("Africa/Casablanca", "2024-W10", 1, "07:00", "2024-03-11T07:00:00Z"),
    ("Africa/Casablanca", "2024-W14", 1, "07:00", "2024-04-08T07:00:00Z"),
    ("Africa/Casablanca", "2024-W15", 1, "07:00", "2024-04-15T06:00:00Z"),
    ("Pacific/Apia", "2011-W51", 4, "23:59", "2011-12-30T09:59:00Z"),
    ("Pacific/Apia", "2011-W51", 5, "00:00", "2011-12-30T10:00:00Z"),
    ("Pacific/Apia", "2011-W51", 5, "07:00", "2011-12-30T10:00:00Z"),
    ("Pacific/Apia", "2011-W51", 5, "23:59", "2011-12-30T10:00:00Z"),
    ("Pacific/Apia", "2011-W51", 6, "00:00", "2011-12-30T10:00:00Z"),
    ("Pacific/Apia", "2011-W51", 6, "07:00", "2011-12-30T17:00:00Z"),
    ("Europe/Berlin", "2028-W08", 2, "00:00", "2028-02-28T23:00:00Z"),
    ("Europe/Berlin", "2028-W08", 2, "23:59", "2028-02-29T22:59:00Z"),
];

fn zone(name: &str) -> TimeZone {
    TimeZone::get(name).unwrap()
}

fn week(text: &str) -> IsoWeek {
    text.parse().unwrap()
}

fn at(weekday: i32, time: &str) -> ClosingTime {
    let (hour, minute) = time.split_once(':').unwrap();
    let minute = hour.parse::<i32>().unwrap() * 60 + minute.parse::<i32>().unwrap();
    ClosingTime::new(weekday, minute).unwrap()
}

#[test]
fn each_week_is_due_at_the_first_instant_that_shows_its_time() {
    for (name, text, weekday, time, expected) in CASES {
        let due = at(weekday, time).due(week(text), &zone(name)).unwrap();
        assert_eq!(
            due,
            expected.parse().unwrap(),
            "{name} {text} {weekday} {time}"
        );
    }
}

/// The times of the week that are tried over years: at work, in the hour that clocks skip or show twice, and at the ends of days.
const TIMES: [(i32, &str); 4] = [(1, "07:00"), (7, "02:30"), (1, "00:00"), (5, "07:00")];

/// Zones, times, and how many windows have so many minutes.
type Windows = (
    &'static [&'static str],
    &'static [usize],
    &'static [(i64, usize)],
);

/// Zones, the index of a time above, and how many of the 730 windows from 2011-W40 to 2025-W40 have so many minutes. A week has 10080,
/// an hour less or more where clocks change, half an hour where they change by that much or skip the time itself, and a day less
/// where the zone left a date out; with the Friday itself left out that day is shared between two windows. Counted as above, by
/// Python's zoneinfo; years that are over, since zones change their minds about those to come.
#[rustfmt::skip] // One case a line.
const WINDOWS: [Windows; 9] = [
    (&["Europe/Berlin", "Europe/Copenhagen", "America/New_York", "America/St_Johns"], &[0, 2, 3], &[(10_020, 14), (10_080, 702), (10_140, 14)]),
    (&["Europe/Berlin", "Europe/Copenhagen", "America/New_York", "America/St_Johns"], &[1], &[(10_050, 28), (10_080, 688), (10_140, 14)]),
    (&["Australia/Lord_Howe"], &[0, 1, 2, 3], &[(10_050, 14), (10_080, 702), (10_110, 14)]),
    (&["Pacific/Kiritimati", "Pacific/Pago_Pago"], &[0, 1, 2, 3], &[(10_080, 730)]),
    (&["Asia/Kathmandu", "UTC"], &[0, 1, 2, 3], &[(10_080, 730)]),
    (&["Africa/Casablanca"], &[0, 2, 3], &[(10_020, 21), (10_080, 689), (10_140, 20)]),
    (&["Africa/Casablanca"], &[1], &[(10_020, 3), (10_050, 36), (10_080, 671), (10_140, 20)]),
    (&["Pacific/Apia"], &[0, 1, 2], &[(8_640, 1), (10_020, 9), (10_080, 710), (10_140, 10)]),
    (&["Pacific/Apia"], &[3], &[(9_060, 1), (9_660, 1), (10_020, 9), (10_080, 709), (10_140, 10)]),
];

fn time(index: usize) -> ClosingTime {
    let (weekday, time) = TIMES[index];
    at(weekday, time)
}

/// When each week of fourteen years is due.
fn all_due(name: &str, time: ClosingTime) -> Vec<DueWeek> {
    let zone = zone(name);
    let weeks = week("2011-W40").through(week("2025-W40"));
    let due = |week| DueWeek {
        week,
        due: time.due(week, &zone).unwrap(),
    };
    weeks.map(due).collect()
}

#[test]
fn every_window_of_fourteen_years_is_as_long_as_its_week() {
    let tried: BTreeSet<&str> = WINDOWS
        .iter()
        .flat_map(|(zones, ..)| *zones)
        .copied()
        .collect();
    let of_the_table: BTreeSet<&str> = CASES.iter().map(|case| case.0).collect();
    assert_eq!(tried, of_the_table);
    for (zones, times, expected) in WINDOWS {
        for (name, index) in zones
            .iter()
            .flat_map(|name| times.iter().map(move |index| (name, *index)))
        {
            let mut windows = BTreeMap::new();
            for pair in all_due(name, time(index)).windows(2) {
                let window = pair[1].due.duration_since(pair[0].due);
                assert_eq!(window.as_secs() % 60, 0, "{name}: {pair:?}");
                *windows.entry(window.as_mins()).or_insert(0) += 1;
            }
            let expected: BTreeMap<i64, usize> = expected.iter().copied().collect();
            assert_eq!(windows, expected, "{name} {:?}", TIMES[index]);
        }
    }
}

/// Where a window is not as long as usual, the clock is looked at every hour for two days on both sides: the week is listed at the
/// first look at which it is due, and not again.
#[test]
fn looked_at_every_hour_a_week_is_found_once_and_in_order() {
    for (zones, times, _) in WINDOWS {
        for (name, index) in zones
            .iter()
            .flat_map(|name| times.iter().map(move |index| (name, *index)))
        {
            let (zone, time) = (zone(name), time(index));
            for three in all_due(name, time).windows(3) {
                let usual = |pair: &[DueWeek]| {
                    pair[1].due.duration_since(pair[0].due) == SignedDuration::from_hours(168)
                };
                if usual(&three[..2]) && usual(&three[1..]) {
                    continue;
                }
                let (mut closed, mut found) = (Vec::new(), Vec::new());
                let mut now = three[0].due - SignedDuration::from_hours(48);
                while now < three[2].due + SignedDuration::from_hours(48) {
                    for due in due_weeks(three[0].week, &closed, time, &zone, now).unwrap() {
                        assert!(
                            due.due <= now && now < due.due + SignedDuration::from_hours(1),
                            "{name}: {due:?}"
                        );
                        closed.push(due.week.monday());
                        found.push(due);
                    }
                    now += SignedDuration::from_hours(1);
                }
                assert_eq!(found, three, "{name} {:?}", TIMES[index]);
            }
        }
    }
}

#[test]
fn weeks_missed_come_in_order_and_those_closed_not_again() {
    let zone = zone("Europe/Berlin");
    let first = week("2026-W51");
    let due_at = |now: &str, closed: &[Date]| -> Vec<String> {
        let weeks = due_weeks(
            first,
            closed,
            ClosingTime::default(),
            &zone,
            now.parse().unwrap(),
        )
        .unwrap();
        weeks.iter().map(|due| due.week.to_string()).collect()
    };
    assert!(due_at("2026-12-21T05:59:59Z", &[]).is_empty());
    assert_eq!(due_at("2026-12-21T06:00:00Z", &[]), ["2026-W51"]);
    let all = ["2026-W51", "2026-W52", "2026-W53", "2027-W01"];
    assert_eq!(due_at("2027-01-11T06:00:00Z", &[]), all);
    let closed = [date(2026, 12, 14), date(2026, 12, 28)];
    assert_eq!(
        due_at("2027-01-11T06:00:00Z", &closed),
        ["2026-W52", "2027-W01"]
    );
    assert!(due_at("2020-01-01T00:00:00Z", &[]).is_empty());
}

#[test]
fn a_setting_is_a_weekday_and_a_minute_of_the_day() {
    assert_eq!(ClosingTime::new(1, 420), Some(ClosingTime::default()));
    for (weekday, minute) in [(0, 420), (8, 420), (1, -1), (1, 1440)] {
        assert_eq!(ClosingTime::new(weekday, minute), None);
    }
}
