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

/// Ten years of weeks in every zone of the table, a time in the night and one at midnight among them: due one after the
/// other, six to eight days apart, and each listed once when the clock is looked at every hour around it.
#[test]
fn every_week_is_due_once_and_in_order() {
    let zones: std::collections::BTreeSet<&str> = CASES.iter().map(|case| case.0).collect();
    for name in zones {
        let zone = zone(name);
        for time in [
            at(1, "07:00"),
            at(7, "02:30"),
            at(1, "00:00"),
            at(5, "07:00"),
        ] {
            let weeks = week("2011-W40").through(week("2031-W10"));
            let due: Vec<Timestamp> = weeks.map(|week| time.due(week, &zone).unwrap()).collect();
            for pair in due.windows(2) {
                let hours = pair[1].duration_since(pair[0]).as_hours();
                assert!((6 * 24..=8 * 24).contains(&hours), "{name}: {pair:?}");
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
