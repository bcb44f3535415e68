//! The sessions of a half-year, week by week.

use jiff::Span;
use jiff::civil::{Date, Time};
use jiff::tz::TimeZone;
use plimsoll_domain::{IsoWeek, Kind, Setting};
use rand::{Rng, RngExt};
use serde_json::Number;

use super::people::Person;
use super::story::{ABSENCE, Story};
use super::{WEEKS, ZONE, first_monday};
use crate::services::sessions::SessionInput;

/// A session before it is dated.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Planned {
    pub(super) setting: Setting,
    pub(super) kind: Kind,
    pub(super) hour: i8,
    pub(super) minutes: u16,
    pub(super) rpe: f64,
}

impl Planned {
    pub(super) fn new(setting: Setting, kind: Kind, hour: i8, minutes: u16, rpe: f64) -> Self {
        Self {
            setting,
            kind,
            hour,
            minutes,
            rpe,
        }
    }
}

/// Everything that was logged.
#[derive(Debug, Default)]
pub(super) struct Season {
    /// Reports, in the order in which they were given.
    pub(super) sessions: Vec<SessionInput>,
    /// Declared days of rest: code and date.
    pub(super) rest_days: Vec<(String, Date)>,
    /// Absences: code, first and last date.
    pub(super) absences: Vec<(String, Date, Date)>,
}

impl Season {
    /// The half-year that ends with `week`.
    pub(super) fn of(people: &[Person], week: IsoWeek, random: &mut impl Rng) -> Self {
        let mut season = Season::default();
        let sunday = week.sunday();
        for person in people.iter().filter(|person| person.story == Story::Return) {
            let (from, to) = (
                days_before(sunday, ABSENCE.0),
                days_before(sunday, ABSENCE.1),
            );
            season.absences.push((person.code.clone(), from, to));
        }
        for back in (0..WEEKS).rev() {
            let monday =
                first_monday(week).saturating_add(Span::new().days(7 * (WEEKS - 1 - back)));
            for person in people {
                season.add_week(person, monday, back, random);
            }
        }
        season
    }

    fn add_week(&mut self, person: &Person, monday: Date, back: i64, random: &mut impl Rng) {
        let mut plan = usual_week(person.squad, back);
        // A week with a story is told as it is written.
        let as_written = back == 0 && person.story != Story::Usual;
        for sessions in plan.iter_mut().filter(|_| !as_written) {
            sessions.retain(|_| !random.random_bool(0.03));
            for session in sessions {
                session.rpe += [-0.5, 0.0, 0.0, 0.5][random.random_range(0..4)];
            }
        }
        person.story.tell(back, &mut plan);
        for (day, sessions) in (0..).zip(plan) {
            let date = monday.saturating_add(Span::new().days(day));
            if date < person.joined_on || self.is_away(person, date) {
                continue;
            }
            if sessions.is_empty() && random.random_bool(0.7) {
                self.rest_days.push((person.code.clone(), date));
            }
            self.sessions.extend(
                sessions
                    .iter()
                    .enumerate()
                    .map(|(number, session)| report(&person.code, date, number, session)),
            );
        }
    }

    fn is_away(&self, person: &Person, date: Date) -> bool {
        self.absences
            .iter()
            .any(|(code, from, to)| *code == person.code && (*from..=*to).contains(&date))
    }
}

/// An ordinary week of a squad; every fourth is lighter.
fn usual_week(squad: usize, back: i64) -> [Vec<Planned>; 7] {
    use Kind::{Game, Other, Practice, Strength};
    use Setting::{Club, Free, Pe, PrescribedHome, SchoolTeam};
    let lighter = if back % 4 == 3 { 15 } else { 0 };
    let one = |setting, kind, hour, minutes: u16, rpe| {
        vec![Planned::new(setting, kind, hour, minutes - lighter, rpe)]
    };
    match squad {
        0 => [
            one(Club, Practice, 17, 75, 5.5),
            one(Pe, Other, 10, 45, 3.5),
            one(Club, Practice, 17, 75, 5.0),
            vec![],
            one(Pe, Other, 10, 45, 3.0),
            one(Club, Game, 11, 60, 6.5),
            one(Free, Other, 15, 40, 2.0),
        ],
        1 => [
            one(Club, Practice, 17, 90, 6.0),
            one(PrescribedHome, Strength, 16, 45, 5.0),
            one(SchoolTeam, Practice, 14, 75, 5.5),
            one(Club, Practice, 18, 90, 6.0),
            vec![],
            one(Club, Game, 13, 70, 7.5),
            vec![],
        ],
        _ => [
            one(Club, Practice, 18, 90, 6.0),
            one(PrescribedHome, Strength, 16, 45, 6.0),
            one(Club, Practice, 18, 90, 6.5),
            vec![],
            one(PrescribedHome, Strength, 16, 45, 5.5),
            one(Club, Game, 15, 80, 8.0),
            vec![],
        ],
    }
}

/// The report as the club's app sends it, given 25 minutes after the session.
fn report(code: &str, date: Date, number: usize, session: &Planned) -> SessionInput {
    let start = Time::new(session.hour, 30, 0, 0).unwrap_or(Time::midnight());
    let zone = TimeZone::get(ZONE).unwrap_or(TimeZone::UTC);
    let civil = date.to_datetime(start);
    let offset = zone.to_ambiguous_timestamp(civil).offset();
    let offset = match offset {
        jiff::tz::AmbiguousOffset::Unambiguous { offset } => offset,
        jiff::tz::AmbiguousOffset::Gap { before, .. }
        | jiff::tz::AmbiguousOffset::Fold { before, .. } => before,
    };
    let given = civil.saturating_add(Span::new().minutes(i64::from(session.minutes) + 25));
    let written = |at: jiff::civil::DateTime| {
        offset
            .to_timestamp(at)
            .map(|at| at.display_with_offset(offset).to_string())
            .ok()
    };
    SessionInput {
        external_id: Some(format!("{code}-{date}-{}", number + 1)),
        athlete_external_id: Some(code.to_owned()),
        started_at: written(civil),
        minutes: Some(session.minutes.into()),
        rpe: Number::from_f64(session.rpe.clamp(0.0, 10.0)),
        setting: Some(session.setting.code().to_owned()),
        kind: Some(session.kind.code().to_owned()),
        given_at: written(given),
        given_by: Some("athlete".to_owned()),
        ..SessionInput::default()
    }
}

fn days_before(date: Date, days: i64) -> Date {
    date.saturating_sub(Span::new().days(days))
}
