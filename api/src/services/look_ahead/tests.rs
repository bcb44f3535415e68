use jiff::civil::date;

use super::*;

fn instant(text: &str) -> Timestamp {
    text.parse().unwrap()
}

/// Thursday at 18:00 in some zones, week 2026-W47 (16 to 22 November): set, now, due or not.
#[test]
fn it_is_due_from_its_time_to_the_end_of_its_sunday() {
    let thursday = ClosingTime::new(4, 18 * 60).unwrap();
    #[rustfmt::skip] // One case a line.
    let cases = [
        ("Europe/Copenhagen", "2026-11-01T00:00:00Z", "2026-11-19T16:59:59Z", false),
        ("Europe/Copenhagen", "2026-11-01T00:00:00Z", "2026-11-19T17:00:00Z", true),
        ("Europe/Copenhagen", "2026-11-01T00:00:00Z", "2026-11-22T22:59:59Z", true),
        // The weekend is over.
        ("Europe/Copenhagen", "2026-11-01T00:00:00Z", "2026-11-22T23:00:00Z", false),
        ("Europe/Copenhagen", "2026-11-01T00:00:00Z", "2026-11-24T12:00:00Z", false),
        // Set after its time: the next week is the first.
        ("Europe/Copenhagen", "2026-11-19T17:00:01Z", "2026-11-20T12:00:00Z", false),
        ("Europe/Copenhagen", "2026-11-19T17:00:00Z", "2026-11-20T12:00:00Z", true),
        ("Pacific/Kiritimati", "2026-11-01T00:00:00Z", "2026-11-19T03:59:59Z", false),
        ("Pacific/Kiritimati", "2026-11-01T00:00:00Z", "2026-11-19T04:00:00Z", true),
        ("Pacific/Kiritimati", "2026-11-01T00:00:00Z", "2026-11-22T10:00:00Z", false),
        ("Pacific/Pago_Pago", "2026-11-01T00:00:00Z", "2026-11-20T04:59:59Z", false),
        ("Pacific/Pago_Pago", "2026-11-01T00:00:00Z", "2026-11-20T05:00:00Z", true),
        ("Asia/Kathmandu", "2026-11-01T00:00:00Z", "2026-11-19T12:15:00Z", true),
    ];
    for (zone, set_at, now, due) in cases {
        let zone = TimeZone::get(zone).unwrap();
        let found = due_week(thursday, instant(set_at), &zone, instant(now)).unwrap();
        let expected = due.then(|| IsoWeek::of(date(2026, 11, 16)).unwrap());
        assert_eq!(found, expected, "{zone:?} {now}");
    }
}

/// On 25 October 2026 the clocks of Copenhagen show 02:30 twice, on 29 March they never do.
#[test]
fn changes_of_the_clocks_move_it_as_they_move_a_close() {
    let zone = TimeZone::get("Europe/Copenhagen").unwrap();
    let sunday = ClosingTime::new(7, 2 * 60 + 30).unwrap();
    let due = |now: &str| {
        let found = due_week(sunday, Timestamp::UNIX_EPOCH, &zone, instant(now));
        found.unwrap().is_some()
    };
    assert!(!due("2026-10-25T00:29:59Z") && due("2026-10-25T00:30:00Z"));
    assert!(!due("2026-03-29T00:59:59Z") && due("2026-03-29T01:00:00Z"));
}
