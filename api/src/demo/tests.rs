//! What the invented club promises, judged by the domain alone, without a database.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::{Date, date};
use plimsoll_domain::{
    Absence, Bounds, Certainty, DailySeries, DayFacts, DayTotal, Figure, Interval, IsoWeek,
    Judgement, Kind, Load, Minutes, Outcome, Policy, PolicyDraft, Reason, Rpe, RuleCode, Setting,
    judge, overlaps,
};

use super::people::{self, Person};
use super::season::{Scheduled, Season};
use super::story::Story;
use super::{CLOSED, first_monday, last_complete_week};

/// After ISO week 53, over both clock changes, on a leap day, and on a Monday.
const DATES: [Date; 5] = [
    date(2026, 11, 25),
    date(2027, 1, 6),
    date(2027, 4, 1),
    date(2028, 2, 29),
    date(2026, 10, 26),
];

struct Report {
    code: String,
    date: Date,
    interval: Interval,
    minutes: u32,
    rpe: Rpe,
    setting: Setting,
    kind: Kind,
}

struct Club {
    people: Vec<Person>,
    season: Season,
    reports: Vec<Report>,
    policy: Policy,
    week: IsoWeek,
}

fn clubs() -> impl Iterator<Item = (u64, Club)> {
    let dates = DATES.into_iter().cycle();
    (1..=20)
        .zip(dates)
        .map(|(seed, today)| (seed, club(today, seed)))
}

fn club(today: Date, seed: u64) -> Club {
    let week = last_complete_week(today).unwrap();
    let people = people::all(week);
    let season = Season::of(&people, week, seed);
    Club {
        reports: season.sessions.iter().map(report).collect(),
        policy: PolicyDraft::example(first_monday(week), "I. Holm")
            .check()
            .unwrap(),
        people,
        season,
        week,
    }
}

fn report(sent: &crate::services::sessions::SessionInput) -> Report {
    let start = sent.started_at.as_deref().unwrap();
    let minutes = u32::try_from(sent.minutes.as_ref().unwrap().as_u64().unwrap()).unwrap();
    let rpe = Rpe::from_f64(sent.rpe.as_ref().unwrap().as_f64().unwrap()).unwrap();
    let begin = start.parse::<Timestamp>().unwrap().as_second();
    Report {
        code: sent.athlete_external_id.clone().unwrap(),
        date: start[..10].parse().unwrap(),
        interval: Interval {
            start: begin,
            end: begin + i64::from(minutes) * 60,
            load: Load::of(rpe, Minutes::new(minutes.into()).unwrap()),
        },
        minutes,
        rpe,
        setting: Setting::parse(sent.setting.as_deref().unwrap()).unwrap(),
        kind: Kind::parse(sent.kind.as_deref().unwrap()).unwrap(),
    }
}

impl Club {
    /// Her days as they are known, of all settings or of some.
    fn series(&self, person: &Person, of: impl Fn(Setting) -> bool) -> DailySeries {
        let mut by_date: BTreeMap<Date, Vec<&Report>> = BTreeMap::new();
        let own = self
            .reports
            .iter()
            .filter(|report| report.code == person.code);
        for report in own.filter(|report| of(report.setting)) {
            by_date.entry(report.date).or_default().push(report);
        }
        let dates = person.joined_on.series(jiff::Span::new().days(1));
        let dates = dates.take_while(|date| *date <= self.week.sunday());
        let days =
            dates.map(|date| self.day(person, date, by_date.get(&date).map_or(&[], Vec::as_slice)));
        DailySeries::new(person.joined_on, person.joined_on, days.collect()).unwrap()
    }

    fn day(&self, person: &Person, date: Date, reports: &[&Report]) -> DayTotal {
        let mut away = self.season.absences.iter();
        let away =
            away.find(|away| away.code == person.code && (away.from..=away.to).contains(&date));
        let length = away.map_or(0, |away| i64::from((away.to - away.from).get_days()) + 1);
        let rest = (person.code.clone(), date);
        let expected = self.season.events.iter();
        let expected = expected.filter(|one| one.date == date && one.codes.contains(&person.code));
        let logged = |event: &Scheduled| {
            reports
                .iter()
                .any(|one| one.setting == event.session.setting)
        };
        let open: Vec<&Scheduled> = expected.clone().filter(|event| !logged(event)).collect();
        let most = open.iter().map(|event| {
            Load::of(
                Rpe::MAX,
                Minutes::new(event.session.minutes.into()).unwrap(),
            )
        });
        let facts = DayFacts {
            absence: Absence::of_days(length),
            rest_declared: self.season.rest_days.contains(&rest),
            sessions: u32::try_from(reports.len()).unwrap(),
            expected: u32::try_from(expected.count()).unwrap(),
            unlogged: u32::try_from(open.len()).unwrap(),
            ..DayFacts::default()
        };
        let intervals: Vec<Interval> = reports.iter().map(|report| report.interval).collect();
        let counted = overlaps(&intervals);
        let point: Load = intervals.iter().map(|interval| interval.load).sum();
        let low = intervals
            .iter()
            .zip(counted)
            .filter(|(_, overlap)| overlap.counts_in_low);
        let load = Bounds {
            low: low.map(|(interval, _)| interval.load).sum(),
            point,
            high: point + most.sum(),
        };
        DayTotal::new(
            facts,
            load,
            reports.iter().map(|report| report.minutes).sum(),
        )
        .unwrap()
    }
}

fn of(judged: &[Judgement], rule: RuleCode) -> Judgement {
    let found = judged.iter().find(|judgement| judgement.rule == rule);
    *found.unwrap()
}

const CERTAIN: Outcome = Outcome::Raised(Certainty::Certain);

#[test]
fn the_last_week_tells_each_story_whatever_the_seed_and_the_date() {
    for (seed, club) in clubs() {
        let mut told = 0;
        for person in club
            .people
            .iter()
            .filter(|person| person.story != Story::Usual)
        {
            let judged = judge(&club.policy, &club.series(person, |_| true), club.week).unwrap();
            let [ratio, highest, monotony] = [
                RuleCode::WeekEndRatio,
                RuleCode::OwnHighestWeek,
                RuleCode::WeekMonotony,
            ]
            .map(|rule| of(&judged, rule));
            let holds = match person.story {
                Story::Usual => unreachable!("left out above"),
                Story::SchoolTournament => {
                    let club_only = club.series(person, |setting| setting == Setting::Club);
                    let club_only = judge(&club.policy, &club_only, club.week).unwrap();
                    let club_only = of(&club_only, RuleCode::WeekEndRatio).outcome;
                    (ratio.outcome, club_only) == (CERTAIN, Outcome::NotRaised)
                }
                Story::OwnHighest => {
                    (ratio.outcome, highest.outcome) == (Outcome::NotRaised, CERTAIN)
                }
                Story::Monotonous => {
                    monotony.outcome == CERTAIN && monotony.monotony.unwrap().point.is_some()
                }
                Story::EqualDays => {
                    monotony.outcome == CERTAIN
                        && monotony.monotony == Some(Figure::none(Reason::NoVariation))
                }
                Story::Joiner => ratio.outcome == Outcome::NotComputable(Reason::FewerThan28Days),
                Story::Return => {
                    let ceiling = of(&judged, RuleCode::ReturnCeiling).outcome;
                    let ratio = ratio.outcome;
                    (ratio, ceiling) == (Outcome::NotComputable(Reason::AbsenceInWindow), CERTAIN)
                }
                Story::Forgetful => ratio.outcome == Outcome::Raised(Certainty::Possible),
                Story::Silent => ratio.load.point == Load::ZERO && ratio.load.high > Load::ZERO,
                Story::Overlapping => highest.outcome == Outcome::Raised(Certainty::Possible),
            };
            assert!(
                holds,
                "{:?}, seed {seed}, {}: {judged:#?}",
                person.story, club.week
            );
            told += 1;
        }
        assert_eq!(told, 9);
    }
}

/// A list that names everybody is read by nobody. Over these seeds and dates about half an athlete in
/// 15 has a finding in a week, and three in the last one, which has the stories.
#[test]
fn most_weeks_of_most_athletes_are_quiet() {
    let (mut findings, mut weeks) = (0, 0);
    for (seed, club) in clubs().take(DATES.len()) {
        let mut by_week: BTreeMap<IsoWeek, usize> = BTreeMap::new();
        for person in &club.people {
            let series = club.series(person, |_| true);
            for back in 0..CLOSED {
                let week = club.week.plus(-i32::try_from(back).unwrap()).unwrap();
                // Before she joined there is nothing to judge.
                let judged = judge(&club.policy, &series, week).unwrap_or_default();
                let raised = judged.iter().any(|one| one.certainty().is_some());
                *by_week.entry(week).or_default() += usize::from(raised);
            }
        }
        for (week, found) in by_week {
            assert!(
                15 * found <= 4 * club.people.len(),
                "{found} in {week}, seed {seed}"
            );
            findings += found;
            weeks += 1;
        }
    }
    let per_15 = 15 * findings * 100 / (36 * weeks);
    assert!(
        (30..=100).contains(&per_15),
        "{per_15} in a hundred weeks of 15 athletes"
    );
}

#[test]
fn every_setting_occurs_with_ratings_as_they_are_given() {
    for (seed, club) in clubs() {
        let mut counts: BTreeMap<Setting, usize> = BTreeMap::new();
        for report in &club.reports {
            *counts.entry(report.setting).or_default() += 1;
            let usual = match (report.setting, report.kind) {
                (Setting::Pe, _) => 2.0..=6.0,
                (_, Kind::Practice) => 3.0..=8.0,
                (_, Kind::Game) => 5.0..=10.0,
                (_, Kind::Strength) => 4.0..=8.0,
                _ => 0.0..=10.0,
            };
            assert!(
                usual.contains(&report.rpe.to_f64()),
                "seed {seed}: {:?}",
                report.rpe
            );
        }
        assert_eq!(counts.len(), Setting::ALL.len());
        assert!(
            counts.values().all(|count| *count >= 20),
            "seed {seed}: {counts:?}"
        );
        assert!(!club.season.rest_days.is_empty() && !club.season.absences.is_empty());
    }
}

#[test]
fn nobody_is_in_two_places_but_the_athlete_whose_story_it_is() {
    for (seed, club) in clubs() {
        for person in &club.people {
            let own = club
                .reports
                .iter()
                .filter(|report| report.code == person.code);
            let intervals: Vec<Interval> = own.map(|report| report.interval).collect();
            let twice = overlaps(&intervals)
                .iter()
                .filter(|overlap| overlap.overlaps)
                .count();
            let told = if person.story == Story::Overlapping {
                4
            } else {
                0
            };
            assert_eq!(twice, told, "{}, seed {seed}", person.name);
        }
    }
}

#[test]
fn the_same_seed_and_date_make_the_same_season() {
    let season = |seed| format!("{:?}", club(DATES[0], seed).season);
    assert_eq!(season(3), season(3));
    assert_ne!(season(3), season(4));
}
