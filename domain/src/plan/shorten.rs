//! The least change inside a week: which sessions to shorten, by how many minutes.
//!
//! Sessions are shortened in steps of 5 minutes, or left out. By certain dates the cuts up to then must
//! come to certain AU: in the week view by Sunday, in the rolling view by each day of the week, since on
//! each the seven days that end there reach back over all days of the week before it. Of all choices
//! that do, the answer takes the fewest AU away; of those it changes the fewest sessions; of those the
//! later ones, compared from the latest start backwards, then by id; last, the later session gives more.
//!
//! The sessions are gone through by their start. What is to be decided about later ones depends on the
//! cuts so far only through their sum, so of all choices with one sum the best is kept: a shortest path,
//! exact in whole half-AU. Common practice, no source.

use std::cmp::{Ordering, Reverse};
use std::collections::BTreeMap;

use jiff::civil::{Date, DateTime};

use crate::exact::Fraction;
use crate::load::Load;
use crate::units::{Minutes, Rpe};

/// A step of shortening, in minutes.
const STEP: u16 = 5;

/// A session that may be shortened.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shortenable<K> {
    /// Decides between sessions that start together: the lower one is changed first.
    pub id: K,
    /// When it starts, local time.
    pub start: DateTime,
    /// How hard it is meant to be.
    pub intended: Rpe,
    /// How long it is meant to last.
    pub minutes: Minutes,
    /// The least that is kept of it; without one it may be left out.
    pub least: Option<Minutes>,
}

impl<K> Shortenable<K> {
    /// The minutes it may give: none, steps of 5, and all of it where it may be left out.
    fn cuts(&self) -> Vec<u16> {
        let minutes = self.minutes.get();
        let room = minutes.saturating_sub(self.least.map_or(0, Minutes::get));
        let steps = (0..=room).step_by(STEP.into());
        let whole = (self.least.is_none() && !room.is_multiple_of(STEP)).then_some(room);
        steps.chain(whole).collect()
    }

    fn half_au(&self, cut: u16) -> i64 {
        i64::from(self.intended.half_steps()) * i64::from(cut)
    }
}

/// What cuts must come to by a date.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CutBy {
    /// Sessions that start on this date or before it count.
    pub date: Date,
    /// The least they must come to, AU.
    pub au: Fraction,
}

impl CutBy {
    /// The same in half-AU, rounded up: every cut is a whole number of them.
    fn half_au(&self) -> i64 {
        -(-2 * self.au.numerator()).div_euclid(self.au.denominator())
    }
}

/// A session that gives some of its minutes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shortened<K> {
    /// As given.
    pub id: K,
    /// The minutes it gives.
    pub cut_minutes: u16,
    /// The minutes that are left of it; 0 where it is left out.
    pub kept_minutes: u16,
}

/// The least change that does.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LeastChange<K> {
    /// All cuts together.
    pub total: Load,
    /// The sessions changed, by their start.
    pub sessions: Vec<Shortened<K>>,
}

/// The least change that meets all needs; `None` where no cuts do.
///
/// ```
/// use jiff::civil::date;
/// use plimsoll_domain::plan::{CutBy, Shortenable, least_change};
/// use plimsoll_domain::{Fraction, Minutes, Rpe};
/// let practice = Shortenable {
///     id: "practice",
///     start: date(2026, 11, 5).at(17, 30, 0, 0),
///     intended: Rpe::from_f64(6.0).unwrap(),
///     minutes: Minutes::new(90).unwrap(),
///     least: None,
/// };
/// let need = CutBy { date: date(2026, 11, 8), au: Fraction::whole(371) };
/// let change = least_change(&[practice], &[need]).unwrap();
/// assert_eq!((change.total.to_au(), change.sessions[0].cut_minutes), (390.0, 65));
/// ```
#[must_use]
pub fn least_change<K: Ord + Clone>(
    sessions: &[Shortenable<K>],
    needs: &[CutBy],
) -> Option<LeastChange<K>> {
    let mut by_start: Vec<&Shortenable<K>> = sessions.iter().collect();
    by_start.sort_by_key(|session| (session.start, Reverse(&session.id)));
    let needed = |before: Option<Date>| {
        let until = needs
            .iter()
            .filter(|need| before.is_none_or(|date| need.date < date));
        until.map(CutBy::half_au).max().unwrap_or(0).max(0)
    };
    let mut best = BTreeMap::from([(0, Vec::new())]);
    for session in &by_start {
        let due = needed(Some(session.start.date()));
        best.retain(|sum, _| *sum >= due);
        best = extended(best, session, needed(None));
    }
    let (sum, cuts) = best.into_iter().find(|(sum, _)| *sum >= needed(None))?;
    let changed = by_start.into_iter().zip(cuts).filter(|(_, cut)| *cut > 0);
    let shortened = |(session, cut): (&Shortenable<K>, u16)| Shortened {
        id: session.id.clone(),
        cut_minutes: cut,
        kept_minutes: session.minutes.get() - cut,
    };
    Some(LeastChange {
        total: Load::from_half_au(sum)?,
        sessions: changed.map(shortened).collect(),
    })
}

/// How far the needs are beyond what the sessions can give, AU: the most that is missing by one of the
/// dates; zero where the needs can be met.
#[must_use]
pub fn short_by<K>(sessions: &[Shortenable<K>], needs: &[CutBy]) -> Fraction {
    let missing = |need: &CutBy| {
        let until = sessions.iter().filter(|one| one.start.date() <= need.date);
        let most = until.map(|one| one.half_au(one.cuts().into_iter().max().unwrap_or(0)));
        need.au.less(Fraction::over::<2>(most.sum()))
    };
    let missing = needs.iter().map(missing);
    missing.fold(Fraction::ZERO, Fraction::max)
}

/// The best cuts of each sum, half-AU, with one more session. Where enough is cut already it is left as
/// it is: more would never be less.
fn extended<K>(
    best: BTreeMap<i64, Vec<u16>>,
    session: &Shortenable<K>,
    enough: i64,
) -> BTreeMap<i64, Vec<u16>> {
    let options = session.cuts();
    let mut longer: BTreeMap<i64, Vec<u16>> = BTreeMap::new();
    for (sum, cuts) in best {
        let options = if sum < enough { &options[..] } else { &[0] };
        for &cut in options {
            let candidate = [&cuts[..], &[cut]].concat();
            let slot = longer
                .entry(sum + session.half_au(cut))
                .or_insert_with(|| candidate.clone());
            if preference(&candidate, slot) == Ordering::Greater {
                *slot = candidate;
            }
        }
    }
    longer
}

/// Which of two choices with one sum is better: fewer sessions changed, then later ones, then more from
/// the later ones. Choices for the same later sessions never change the order of two.
fn preference(cuts: &[u16], other: &[u16]) -> Ordering {
    let changed = |cuts: &[u16]| cuts.iter().filter(|cut| **cut > 0).count();
    let from_last = |cuts: &[u16]| cuts.iter().rev().map(|cut| *cut > 0).collect::<Vec<bool>>();
    let fewer = changed(other).cmp(&changed(cuts));
    let later = || from_last(cuts).cmp(&from_last(other));
    fewer
        .then_with(later)
        .then_with(|| cuts.iter().rev().cmp(other.iter().rev()))
}

#[cfg(test)]
mod tests;
