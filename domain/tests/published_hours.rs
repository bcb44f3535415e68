//! Values about hours, days and games published outside this project, each with its source.
#![allow(clippy::unwrap_used)]

mod common;

use common::time::{session, time};
use jiff::ToSpan;
use jiff::civil::{Date, date};
use plimsoll_domain::organised_rules::{free_days, hours_by_age};
use plimsoll_domain::{
    Certainty, Decimal, IsoWeek, Kind, OrganisedWeek, Outcome, SessionTime, Setting, SportSession,
    free_play, hours_above_line, near_sessions, organised_week, sport_months, tournament,
};

const MONDAY: Date = date(2026, 11, 9);
const SINCE: Date = date(2026, 1, 1);
const OVER: Outcome = Outcome::Raised(Certainty::Certain);
const WITHIN: Outcome = Outcome::NotRaised;

fn practice(on: Date, minutes: i64) -> SessionTime {
    session(on, 0, minutes, Setting::Club, Kind::Practice)
}

/// A week of practices of so many minutes, one a day from Monday on.
fn week(minutes: &[i64]) -> OrganisedWeek {
    let practices = (0..).zip(minutes);
    let practices = practices.map(|(day, minutes)| practice(MONDAY + day.days(), *minutes));
    let practices: Vec<SessionTime> = practices.collect();
    let organised = [Setting::Club].into_iter().collect();
    organised_week(
        &time(&practices, 0),
        &organised,
        IsoWeek::of(MONDAY).unwrap(),
    )
    .unwrap()
}

/// An athlete of 12 years no more than 12 hours a week; at least two days off a week; no single sport
/// for more than eight months a year. Source: National Athletic Trainers' Association, official
/// statement, 16 October 2019 (read as reprinted).
#[test]
fn check_14_hours_by_age_days_off_and_months() {
    let twelve = Some(MONDAY - 12.years());
    let one = Decimal::hundredths(100);
    let hours = |minutes: &[i64]| hours_by_age(one, twelve, &week(minutes)).unwrap().outcome;
    assert_eq!(hours(&[180, 180, 180, 180]), WITHIN);
    assert_eq!(hours(&[180, 180, 180, 181]), OVER);

    let two = Decimal::hundredths(200);
    assert_eq!(free_days(two, &week(&[60; 5])).outcome, WITHIN);
    assert_eq!(free_days(two, &week(&[60; 6])).outcome, OVER);

    let months = |number: i32| {
        let first_days = (0..number).map(|month| SINCE + month.months());
        let days = first_days.flat_map(|first| (0..4).map(move |day| first + day.days()));
        let sessions = days.map(|day| SportSession {
            sport: "handball",
            session: practice(day, 90),
        });
        let sessions: Vec<_> = sessions.collect();
        let organised = [Setting::Club].into_iter().collect();
        sport_months(&sessions, &organised, SINCE, SINCE)[0].outcome
    };
    assert_eq!((months(8), months(9)), (WITHIN, OVER));
}

/// At most two games a day, in youth basketball. Source: DiFiori JP, et al. (2018) Sports Med
/// 48(9):2053-2065, Table 4.
#[test]
fn check_15_games_a_day() {
    let day_of = |number: i64| {
        let games = (0..number).map(|at| session(MONDAY, 120 * at, 40, Setting::Club, Kind::Game));
        let games: Vec<SessionTime> = games.collect();
        tournament(&games, MONDAY, MONDAY).days[0].over_games_a_day()
    };
    assert_eq!((day_of(2), day_of(3)), (WITHIN, OVER));
}

/// More than two hours of organised sport to one of free play. Source: Jayanthi NA, et al. (2015) Am J
/// Sports Med 43(4):794-801 (odds ratio 1.87; read in a report of the paper).
#[test]
fn check_16_organised_sport_to_free_play() {
    let with = |organised| {
        let free = session(MONDAY, 900, 60, Setting::Free, Kind::Other);
        let sessions = [practice(MONDAY, organised), free];
        let settings = [Setting::Club].into_iter().collect();
        free_play(&time(&sessions, 0), &settings, IsoWeek::of(MONDAY).unwrap())
    };
    assert_eq!(with(120).unwrap().outcome, WITHIN);
    assert_eq!(with(121).unwrap().outcome, OVER);
}

/// A line at 16 hours a week. Source: Loud KJ, et al. (2005) Pediatrics 115(4):e399-e406 (abstract),
/// which counts 16 hours themselves with those above; here, as everywhere, over is strictly greater.
#[test]
fn sixteen_hours_a_week() {
    assert_eq!(hours_above_line(&week(&[240; 4])).outcome, WITHIN);
    assert_eq!(hours_above_line(&week(&[240, 240, 240, 241])).outcome, OVER);
}

/// Two practices on one day at least three hours apart. Source: Casa DJ, Csillan D, et al. (2009) J Athl
/// Train 44(3):332-333, about the first 14 days in the heat (read as reprinted).
#[test]
fn check_26_three_hours_between_two_practices() {
    let second_after = |minutes: i64| {
        let second = session(MONDAY, 600 + minutes, 60, Setting::Club, Kind::Practice);
        let first = session(MONDAY, 540, 60, Setting::Club, Kind::Practice);
        near_sessions(&[first, second]).len()
    };
    assert_eq!((second_after(180), second_after(179)), (0, 1));
}
