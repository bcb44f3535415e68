//! Scenario S18: the weekly list of an invented U16 squad, week 2026-W45, and one athlete's own
//! baseline.
#![allow(clippy::unwrap_used)]

mod common;

use common::{athlete_week, au, example_policy, four, member, open, root_four, two, weeks};
use jiff::ToSpan;
use jiff::civil::{Date, date};
use plimsoll_domain::{
    Absence, AthleteWeek, Bounds, Certainty, DailySeries, DayFacts, DayTotal, Entry, Finding, Load,
    Outcome, Reason, Setting, SettingLoad, WeeklyList, judge_figures, share, weekly_list,
};

const SUNDAY: Date = date(2026, 11, 8);

/// Days that end on the Sunday of the week.
fn ending_on_sunday(days: Vec<DayTotal>) -> DailySeries {
    let first = SUNDAY.saturating_sub(i64::try_from(days.len() - 1).unwrap().days());
    member(first, days)
}

fn three_weeks_then(prior: f64, week: Vec<DayTotal>) -> DailySeries {
    let mut days = weeks(&[prior, 0.0, 0.0]);
    days.extend(week);
    ending_on_sunday(days)
}

fn athlete(name: &'static str, series: &DailySeries) -> AthleteWeek<&'static str> {
    athlete_week(&example_policy(), name, name, series)
}

fn p1() -> DailySeries {
    three_weeks_then(5400.0, weeks(&[3000.0]))
}

fn p2() -> DailySeries {
    three_weeks_then(5000.0, weeks(&[3300.0]))
}

fn p3() -> DailySeries {
    let mut week = weeks(&[1700.0]);
    week[2] = open(0.0, 90.0);
    three_weeks_then(4000.0, week)
}

fn p4() -> DailySeries {
    let mut days = weeks(&[0.0, 900.0, 900.0]);
    days.drain(..5);
    let series = ending_on_sunday(days);
    assert_eq!(series.first(), date(2026, 10, 24));
    series
}

/// Back since 26 October from an absence of 35 days.
fn p5() -> DailySeries {
    let away = DayFacts {
        absence: Absence::Long,
        ..DayFacts::default()
    };
    let mut days = weeks(&[2100.0, 2300.0, 2200.0, 2400.0]);
    days.extend([DayTotal::new(away, Bounds::default(), 0).unwrap(); 35]);
    days.extend(weeks(&[900.0, 1600.0]));
    ending_on_sunday(days)
}

fn p6() -> DailySeries {
    let mut week = weeks(&[0.0]);
    for day in [0, 1, 2, 3] {
        week[day] = open(0.0, 90.0);
    }
    week[5] = open(0.0, 60.0);
    three_weeks_then(5100.0, week)
}

fn p7() -> DailySeries {
    let earlier = [
        2100.0, 2250.0, 1980.0, 2200.0, 2320.0, 2050.0, 2150.0, 2190.0,
    ];
    ending_on_sunday(weeks(&[&earlier[..], &[2700.0]].concat()))
}

fn squad() -> WeeklyList<&'static str> {
    let athletes = vec![
        athlete("P1", &p1()),
        athlete("P2", &p2()),
        athlete("P3", &p3()),
        athlete("P4", &p4()),
        athlete("P5", &p5()),
        athlete("P6", &p6()),
        athlete("P7", &p7()),
    ];
    weekly_list(Some(&example_policy()), athletes)
}

fn entry(name: &str) -> Entry<&'static str> {
    squad()
        .entries
        .into_iter()
        .find(|entry| entry.key == name)
        .unwrap()
}

#[test]
fn s18_order_of_the_list() {
    let list = squad();
    let found: Vec<_> = list
        .entries
        .iter()
        .map(|entry| (entry.key, entry.finding))
        .collect();
    let expected = [
        ("P2", Finding::OverLimit),
        ("P7", Finding::OwnHighest),
        ("P5", Finding::ReturnCeiling),
        ("P3", Finding::OverLimit),
        ("P6", Finding::NothingLogged),
        ("P4", Finding::NotComputable),
    ];
    assert_eq!(found, expected);
    let certainty: Vec<_> = list.entries.iter().map(|entry| entry.certainty).collect();
    let (certain, possible) = (Some(Certainty::Certain), Some(Certainty::Possible));
    assert_eq!(
        certainty,
        [certain, certain, certain, possible, possible, None]
    );
    assert_eq!(
        (list.not_listed, list.nothing_logged, list.has_policy),
        (1, 1, true)
    );
}

#[test]
fn s18_figures_of_the_entries() {
    let over = |name: &str| four(entry(name).judgement.unwrap().over_by_au.unwrap().high);
    assert_eq!(
        ["P2", "P7", "P5", "P3", "P6"].map(over),
        ["300", "148", "25", "200", "1140"]
    );
    let ratio = |name: &str| entry(name).judgement.unwrap().ratio.unwrap().1;
    assert_eq!(four(ratio("P2").point.unwrap()), "1.5904");
    let (low, high) = (ratio("P3").low.unwrap(), ratio("P3").high.unwrap());
    assert_eq!((four(low), four(high)), ("1.193".into(), "1.5758".into()));
    let (low, high) = (ratio("P6").low.unwrap(), ratio("P6").high.unwrap());
    assert_eq!((four(low), four(high)), ("0".into(), "1.8065".into()));

    let joined = entry("P4");
    assert_eq!(joined.reason, Some(Reason::FewerThan28Days));
    assert_eq!(joined.first_ratio_date, Some(date(2026, 11, 20)));

    let p1 = judge_figures(&example_policy(), &athlete("P1", &p1()).figures)[0];
    assert_eq!(four(p1.ratio.unwrap().1.point.unwrap()), "1.4286");
    assert_eq!(four(p1.over_by_au.unwrap().point), "-240");
    let p7 = judge_figures(&example_policy(), &athlete("P7", &p7()).figures)[0];
    assert_eq!(four(p7.ratio.unwrap().1.point.unwrap()), "1.1881");
    assert_eq!(p7.outcome, Outcome::NotRaised);
}

#[test]
fn s18_sentences() {
    assert_eq!(
        entry("P2").sentence,
        "The week came to 3300 AU, 300 AU above the club limit of 3000 AU."
    );
    assert_eq!(
        entry("P7").sentence,
        "The week came to 2700 AU, 148 AU above the club limit of 2552 AU, 1.1 times the highest \
         of 8 earlier weeks (2320 AU in 2026-W41)."
    );
    assert_eq!(
        entry("P3").sentence,
        "With 1 session unlogged, the week came to 1700 to 2600 AU, up to 200 AU above the club \
         limit of 2400 AU; above 700 AU in the missing session it is certain, otherwise it is \
         ruled out."
    );
    assert_eq!(
        entry("P5").sentence,
        "Week 2 after an absence of 35 days came to 1600 AU, 25 AU above its ceiling of 1575 AU; \
         the mean week before the absence was 2250 AU."
    );
    assert_eq!(
        entry("P6").sentence,
        "Nothing was logged and 5 sessions were expected: the week may be up to 1140 AU above \
         the club limit of 3060 AU."
    );
    assert_eq!(
        entry("P4").sentence,
        "The week came to 900 AU; no ratio can be given before 2026-11-20, the 28th day of \
         membership."
    );
}

#[test]
fn s18_no_sentence_is_a_verdict() {
    for entry in squad().entries {
        let said = entry.sentence.to_lowercase();
        for word in [
            "cleared",
            "safe",
            "risk",
            "available",
            "injur",
            "danger",
            "fit",
        ] {
            assert!(
                !said.split_whitespace().any(|said| said.starts_with(word)),
                "{said}"
            );
        }
    }
}

#[test]
fn s18_which_entries_to_ask_for() {
    let asked = |name: &str| -> Vec<(usize, Option<String>, Option<String>)> {
        let missing = entry(name).missing;
        let settles = missing.iter().map(|one| {
            let settles = one.break_even.unwrap();
            let four = |value: Option<_>| value.map(four);
            (
                one.place,
                four(settles.certain_above),
                four(settles.ruled_out_up_to),
            )
        });
        settles.collect()
    };
    let both = |place, au: &str| (place, Some(au.to_owned()), Some(au.to_owned()));
    assert_eq!(asked("P3"), [both(0, "700")]);
    // The longer ones first, and no more than three.
    assert_eq!(asked("P6"), [0, 1, 2].map(|place| both(place, "3060")));
    for certain in ["P2", "P7", "P5", "P4"] {
        assert!(entry(certain).missing.is_empty(), "{certain}");
    }
}

#[test]
fn s18_own_baseline() {
    let figures = athlete("P7", &p7()).figures;
    let baseline = figures.baseline.unwrap();
    assert_eq!(baseline.weeks_used, 8);
    assert_eq!(four(baseline.mean), "2155");
    assert_eq!(root_four(baseline.standard_deviation), "109.6748");
    assert_eq!(root_four(baseline.z.point.unwrap()), "4.9692");
    assert_eq!(four(baseline.median), "2170");
    assert_eq!(four(baseline.median_deviation), "75");
    assert_eq!(four(baseline.robust_z.point.unwrap()), "4.7664");
    let highest = figures.own_highest.unwrap();
    assert_eq!((highest.load, highest.weeks_used), (au(2320.0), 8));
    let over_highest = share(au(2700.0), Some(highest.load)).unwrap();
    assert_eq!(two(over_highest), "116.38");
}

#[test]
fn s18_without_a_policy_there_are_no_entries() {
    let list = weekly_list(None, vec![athlete("P2", &p2()), athlete("P6", &p6())]);
    assert!(list.entries.is_empty());
    assert_eq!(
        (list.not_listed, list.nothing_logged, list.has_policy),
        (2, 1, false)
    );
}

#[test]
fn s03_the_sentence_names_the_setting_that_rose() {
    let of = |setting, week, prior| SettingLoad {
        setting,
        week: au(week),
        prior_21d: au(prior),
    };
    let mut whole = athlete(
        "P-12",
        &ending_on_sunday(weeks(&[1380.0, 1380.0, 1530.0, 2880.0])),
    );
    whole.settings = vec![
        of(Setting::Club, 1260.0, 3330.0),
        of(Setting::SchoolTeam, 1620.0, 960.0),
    ];
    let list = weekly_list(Some(&example_policy()), vec![whole]);
    let entry = &list.entries[0];
    assert_eq!(
        entry.sentence,
        "The week came to 2880 AU, 306 AU above the club limit of 2574 AU; the largest rise was \
         in the school team, 1620 AU against a mean of 320 AU in the three weeks before."
    );
    let made_up_of: Vec<_> = entry.made_up_of.iter().map(|part| part.setting).collect();
    assert_eq!(made_up_of, [Setting::SchoolTeam, Setting::Club]);
    assert_eq!(entry.week_load.point, Load::from_au(2880));
}
