use jiff::civil::date;
use jiff::tz::TimeZone;

use super::*;
use crate::calendar::instance::Said;

/// A start at nine in the morning, in the zone of the published examples.
fn nine_in_new_york(day: &str) -> When {
    When {
        wall: super::date(day).unwrap().at(9, 0, 0, 0),
        zone: TimeZone::get("America/New_York").unwrap(),
        said: Said::Zone,
    }
}

fn read(text: &str, start: &When) -> Result<Rule, Code> {
    Rule::read(text, start, &Bounds::default()).map_err(|fault| fault.code)
}

/// The first local times of a rule, as far as UNTIL.
fn first_walls(text: &str, start: &When, most: usize) -> Vec<DateTime> {
    let rule = read(text, start).unwrap();
    let within = |wall: &DateTime| !rule.has_ended(start.with_wall(*wall).at().unwrap());
    let dates = rule.dates();
    dates.walls().take_while(within).take(most).collect()
}

/// Dates such as "1997 Sep 2,4 Oct 14".
fn dates(listed: &str) -> Vec<jiff::civil::Date> {
    let (mut year, mut month, mut found) = (0, 0, Vec::new());
    for word in listed.split_whitespace() {
        let named = MONTHS.iter().position(|name| *name == word);
        match (named, word.len()) {
            (Some(at), _) => month = i8::try_from(at + 1).unwrap(),
            (None, 4) if !word.contains(',') && !word.contains('-') => year = word.parse().unwrap(),
            (None, _) => found.extend(days(word).map(|day| date(year, month, day))),
        }
    }
    found
}

const MONTHS: [&str; 12] = [
    "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
];

/// Days such as "2,4,14-16".
fn days(listed: &str) -> impl Iterator<Item = i8> {
    listed.split(',').flat_map(|part| {
        let (from, to) = part.split_once('-').unwrap_or((part, part));
        from.parse::<i8>().unwrap()..=to.parse().unwrap()
    })
}

/// The examples of RFC 5545, 3.8.5.3, that repeat daily or less often, with the dates published there:
/// start, rule, dates, and whether the rule ends with them.
#[rustfmt::skip]
const PUBLISHED: &[(&str, &str, &str, bool)] = &[
    ("19970902", "FREQ=DAILY;COUNT=10", "1997 Sep 2-11", true),
    ("19970902", "FREQ=DAILY;UNTIL=19971224T000000Z", "1997 Sep 2-30 Oct 1-31 Nov 1-30 Dec 1-23", true),
    ("19970902", "FREQ=DAILY;INTERVAL=2",
        "1997 Sep 2,4,6,8,10,12,14,16,18,20,22,24,26,28,30 Oct 2,4,6,8,10,12,14,16,18,20,22,24,26,28,30 \
         Nov 1,3,5,7,9,11,13,15,17,19,21,23,25,27,29 Dec 1,3", false),
    ("19970902", "FREQ=DAILY;INTERVAL=10;COUNT=5", "1997 Sep 2,12,22 Oct 2,12", true),
    ("19980101", "FREQ=YEARLY;UNTIL=20000131T140000Z;BYMONTH=1;BYDAY=SU,MO,TU,WE,TH,FR,SA",
        "1998 Jan 1-31 1999 Jan 1-31 2000 Jan 1-31", true),
    ("19980101", "FREQ=DAILY;UNTIL=20000131T140000Z;BYMONTH=1",
        "1998 Jan 1-31 1999 Jan 1-31 2000 Jan 1-31", true),
    ("19970902", "FREQ=WEEKLY;COUNT=10", "1997 Sep 2,9,16,23,30 Oct 7,14,21,28 Nov 4", true),
    ("19970902", "FREQ=WEEKLY;UNTIL=19971224T000000Z",
        "1997 Sep 2,9,16,23,30 Oct 7,14,21,28 Nov 4,11,18,25 Dec 2,9,16,23", true),
    ("19970902", "FREQ=WEEKLY;INTERVAL=2;WKST=SU",
        "1997 Sep 2,16,30 Oct 14,28 Nov 11,25 Dec 9,23 1998 Jan 6,20 Feb 3,17", false),
    ("19970902", "FREQ=WEEKLY;UNTIL=19971007T000000Z;WKST=SU;BYDAY=TU,TH",
        "1997 Sep 2,4,9,11,16,18,23,25,30 Oct 2", true),
    ("19970902", "FREQ=WEEKLY;COUNT=10;WKST=SU;BYDAY=TU,TH",
        "1997 Sep 2,4,9,11,16,18,23,25,30 Oct 2", true),
    ("19970901", "FREQ=WEEKLY;INTERVAL=2;UNTIL=19971224T000000Z;WKST=SU;BYDAY=MO,WE,FR",
        "1997 Sep 1,3,5,15,17,19,29 Oct 1,3,13,15,17,27,29,31 Nov 10,12,14,24,26,28 Dec 8,10,12,22", true),
    ("19970902", "FREQ=WEEKLY;INTERVAL=2;COUNT=8;WKST=SU;BYDAY=TU,TH",
        "1997 Sep 2,4,16,18,30 Oct 2,14,16", true),
    ("19970905", "FREQ=MONTHLY;COUNT=10;BYDAY=1FR",
        "1997 Sep 5 Oct 3 Nov 7 Dec 5 1998 Jan 2 Feb 6 Mar 6 Apr 3 May 1 Jun 5", true),
    ("19970905", "FREQ=MONTHLY;UNTIL=19971224T000000Z;BYDAY=1FR", "1997 Sep 5 Oct 3 Nov 7 Dec 5", true),
    ("19970907", "FREQ=MONTHLY;INTERVAL=2;COUNT=10;BYDAY=1SU,-1SU",
        "1997 Sep 7,28 Nov 2,30 1998 Jan 4,25 Mar 1,29 May 3,31", true),
    ("19970922", "FREQ=MONTHLY;COUNT=6;BYDAY=-2MO",
        "1997 Sep 22 Oct 20 Nov 17 Dec 22 1998 Jan 19 Feb 16", true),
    ("19970928", "FREQ=MONTHLY;BYMONTHDAY=-3",
        "1997 Sep 28 Oct 29 Nov 28 Dec 29 1998 Jan 29 Feb 26", false),
    ("19970902", "FREQ=MONTHLY;COUNT=10;BYMONTHDAY=2,15",
        "1997 Sep 2,15 Oct 2,15 Nov 2,15 Dec 2,15 1998 Jan 2,15", true),
    ("19970930", "FREQ=MONTHLY;COUNT=10;BYMONTHDAY=1,-1",
        "1997 Sep 30 Oct 1,31 Nov 1,30 Dec 1,31 1998 Jan 1,31 Feb 1", true),
    ("19970910", "FREQ=MONTHLY;INTERVAL=18;COUNT=10;BYMONTHDAY=10,11,12,13,14,15",
        "1997 Sep 10-15 1999 Mar 10-13", true),
    ("19970902", "FREQ=MONTHLY;INTERVAL=2;BYDAY=TU",
        "1997 Sep 2,9,16,23,30 Nov 4,11,18,25 1998 Jan 6,13,20,27 Mar 3,10,17,24,31", false),
    ("19970610", "FREQ=YEARLY;COUNT=10;BYMONTH=6,7",
        "1997 Jun 10 Jul 10 1998 Jun 10 Jul 10 1999 Jun 10 Jul 10 2000 Jun 10 Jul 10 2001 Jun 10 Jul 10", true),
    ("19970310", "FREQ=YEARLY;INTERVAL=2;COUNT=10;BYMONTH=1,2,3",
        "1997 Mar 10 1999 Jan 10 Feb 10 Mar 10 2001 Jan 10 Feb 10 Mar 10 2003 Jan 10 Feb 10 Mar 10", true),
    ("19970101", "FREQ=YEARLY;INTERVAL=3;COUNT=10;BYYEARDAY=1,100,200",
        "1997 Jan 1 Apr 10 Jul 19 2000 Jan 1 Apr 9 Jul 18 2003 Jan 1 Apr 10 Jul 19 2006 Jan 1", true),
    ("19970519", "FREQ=YEARLY;BYDAY=20MO", "1997 May 19 1998 May 18 1999 May 17", false),
    ("19970512", "FREQ=YEARLY;BYWEEKNO=20;BYDAY=MO", "1997 May 12 1998 May 11 1999 May 17", false),
    ("19970313", "FREQ=YEARLY;BYMONTH=3;BYDAY=TH",
        "1997 Mar 13,20,27 1998 Mar 5,12,19,26 1999 Mar 4,11,18,25", false),
    ("19970605", "FREQ=YEARLY;BYDAY=TH;BYMONTH=6,7,8",
        "1997 Jun 5,12,19,26 Jul 3,10,17,24,31 Aug 7,14,21,28 1998 Jun 4,11,18,25 Jul 2,9,16,23,30 \
         Aug 6,13,20,27 1999 Jun 3,10,17,24 Jul 1,8,15,22,29 Aug 5,12,19,26", false),
    ("19970902", "FREQ=MONTHLY;BYDAY=FR;BYMONTHDAY=13",
        "1998 Feb 13 Mar 13 Nov 13 1999 Aug 13 2000 Oct 13", false),
    ("19970913", "FREQ=MONTHLY;BYDAY=SA;BYMONTHDAY=7,8,9,10,11,12,13",
        "1997 Sep 13 Oct 11 Nov 8 Dec 13 1998 Jan 10 Feb 7 Mar 7 Apr 11 May 9 Jun 13", false),
    ("19961105", "FREQ=YEARLY;INTERVAL=4;BYMONTH=11;BYDAY=TU;BYMONTHDAY=2,3,4,5,6,7,8",
        "1996 Nov 5 2000 Nov 7 2004 Nov 2", false),
    ("19970904", "FREQ=MONTHLY;COUNT=3;BYDAY=TU,WE,TH;BYSETPOS=3", "1997 Sep 4 Oct 7 Nov 6", true),
    ("19970929", "FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-2",
        "1997 Sep 29 Oct 30 Nov 27 Dec 30 1998 Jan 29 Feb 26 Mar 30", false),
    ("19970805", "FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=MO", "1997 Aug 5,10,19,24", true),
    ("19970805", "FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=SU", "1997 Aug 5,17,19,31", true),
    ("20070115", "FREQ=MONTHLY;BYMONTHDAY=15,30;COUNT=5", "2007 Jan 15,30 Feb 15 Mar 15,30", true),
];

#[test]
fn published_examples_give_the_published_dates() {
    for (day, rule, listed, ends) in PUBLISHED {
        let expected: Vec<_> = dates(listed).iter().map(|day| day.at(9, 0, 0, 0)).collect();
        let most = expected.len() + usize::from(*ends);
        assert_eq!(
            first_walls(rule, &nine_in_new_york(day), most),
            expected,
            "{rule}"
        );
    }
}

/// RFC 5545, 3.8.5.3: every 20 minutes from 9:00 AM to 4:40 PM every day.
#[test]
fn times_of_a_day_are_listed() {
    let rule = "FREQ=DAILY;BYHOUR=9,10,11,12,13,14,15,16;BYMINUTE=0,20,40";
    let walls = first_walls(rule, &nine_in_new_york("19970902"), 25);
    let clock = |at: usize| walls[at].strftime("%d %H:%M").to_string();
    assert_eq!(
        [clock(0), clock(1), clock(3)],
        ["02 09:00", "02 09:20", "02 10:00"]
    );
    assert_eq!([clock(23), clock(24)], ["02 16:40", "03 09:00"]);
}

/// The other examples of RFC 5545, 3.8.5.3.
#[test]
fn more_often_than_daily_is_refused() {
    let start = nine_in_new_york("19970902");
    for rule in [
        "FREQ=HOURLY;INTERVAL=3;UNTIL=19970902T170000Z",
        "FREQ=MINUTELY;INTERVAL=15;COUNT=6",
        "FREQ=MINUTELY;INTERVAL=90;COUNT=4",
        "FREQ=MINUTELY;INTERVAL=20;BYHOUR=9,10,11,12,13,14,15,16",
        "FREQ=SECONDLY",
    ] {
        assert_eq!(read(rule, &start), Err(Code::UnsupportedRule), "{rule}");
    }
}

#[test]
fn what_the_standard_does_not_allow_is_refused() {
    let start = nine_in_new_york("19970902");
    for rule in [
        "",
        "COUNT=3",
        "FREQ=",
        "FREQ=FORTNIGHTLY",
        "FREQ=DAILY;FREQ=WEEKLY",
        "FREQ=DAILY;X-DAYS=1",
        "FREQ=DAILY;COUNT=0",
        "FREQ=DAILY;COUNT=-1",
        "FREQ=DAILY;INTERVAL=0",
        "FREQ=DAILY;INTERVAL=1000",
        "FREQ=DAILY;INTERVAL=+2",
        "FREQ=DAILY;COUNT=3;UNTIL=19971224T000000Z",
        "FREQ=DAILY;BYDAY=1MO",
        "FREQ=WEEKLY;BYDAY=",
        "FREQ=WEEKLY;BYDAY=MON",
        "FREQ=WEEKLY;BYDAY=XMO",
        "FREQ=MONTHLY;BYDAY=0MO",
        "FREQ=MONTHLY;BYDAY=6MO",
        "FREQ=YEARLY;BYDAY=54MO",
        "FREQ=YEARLY;BYDAY=1MO;BYWEEKNO=20",
        "FREQ=WEEKLY;BYMONTHDAY=1",
        "FREQ=MONTHLY;BYMONTHDAY=32",
        "FREQ=MONTHLY;BYMONTHDAY=0",
        "FREQ=MONTHLY;BYYEARDAY=1",
        "FREQ=MONTHLY;BYWEEKNO=1",
        "FREQ=MONTHLY;BYSETPOS=1",
        "FREQ=DAILY;BYMONTH=13",
        "FREQ=DAILY;BYHOUR=24",
        "FREQ=DAILY;WKST=XX",
        "FREQ=DAILY;BYEASTER=1",
    ] {
        assert_eq!(read(rule, &start), Err(Code::UnsupportedRule), "{rule}");
    }
    let long = format!("FREQ=DAILY;BYMONTH={}1", "1,".repeat(LONGEST));
    assert_eq!(read(&long, &start), Err(Code::UnsupportedRule));
}

#[test]
fn what_is_beyond_the_bounds_is_refused() {
    let start = nine_in_new_york("19970902");
    let hours: Vec<String> = (0..24).map(|hour| hour.to_string()).collect();
    let often = format!("FREQ=DAILY;BYHOUR={};BYMINUTE=0,30", hours.join(","));
    for rule in [
        "FREQ=DAILY;COUNT=10001",
        "FREQ=DAILY;COUNT=4000000000",
        &often,
    ] {
        assert_eq!(read(rule, &start), Err(Code::RecurrenceTooLong), "{rule}");
    }
}

#[test]
fn until_is_of_the_instant_in_the_hour_that_happens_twice() {
    let start = When {
        wall: date(1997, 10, 24).at(1, 30, 0, 0),
        ..nine_in_new_york("19971024")
    };
    // 26 October 1997, 01:30 is 05:30Z and, an hour later, 06:30Z. The instance is the first.
    let until = |until: &str| first_walls(&format!("FREQ=DAILY;UNTIL={until}"), &start, 9).len();
    assert_eq!(until("19971026T052959Z"), 2);
    assert_eq!(until("19971026T053000Z"), 3);
    assert_eq!(until("19971026T061500Z"), 3);
}

#[test]
fn until_without_a_zone_is_local_and_a_date_is_the_whole_day() {
    let start = nine_in_new_york("19970902");
    let until = |until: &str| first_walls(&format!("FREQ=DAILY;UNTIL={until}"), &start, 9).len();
    assert_eq!(until("19970904T085959"), 2);
    assert_eq!(until("19970904T090000"), 3);
    assert_eq!(until("19970904"), 3);
    let before = read("FREQ=DAILY;UNTIL=19970901", &start);
    assert_eq!(before, Err(Code::UntilBeforeStart));
    assert_eq!(
        read("FREQ=DAILY;UNTIL=1997", &start),
        Err(Code::InvalidDate)
    );
}

#[test]
fn times_are_passed_over_in_a_rule_of_dates() {
    let start = When {
        wall: date(1997, 9, 2).at(0, 0, 0, 0),
        said: Said::Date,
        ..nine_in_new_york("19970902")
    };
    let walls = first_walls("FREQ=DAILY;BYHOUR=9,10;COUNT=2", &start, 9);
    assert_eq!(
        walls,
        [
            date(1997, 9, 2).at(0, 0, 0, 0),
            date(1997, 9, 3).at(0, 0, 0, 0)
        ]
    );
}

mod random {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        /// Whatever the rule, its dates ascend from the start on and are of the months and days listed.
        #[test]
        fn dates_ascend_and_are_of_the_months_and_days_listed(
            often in prop::sample::select(vec!["DAILY", "WEEKLY", "MONTHLY", "YEARLY"]),
            interval in 1..=9_u32,
            months in prop::collection::btree_set(1..=12_i8, 1..4),
            days in prop::sample::subsequence(vec!["MO", "TU", "WE", "TH", "FR", "SA", "SU"], 1..4),
        ) {
            let listed: Vec<String> = months.iter().map(ToString::to_string).collect();
            let (listed, named) = (listed.join(","), days.join(","));
            let rule = format!("FREQ={often};INTERVAL={interval};BYMONTH={listed};BYDAY={named}");
            let start = nine_in_new_york("20260228");
            let walls = first_walls(&rule, &start, 40);
            prop_assert!(walls.iter().all(|wall| *wall >= start.wall), "{rule}");
            prop_assert!(walls.windows(2).all(|pair| pair[0] < pair[1]), "{rule}");
            for wall in walls {
                prop_assert!(months.contains(&wall.month()), "{rule} {wall}");
                let is_listed = days.iter().any(|day| weekday(day) == Some(wall.weekday()));
                prop_assert!(is_listed, "{rule} {wall}");
            }
        }
    }
}
