//! When a session of one athlete took place and how long she took part, rated or not.
//!
//! Minutes are those attended. Of a session that was expected and is neither reported nor declared
//! absent they lie between nothing and the minutes planned; as logged there are none. A session that
//! ran longer than planned, and one that nobody planned, cannot be bounded. A missing rating leaves
//! nothing unknown here.

use crate::figure::Bounds;
use crate::load::Load;
use crate::matching::Slot;
use crate::overlap::{Interval, overlaps};
use crate::session::Kind;
use crate::units::{Minutes, Rpe};

/// How long an athlete took part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Attended {
    /// The minutes that count of a session she was at.
    Known(Minutes),
    /// Expected, and neither reported nor declared absent: at most the minutes planned. A declared rest
    /// day or absence answers for what was expected, so that is no session at all.
    Unlogged {
        /// The minutes planned.
        planned: Minutes,
    },
}

impl Attended {
    /// Minutes as logged, between the least and the most they can be.
    #[must_use]
    pub fn minutes(self) -> Bounds<u32> {
        match self {
            Attended::Known(minutes) => Bounds::exact(minutes.get().into()),
            Attended::Unlogged { planned } => Bounds {
                low: 0,
                point: 0,
                high: planned.get().into(),
            },
        }
    }

    /// How many sessions it is: one, or while unlogged none to one.
    #[must_use]
    pub fn sessions(self) -> Bounds<u32> {
        self.minutes().map(|minutes| u32::from(minutes > 0))
    }
}

/// A session of one athlete in time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SessionTime {
    /// When, and who ran it. It belongs wholly to the load date of its start.
    pub slot: Slot,
    /// What was done.
    pub kind: Kind,
    /// How long she took part.
    pub attended: Attended,
}

impl SessionTime {
    /// Whether she was there, with minutes that are known.
    #[must_use]
    pub const fn is_known(&self) -> bool {
        matches!(self.attended, Attended::Known(_))
    }
}

/// Sum of minutes; the ends add. The lower end counts the longest alone of sessions that overlap,
/// because nobody can have been at both in full.
#[must_use]
pub fn total_minutes<'a>(sessions: impl Iterator<Item = &'a SessionTime> + Clone) -> Bounds<u32> {
    let minutes = sessions.clone().map(|session| session.attended.minutes());
    let sum = minutes.fold(Bounds::default(), |sum, minutes| sum + minutes);
    Bounds {
        low: without_overlap(sessions),
        ..sum
    }
}

fn without_overlap<'a>(sessions: impl Iterator<Item = &'a SessionTime>) -> u32 {
    let known = sessions.filter_map(|session| match session.attended {
        Attended::Known(minutes) => Some((session.slot, minutes)),
        Attended::Unlogged { .. } => None,
    });
    let (intervals, minutes): (Vec<Interval>, Vec<u32>) = known
        .map(|(Slot { start, end, .. }, minutes)| {
            // At one and the same rating the heavier session is the longer one.
            let load = Load::of(Rpe::MAX, minutes);
            (Interval { start, end, load }, u32::from(minutes.get()))
        })
        .unzip();
    let counted = overlaps(&intervals).into_iter().zip(minutes);
    counted
        .filter(|(overlap, _)| overlap.counts_in_low)
        .map(|(_, minutes)| minutes)
        .sum()
}

/// Sessions the way tests state them.
#[cfg(test)]
pub(crate) mod examples {
    use jiff::civil::{Date, date};

    use super::*;
    use crate::series::days_between;
    use crate::session::Setting;

    /// A club practice that began so many hours into a date and lasted so many minutes.
    pub(crate) fn practice(on: Date, hour: i64, minutes: i64) -> SessionTime {
        let start = 3600 * (24 * days_between(date(2026, 1, 1), on) + hour);
        SessionTime {
            slot: Slot {
                date: on,
                start,
                end: start + 60 * minutes,
                setting: Setting::Club,
            },
            kind: Kind::Practice,
            attended: Attended::Known(Minutes::new(minutes).unwrap()),
        }
    }

    /// A game of the club.
    pub(crate) fn game(on: Date, hour: i64, minutes: i64) -> SessionTime {
        SessionTime {
            kind: Kind::Game,
            ..practice(on, hour, minutes)
        }
    }

    /// The same session, run by somebody else.
    pub(crate) fn run_by(setting: Setting, session: SessionTime) -> SessionTime {
        let slot = Slot {
            setting,
            ..session.slot
        };
        SessionTime { slot, ..session }
    }

    /// The same session, expected and not logged.
    pub(crate) fn unlogged(session: SessionTime) -> SessionTime {
        let planned = Minutes::new((session.slot.end - session.slot.start) / 60).unwrap();
        SessionTime {
            attended: Attended::Unlogged { planned },
            ..session
        }
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::{Date, date};

    use super::examples::{practice, unlogged};
    use super::*;

    const DAY: Date = date(2026, 11, 9);

    fn total(sessions: &[SessionTime]) -> (u32, u32, u32) {
        let Bounds { low, point, high } = total_minutes(sessions.iter());
        (low, point, high)
    }

    #[test]
    fn unlogged_sessions_count_at_the_upper_end_alone() {
        let known = practice(DAY, 9, 90);
        let open = unlogged(practice(DAY, 17, 60));
        assert_eq!(total(&[known, open]), (90, 90, 150));
        assert_eq!(total(&[]), (0, 0, 0));
        assert_eq!(known.attended.sessions(), Bounds::exact(1));
        let sessions = open.attended.sessions();
        assert_eq!((sessions.low, sessions.point, sessions.high), (0, 0, 1));
    }

    #[test]
    fn of_overlapping_sessions_the_lower_end_counts_the_longest() {
        let of = |second| total(&[practice(DAY, 9, 120), second]);
        assert_eq!(of(practice(DAY, 10, 60)), (120, 180, 180));
        assert_eq!(of(practice(DAY, 11, 60)), (180, 180, 180));
        let what_may_not_have_been = unlogged(practice(DAY, 9, 180));
        assert_eq!(of(what_may_not_have_been), (120, 120, 300));
    }
}
