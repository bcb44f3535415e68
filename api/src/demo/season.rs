//! The sessions of a half-year, week by week.

use jiff::Span;
use jiff::civil::{Date, DateTime, Time};
use jiff::tz::{AmbiguousOffset, TimeZone};
use plimsoll_domain::IsoWeek;
use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha20Rng;
use serde_json::Number;

use super::people::Person;
use super::plan::{Planned, add_extra, usual_week, vary};
use super::story::{ABSENCE, Story};
use super::{WEEKS, ZONE};
use crate::services::sessions::SessionInput;
use crate::store::AbsenceCategory;

/// Everything that was logged.
#[derive(Debug, Default)]
pub(super) struct Season {
    /// Reports, in the order in which they were given.
    pub(super) sessions: Vec<SessionInput>,
    /// Declared days of rest: code and date.
    pub(super) rest_days: Vec<(String, Date)>,
    /// Spans of days away.
    pub(super) absences: Vec<Away>,
}

/// A span of days away, both ends included.
#[derive(Debug)]
pub(super) struct Away {
    pub(super) code: String,
    pub(super) from: Date,
    pub(super) to: Date,
    pub(super) category: AbsenceCategory,
}

impl Season {
    /// The half-year that ends with `week`. Each athlete has a stream of chance of her own, so that
    /// a change to one leaves the others as they were.
    pub(super) fn of(people: &[Person], week: IsoWeek, seed: u64) -> Self {
        let streams = (0..).take(people.len()).map(|number| {
            let mut random = ChaCha20Rng::seed_from_u64(seed);
            random.set_stream(number);
            random
        });
        let mut streams: Vec<ChaCha20Rng> = streams.collect();
        let away = people.iter().zip(&mut streams);
        let mut season = Season {
            absences: away
                .filter_map(|(person, random)| away_in(person, week, random))
                .collect(),
            ..Season::default()
        };
        for back in (0..WEEKS).rev() {
            let monday = week.monday().saturating_sub(Span::new().days(7 * back));
            for (person, random) in people.iter().zip(&mut streams) {
                season.add_week(person, monday, back, random);
            }
        }
        season
    }

    fn add_week(&mut self, person: &Person, monday: Date, back: i64, random: &mut impl Rng) {
        let mut plan = usual_week(person.squad, back);
        person.habit.add_to(&mut plan);
        // A week with a story is told as it is written.
        if back > 0 || person.story == Story::Usual {
            vary(&mut plan, random);
        }
        // The last week belongs to the stories.
        if back > 0 && person.story == Story::Usual {
            add_extra(&mut plan, random);
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
            .any(|away| away.code == person.code && (away.from..=away.to).contains(&date))
    }
}

/// The absence her story is about, or for every sixth athlete a week away in the season.
fn away_in(person: &Person, week: IsoWeek, random: &mut impl Rng) -> Option<Away> {
    let before_end = |days| week.sunday().saturating_sub(Span::new().days(days));
    let away = |from, to, category| Away {
        code: person.code.clone(),
        from: before_end(from),
        to: before_end(to),
        category,
    };
    match person.story {
        Story::Return => Some(away(ABSENCE.0, ABSENCE.1, AbsenceCategory::NotAvailable)),
        Story::Usual if random.random_bool(1.0 / 6.0) => {
            let last = 7 * random.random_range(8..WEEKS - 4);
            let why = [AbsenceCategory::Holiday, AbsenceCategory::Exams];
            Some(away(last + 6, last, why[random.random_range(0..2)]))
        }
        _ => None,
    }
}

/// The report as the club's app sends it, given 25 minutes after the session.
fn report(code: &str, date: Date, number: usize, session: &Planned) -> SessionInput {
    let start = Time::new(session.hour, 30, 0, 0).unwrap_or(Time::midnight());
    let zone = TimeZone::get(ZONE).unwrap_or(TimeZone::UTC);
    let civil = date.to_datetime(start);
    let offset = match zone.to_ambiguous_timestamp(civil).offset() {
        AmbiguousOffset::Unambiguous { offset } => offset,
        AmbiguousOffset::Gap { before, .. } | AmbiguousOffset::Fold { before, .. } => before,
    };
    let given = civil.saturating_add(Span::new().minutes(i64::from(session.minutes) + 25));
    let written = |at: DateTime| {
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
