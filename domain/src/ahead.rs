//! One week ahead: who will be over a limit if the planned sessions happen, and by how much.
//!
//! A planned session weighs its intended session RPE x its planned minutes, AU. Where no effort is
//! planned it lies in the athlete's own usual range of that kind ([`UsualRange`]), or without one
//! anywhere from nothing to session RPE 10. The planned days are put behind the days that are over
//! and judged by the rules that grow with load, exactly as a week that is over. A plan is an
//! intention: nothing here is logged load. Common practice, no source.

use crate::day::DayTotal;
use crate::day_state::{Absence, DayFacts};
use crate::figure::Bounds;
use crate::judge::{Certainty, Judgement, judge};
use crate::load::Load;
use crate::policy::Policy;
use crate::rule::RuleCode;
use crate::sentence;
use crate::series::{DailySeries, days_between};
use crate::units::{Minutes, Rpe};
use crate::usual::UsualRange;
use crate::week::IsoWeek;

/// A session that is planned for one athlete.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PlannedSession {
    /// Its planned minutes.
    pub minutes: Minutes,
    /// How hard it is meant to be.
    pub intended: Option<Rpe>,
    /// The athlete's usual ratings of that kind of session, where there are enough.
    pub usual: Option<UsualRange>,
}

impl PlannedSession {
    /// From the least to the most it will weigh as planned.
    #[must_use]
    pub fn loads(&self) -> (Load, Load) {
        match (self.intended, self.usual) {
            (Some(rpe), _) => {
                let load = Load::of(rpe, self.minutes);
                (load, load)
            }
            (None, Some(usual)) => usual.loads(self.minutes),
            (None, None) => (Load::ZERO, Load::of(Rpe::MAX, self.minutes)),
        }
    }
}

/// One day of the week ahead. On a day of absence nothing is planned.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PlannedDay {
    /// The absence it lies in.
    pub absence: Absence,
    /// What is planned.
    pub sessions: Vec<PlannedSession>,
}

impl PlannedDay {
    /// The day with what is planned beside what is known of it already.
    fn total(&self, known: Option<&DayTotal>) -> Option<DayTotal> {
        let known = match known {
            Some(known) if self.sessions.is_empty() => return Some(*known),
            Some(known) => *known,
            None => DayTotal::assumed_rest(),
        };
        let count = u32::try_from(self.sessions.len()).ok()?;
        let minutes: u32 = self
            .sessions
            .iter()
            .map(|one| u32::from(one.minutes.get()))
            .sum();
        let loads = self.sessions.iter().map(PlannedSession::loads);
        let (low, high) = loads.fold((Load::ZERO, Load::ZERO), |(low, high), (least, most)| {
            (low + least, high + most)
        });
        let facts = DayFacts {
            absence: self.absence,
            sessions: known.sessions() + count,
            expected: known.expected() + count,
            unlogged: known.unlogged(),
            ..DayFacts::default()
        };
        let load = known.load();
        let load = Bounds {
            low: (load.low + low).min(Load::DAY_MAX),
            point: (load.point + low).min(Load::DAY_MAX),
            high: (load.high + high).min(Load::DAY_MAX),
        };
        let minutes = (known.minutes() + minutes).min(DayTotal::MAX_MINUTES);
        DayTotal::new(facts, load, minutes).ok()
    }
}

/// What is planned for an athlete in a week, Monday first.
pub type PlannedWeek = [PlannedDay; 7];

/// An athlete who will, or may, be over a limit.
#[derive(Clone, Debug)]
pub struct Ahead<K> {
    /// As given.
    pub key: K,
    /// As given.
    pub display_name: String,
    /// The rule with its planned load, its limit and the excess; the most certain one, then the
    /// policy's first. The points of its bounds mean nothing here: they are the low ends.
    pub judgement: Judgement,
    /// Sessions planned.
    pub sessions: u32,
    /// Those without a planned effort that were taken at the athlete's usual ratings.
    pub usual_taken: u32,
    /// Those without a planned effort or a usual range, taken from nothing to session RPE 10.
    pub anything_taken: u32,
    /// One plain sentence.
    pub sentence: String,
}

/// What the planned sessions of a week come to; `None` where no rule is raised by them, or nothing is
/// planned. `series` ends on the Sunday before `week`, or within it where the week runs: then what is
/// planned comes on top of what its days hold already.
#[must_use]
pub fn ahead<K>(
    policy: &Policy,
    (key, display_name): (K, String),
    series: &DailySeries,
    week: IsoWeek,
    planned: &PlannedWeek,
) -> Option<Ahead<K>> {
    let sessions: Vec<&PlannedSession> = planned.iter().flat_map(|day| &day.sessions).collect();
    if sessions.is_empty() {
        return None;
    }
    let extended = with_planned(series, week, planned)?;
    let judgement = leading(&judge(policy, &extended, week).ok()?)?;
    let counted = |wanted: fn(&PlannedSession) -> bool| {
        u32::try_from(sessions.iter().filter(|one| wanted(one)).count()).unwrap_or(u32::MAX)
    };
    let mut found = Ahead {
        key,
        display_name,
        judgement,
        sessions: counted(|_| true),
        usual_taken: counted(|one| one.intended.is_none() && one.usual.is_some()),
        anything_taken: counted(|one| one.intended.is_none() && one.usual.is_none()),
        sentence: String::new(),
    };
    found.sentence = sentence::ahead(&found, week);
    Some(found)
}

/// A series up to the end of a week, with what is planned of the week as if it were done. `series` ends
/// on the Sunday before `week`, or within it where the week runs; `None` where it does not.
#[must_use]
pub fn with_planned(
    series: &DailySeries,
    week: IsoWeek,
    planned: &PlannedWeek,
) -> Option<DailySeries> {
    let until = week.monday().yesterday().ok()?..=week.sunday();
    if !until.contains(&series.last()) {
        return None;
    }
    let dates = std::iter::successors(Some(week.monday()), |date| date.tomorrow().ok());
    let of_week = planned.iter().zip(dates);
    let of_week = of_week.filter(|(_, date)| series.first() <= *date);
    let of_week = of_week.map(|(day, date)| day.total(series.day(date)));
    let before = days_between(series.first(), week.monday()).max(0);
    let before = usize::try_from(before).ok()?;
    let before = series.days().get(..before)?.to_vec();
    let days = [before, of_week.collect::<Option<Vec<_>>>()?].concat();
    let extended = DailySeries::new(series.member_since(), series.first(), days).ok()?;
    Some(extended.with_limits(series.limits().to_vec()))
}

/// Of the rules that grow with load, the most certain one that is raised.
fn leading(judgements: &[Judgement]) -> Option<Judgement> {
    let of = |certainty: Certainty| {
        let raised = |judged: &&Judgement| {
            grows_with_load(judged.rule) && judged.certainty() == Some(certainty)
        };
        judgements.iter().find(raised).copied()
    };
    of(Certainty::Certain).or_else(|| of(Certainty::Possible))
}

const fn grows_with_load(rule: RuleCode) -> bool {
    matches!(
        rule,
        RuleCode::WeekEndRatio | RuleCode::OwnHighestWeek | RuleCode::ReturnCeiling
    )
}

#[cfg(test)]
mod tests;
