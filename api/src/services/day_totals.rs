//! From one athlete's sessions to totals by date and setting.
//!
//! The same function serves the stored totals and the totals rebuilt for a past state of knowledge,
//! so that the two cannot differ.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::Date;
use plimsoll_domain::{Bounds, Interval, Load, Minutes, Rpe, Setting, overlaps, split_at_midnight};

/// One session as far as totals need it, whoever reported it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Counted {
    /// Date at the place where it was held.
    pub load_date: Date,
    /// Start.
    pub started_at: Timestamp,
    /// Minutes, 1 to 600.
    pub minutes: Minutes,
    /// Minutes before local midnight, where the session crosses it.
    pub minutes_before_midnight: Option<Minutes>,
    /// Session RPE.
    pub rpe: Rpe,
    /// Who ran it.
    pub setting: Setting,
    /// Its load, and the range its sources dispute.
    pub load: Bounds<Load>,
}

impl Counted {
    /// The session in time, for finding overlaps.
    pub fn interval(&self) -> Interval {
        let start = self.started_at.as_second();
        Interval {
            start,
            end: start + i64::from(self.minutes.get()) * 60,
            load: self.load.point,
        }
    }

    /// The dates the session's load falls on, with load and minutes: one, or two where the policy
    /// splits a session at midnight. What is disputed stays with the first.
    fn parts(&self, split: bool) -> Vec<(Date, Bounds<Load>, Minutes)> {
        let whole = vec![(self.load_date, self.load, self.minutes)];
        let Some(before) = self.minutes_before_midnight.filter(|_| split) else {
            return whole;
        };
        let rest = i64::from(self.minutes.get()) - i64::from(before.get());
        match (Minutes::new(rest), self.load_date.tomorrow()) {
            (Ok(after), Ok(tomorrow)) => {
                let (_, second) = split_at_midnight(self.rpe, before, after);
                let second = Bounds {
                    low: second.min(self.load.low),
                    ..Bounds::exact(second)
                };
                let first = Bounds {
                    low: self.load.low.less(second.low),
                    point: self.load.point.less(second.point),
                    high: self.load.high.less(second.high),
                };
                vec![(self.load_date, first, before), (tomorrow, second, after)]
            }
            _ => whole,
        }
    }
}

/// One athlete's total of one date in one setting.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Total {
    /// Load as logged and its bounds.
    pub load: Bounds<Load>,
    /// Minutes that count.
    pub minutes: u32,
    /// Sessions reported.
    pub sessions: u32,
}

/// What a session adds to a date.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Share {
    /// The session's place in the list.
    pub session: usize,
    /// The date.
    pub date: Date,
    /// Its load on that date, and the range its sources dispute.
    pub load: Bounds<Load>,
    /// Its minutes on that date.
    pub minutes: Minutes,
    /// Whether its load belongs to the lower bound of a sum: it does not where it overlaps a heavier
    /// session.
    pub counts_in_low: bool,
}

/// What each session adds to which date. `split` says for a load date whether the policy in force then
/// splits sessions at midnight. Sessions whose neighbours in time are missing must not be given:
/// overlaps are found among those given.
pub fn shares(sessions: &[Counted], split: impl Fn(Date) -> bool) -> Vec<Share> {
    let intervals: Vec<Interval> = sessions.iter().map(Counted::interval).collect();
    let overlaps = overlaps(&intervals);
    let mut shares = Vec::with_capacity(sessions.len());
    for (at, (session, overlap)) in sessions.iter().zip(overlaps).enumerate() {
        let parts = session.parts(split(session.load_date)).into_iter();
        shares.extend(parts.map(|(date, load, minutes)| Share {
            session: at,
            date,
            load,
            minutes,
            counts_in_low: overlap.counts_in_low,
        }));
    }
    shares
}

/// Totals by date and setting of what [`shares`] gives.
pub fn totals(
    sessions: &[Counted],
    split: impl Fn(Date) -> bool,
) -> BTreeMap<(Date, Setting), Total> {
    let mut totals: BTreeMap<(Date, Setting), Total> = BTreeMap::new();
    for share in shares(sessions, split) {
        let setting = sessions[share.session].setting;
        let total = totals.entry((share.date, setting)).or_default();
        let low = if share.counts_in_low {
            share.load.low
        } else {
            Load::ZERO
        };
        total.load = total.load + Bounds { low, ..share.load };
        total.minutes += u32::from(share.minutes.get());
        total.sessions += 1;
    }
    totals
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    fn report(start: &str, minutes: i64, rpe: f64, setting: Setting) -> Counted {
        let (local, _) = start.split_once('T').unwrap();
        let (minutes, rpe) = (Minutes::new(minutes).unwrap(), Rpe::from_f64(rpe).unwrap());
        Counted {
            load_date: local.parse().unwrap(),
            started_at: start.parse().unwrap(),
            minutes,
            minutes_before_midnight: None,
            rpe,
            setting,
            load: Bounds::exact(Load::of(rpe, minutes)),
        }
    }

    #[test]
    fn s20a_an_overlapping_session_leaves_the_lower_bound() {
        let reports = [
            report("2026-10-15T17:30:00+02:00", 90, 6.0, Setting::Club),
            report("2026-10-15T18:00:00+02:00", 60, 4.0, Setting::SchoolTeam),
        ];
        let totals = totals(&reports, |_| false);
        let club = totals[&(date(2026, 10, 15), Setting::Club)].load;
        let school = totals[&(date(2026, 10, 15), Setting::SchoolTeam)].load;
        assert_eq!((club.low.to_au(), club.point.to_au()), (540.0, 540.0));
        assert_eq!((school.low.to_au(), school.point.to_au()), (0.0, 240.0));
    }

    #[test]
    fn s06_a_session_over_midnight_is_whole_or_split_by_policy() {
        let mut game = report("2026-12-31T23:40:00+01:00", 45, 8.0, Setting::Club);
        game.minutes_before_midnight = Minutes::new(20).ok();
        let at = |totals: &BTreeMap<(Date, Setting), Total>, day| {
            totals
                .get(&(day, Setting::Club))
                .map(|total| total.load.point.to_au())
        };
        let (eve, new_year) = (date(2026, 12, 31), date(2027, 1, 1));
        let whole = totals(&[game], |_| false);
        assert_eq!((at(&whole, eve), at(&whole, new_year)), (Some(360.0), None));
        let split = totals(&[game], |_| true);
        assert_eq!(
            (at(&split, eve), at(&split, new_year)),
            (Some(160.0), Some(200.0))
        );
    }
}
