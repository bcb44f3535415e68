//! The sessions of a half-year, week by week.

use std::collections::BTreeMap;

use jiff::Span;
use jiff::civil::{Date, DateTime, Time};
use jiff::tz::{AmbiguousOffset, Offset, TimeZone};
use plimsoll_domain::{IsoWeek, Setting};
use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha20Rng;
use serde_json::Number;

use super::people::{Person, SQUADS};
use super::plan::{Planned, add_extra, usual_week, vary};
use super::story::{ABSENCE, Story};
use super::{SCHEDULED, WEEKS, ZONE};
use crate::ids::AthleteId;
use crate::services::events::EventInput;
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
    /// The club's own sessions of the last weeks, as its schedule has them.
    pub(super) events: Vec<Scheduled>,
}

/// A session of a squad on its date, and who was expected.
#[derive(Debug)]
pub(super) struct Scheduled {
    pub(super) squad: usize,
    pub(super) date: Date,
    pub(super) session: Planned,
    pub(super) codes: Vec<String>,
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
            if back < SCHEDULED {
                season.events.extend(schedule(monday, back));
            }
            for (person, random) in people.iter().zip(&mut streams) {
                season.add_week(person, monday, back, random);
            }
        }
        // A session of whose athletes none was there was not held.
        season.events.retain(|event| !event.codes.is_empty());
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
            let open = back == 0 && person.story.leaves_open();
            self.expect(person, date, &sessions, open);
            if sessions.is_empty() && random.random_bool(0.7) && !open {
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

    /// Notes who was expected: whoever was there, and who forgot to say so. The others were excused.
    fn expect(&mut self, person: &Person, date: Date, sessions: &[Planned], open: bool) {
        let of_day = |event: &&mut Scheduled| event.date == date && event.squad == person.squad;
        for event in self.events.iter_mut().filter(of_day) {
            if open
                || sessions
                    .iter()
                    .any(|session| event.session.is_same(session))
            {
                event.codes.push(person.code.clone());
            }
        }
    }

    fn is_away(&self, person: &Person, date: Date) -> bool {
        self.absences
            .iter()
            .any(|away| away.code == person.code && (away.from..=away.to).contains(&date))
    }
}

/// What the club itself runs in a week.
fn schedule(monday: Date, back: i64) -> Vec<Scheduled> {
    let mut events = Vec::new();
    for squad in 0..SQUADS.len() {
        for (day, sessions) in (0..).zip(usual_week(squad, back)) {
            let run_by_club = sessions
                .into_iter()
                .filter(|one| one.setting == Setting::Club);
            events.extend(run_by_club.map(|session| Scheduled {
                squad,
                date: monday.saturating_add(Span::new().days(day)),
                session,
                codes: Vec::new(),
            }));
        }
    }
    events
}

/// The absence her story is about, or for every sixth athlete some days away in the season.
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
            // Back on Sunday: six days need no ramp.
            Some(away(last + 6, last + 1, why[random.random_range(0..2)]))
        }
        _ => None,
    }
}

/// Half past an hour of a date, with the offset of the club's zone.
pub(super) fn half_past(date: Date, hour: i8) -> (DateTime, Offset) {
    let start = Time::new(hour, 30, 0, 0).unwrap_or(Time::midnight());
    let zone = TimeZone::get(ZONE).unwrap_or(TimeZone::UTC);
    let civil = date.to_datetime(start);
    let offset = match zone.to_ambiguous_timestamp(civil).offset() {
        AmbiguousOffset::Unambiguous { offset } => offset,
        AmbiguousOffset::Gap { before, .. } | AmbiguousOffset::Fold { before, .. } => before,
    };
    (civil, offset)
}

pub(super) fn written(at: DateTime, offset: Offset) -> Option<String> {
    let at = offset.to_timestamp(at).ok()?;
    Some(at.display_with_offset(offset).to_string())
}

impl Scheduled {
    /// The event as the club's app sends it.
    pub(super) fn event(&self, athletes: &BTreeMap<String, AthleteId>) -> EventInput {
        let (civil, offset) = half_past(self.date, self.session.hour);
        let invited = self.codes.iter().filter_map(|code| athletes.get(code));
        EventInput {
            external_id: Some(format!("{}-{}", SQUADS[self.squad], self.date)),
            setting: Some(self.session.setting.code().to_owned()),
            kind: Some(self.session.kind.code().to_owned()),
            starts_at: written(civil, offset),
            minutes: Some(self.session.minutes.into()),
            athletes: Some(invited.map(ToString::to_string).collect()),
            status: Some("held".to_owned()),
            ..EventInput::default()
        }
    }
}

/// The report as the club's app sends it, given 25 minutes after the session.
fn report(code: &str, date: Date, number: usize, session: &Planned) -> SessionInput {
    let (civil, offset) = half_past(date, session.hour);
    let given = civil.saturating_add(Span::new().minutes(i64::from(session.minutes) + 25));
    SessionInput {
        external_id: Some(format!("{code}-{date}-{}", number + 1)),
        athlete_external_id: Some(code.to_owned()),
        started_at: written(civil, offset),
        minutes: Some(session.minutes.into()),
        rpe: Number::from_f64(session.rpe.clamp(0.0, 10.0)),
        setting: Some(session.setting.code().to_owned()),
        kind: Some(session.kind.code().to_owned()),
        given_at: written(given, offset),
        given_by: Some("athlete".to_owned()),
        ..SessionInput::default()
    }
}
