//! What is known about an athlete-day.

use std::ops::{AddAssign, SubAssign};

use crate::coded::coded_enum;

coded_enum! {
    /// What is known about a day. Every athlete-day is exactly one of these.
    DayState {
        /// Every expected session is reported or declared absent.
        Reported = "reported",
        /// The athlete said it was a rest day.
        RestDeclared = "rest_declared",
        /// Nothing was expected and nothing was said.
        AssumedRest = "assumed_rest",
        /// Within a declared absence, and nothing reported.
        Absence = "absence",
        /// Something is reported and something expected is not.
        PartlyReported = "partly_reported",
        /// Sessions were expected and nothing is reported.
        Unlogged = "unlogged",
        /// Before the first membership date: never a zero.
        BeforeMembership = "before_membership",
    }
}

coded_enum! {
    /// What a club takes a day to be on which nothing was expected and nothing was said.
    NothingSaid {
        /// A rest day.
        AssumedRest = "assumed_rest",
        /// Not known.
        Unknown = "unknown",
    }
}

impl DayState {
    /// Whether the day is known, under the club's choice for days on which nothing was said.
    #[must_use]
    pub const fn is_known(self, nothing_said: NothingSaid) -> bool {
        match self {
            DayState::Reported | DayState::RestDeclared | DayState::Absence => true,
            DayState::AssumedRest => matches!(nothing_said, NothingSaid::AssumedRest),
            DayState::PartlyReported | DayState::Unlogged | DayState::BeforeMembership => false,
        }
    }
}

/// Whether a day lies within a declared absence, and how long that absence is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Absence {
    /// No absence.
    #[default]
    None,
    /// An absence of fewer than 14 days.
    Short,
    /// An absence of 14 days or more: no ratio while the 28-day window contains a day of it.
    Long,
}

impl Absence {
    /// Days from which an absence counts as long.
    pub const LONG_FROM_DAYS: i64 = 14;

    /// The absence of this many days, first and last included.
    #[must_use]
    pub const fn of_days(days: i64) -> Absence {
        if days >= Self::LONG_FROM_DAYS {
            Absence::Long
        } else if days > 0 {
            Absence::Short
        } else {
            Absence::None
        }
    }
}

/// What is known about a day beside its loads.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct DayFacts {
    /// The date is before the first membership date.
    pub before_membership: bool,
    /// The absence the date lies in.
    pub absence: Absence,
    /// The athlete declared a rest day.
    pub rest_declared: bool,
    /// Sessions reported and counted.
    pub sessions: u32,
    /// Sessions the athlete was expected at and whose planned end has passed.
    pub expected: u32,
    /// Those of the expected that are neither reported nor declared absent.
    pub unlogged: u32,
}

impl DayFacts {
    /// Sessions left open. A declared rest day or absence answers for every expected session.
    pub(crate) const fn open(&self) -> u32 {
        if self.rest_declared || !matches!(self.absence, Absence::None) {
            0
        } else {
            self.unlogged
        }
    }
}

/// The state of a day.
///
/// A report counts even on a declared rest day or during an absence. Where nothing is reported, an
/// absence comes before a rest day, and both before expected sessions.
#[must_use]
pub const fn state_of(facts: &DayFacts) -> DayState {
    let open = facts.open();
    if facts.before_membership {
        DayState::BeforeMembership
    } else if facts.sessions > 0 {
        if open > 0 {
            DayState::PartlyReported
        } else {
            DayState::Reported
        }
    } else if !matches!(facts.absence, Absence::None) {
        DayState::Absence
    } else if facts.rest_declared {
        DayState::RestDeclared
    } else if open > 0 {
        DayState::Unlogged
    } else if facts.expected > 0 {
        DayState::Reported
    } else {
        DayState::AssumedRest
    }
}

/// How many days of a window are in each state; the counts add up to the window.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct StateCounts {
    counts: [u8; DayState::ALL.len()],
}

impl StateCounts {
    /// The number of days in a state.
    #[must_use]
    pub const fn of(&self, state: DayState) -> u8 {
        self.counts[state as usize]
    }

    /// The number of days in all.
    #[must_use]
    pub fn total(&self) -> u32 {
        self.counts.iter().copied().map(u32::from).sum()
    }

    /// The number of days that are known.
    #[must_use]
    pub fn known(&self, nothing_said: NothingSaid) -> u32 {
        let known = DayState::ALL
            .iter()
            .filter(|state| state.is_known(nothing_said));
        known.map(|state| u32::from(self.of(*state))).sum()
    }

    pub(crate) fn add(&mut self, state: DayState, days: u8) {
        self.counts[state as usize].add_assign(days);
    }

    pub(crate) fn remove(&mut self, state: DayState) {
        self.counts[state as usize].sub_assign(1);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const NOTHING: DayFacts = DayFacts {
        before_membership: false,
        absence: Absence::None,
        rest_declared: false,
        sessions: 0,
        expected: 0,
        unlogged: 0,
    };

    #[test]
    fn every_day_has_one_state() {
        let expected = DayFacts {
            expected: 2,
            unlogged: 2,
            ..NOTHING
        };
        let absent = DayFacts {
            absence: Absence::Short,
            ..NOTHING
        };
        let rest = DayFacts {
            rest_declared: true,
            ..NOTHING
        };
        for (facts, state) in [
            (NOTHING, DayState::AssumedRest),
            (expected, DayState::Unlogged),
            (
                DayFacts {
                    sessions: 1,
                    unlogged: 1,
                    ..expected
                },
                DayState::PartlyReported,
            ),
            (
                DayFacts {
                    sessions: 2,
                    unlogged: 0,
                    ..expected
                },
                DayState::Reported,
            ),
            (
                DayFacts {
                    unlogged: 0,
                    ..expected
                },
                DayState::Reported,
            ),
            (rest, DayState::RestDeclared),
            (
                DayFacts {
                    rest_declared: true,
                    ..expected
                },
                DayState::RestDeclared,
            ),
            (
                DayFacts {
                    sessions: 1,
                    ..rest
                },
                DayState::Reported,
            ),
            (absent, DayState::Absence),
            (
                DayFacts {
                    absence: Absence::Long,
                    ..expected
                },
                DayState::Absence,
            ),
            (
                DayFacts {
                    rest_declared: true,
                    ..absent
                },
                DayState::Absence,
            ),
            (
                DayFacts {
                    sessions: 1,
                    ..absent
                },
                DayState::Reported,
            ),
            (
                DayFacts {
                    before_membership: true,
                    ..absent
                },
                DayState::BeforeMembership,
            ),
        ] {
            assert_eq!(state_of(&facts), state, "{facts:?}");
        }
    }

    #[test]
    fn an_absence_is_long_from_the_fourteenth_day() {
        assert_eq!(Absence::of_days(13), Absence::Short);
        assert_eq!(Absence::of_days(14), Absence::Long);
        assert_eq!(Absence::of_days(0), Absence::None);
    }

    #[test]
    fn silence_is_known_only_where_the_club_takes_it_for_rest() {
        let mut counts = StateCounts::default();
        counts.add(DayState::AssumedRest, 2);
        counts.add(DayState::Absence, 1);
        counts.add(DayState::Unlogged, 4);
        assert_eq!(counts.known(NothingSaid::AssumedRest), 3);
        assert_eq!(counts.known(NothingSaid::Unknown), 1);
        assert_eq!(counts.total(), 7);
        counts.remove(DayState::Unlogged);
        assert_eq!(counts.of(DayState::Unlogged), 3);
    }
}
