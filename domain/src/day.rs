//! One athlete-day: its load, with what is known about it.

use crate::day_state::{Absence, DayFacts, DayState, state_of};
use crate::figure::Bounds;
use crate::load::Load;

/// The load of one athlete on one local date, with what is known about it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DayTotal {
    state: DayState,
    absence: Absence,
    load: Bounds<Load>,
    minutes: u32,
    sessions: u32,
    expected: u32,
    unlogged: u32,
}

/// Why a day total is refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum DayTotalError {
    /// More than a date can hold.
    #[error("a day holds at most 1,500 minutes and 15,000 AU")]
    OverDayMax,
    /// The bounds do not enclose the logged load.
    #[error("the bounds of a day's load must enclose the load as logged")]
    BoundsCrossed,
    /// More unlogged sessions than expected ones.
    #[error("a day cannot have more unlogged sessions than expected ones")]
    UnloggedOverExpected,
    /// Load or minutes without a session, or a range without anything unknown.
    #[error("a load, minutes or a range of loads need sessions to come from")]
    WithoutSession,
    /// Something is logged before the first membership date.
    #[error("nothing counts before the first membership date")]
    BeforeMembership,
}

impl DayTotal {
    /// The most minutes one local date can hold: 25 hours, when clocks go back.
    pub const MAX_MINUTES: u32 = 1500;

    /// A day total from what is known and the bounds of its load.
    ///
    /// `load.high` above [`Load::DAY_MAX`] is lowered to it, since no date can hold more. Where a
    /// declared rest day or an absence answers for the unlogged sessions it is lowered to the load
    /// as logged.
    ///
    /// # Errors
    /// [`DayTotalError`], one variant for each rule.
    pub fn new(facts: DayFacts, load: Bounds<Load>, minutes: u32) -> Result<Self, DayTotalError> {
        if load.point > Load::DAY_MAX || minutes > Self::MAX_MINUTES {
            return Err(DayTotalError::OverDayMax);
        }
        if load.low > load.point || load.point > load.high {
            return Err(DayTotalError::BoundsCrossed);
        }
        if facts.unlogged > facts.expected {
            return Err(DayTotalError::UnloggedOverExpected);
        }
        let counted = load.point > Load::ZERO || minutes > 0;
        let ranges = load.high > Load::ZERO && facts.unlogged == 0;
        if facts.sessions == 0 && (counted || ranges) {
            return Err(DayTotalError::WithoutSession);
        }
        if facts.before_membership && (facts.sessions > 0 || facts.expected > 0) {
            return Err(DayTotalError::BeforeMembership);
        }
        let open = facts.open();
        let answered = facts.unlogged > open;
        let high = if answered {
            load.point
        } else {
            load.high.min(Load::DAY_MAX)
        };
        Ok(DayTotal {
            state: state_of(&facts),
            absence: facts.absence,
            load: Bounds { high, ..load },
            minutes,
            sessions: facts.sessions,
            expected: facts.expected,
            unlogged: open,
        })
    }

    /// A date before the first membership date.
    #[must_use]
    pub const fn before_membership() -> DayTotal {
        DayTotal::empty(DayState::BeforeMembership)
    }

    /// A date on which nothing was expected and nothing was said.
    #[must_use]
    pub const fn assumed_rest() -> DayTotal {
        DayTotal::empty(DayState::AssumedRest)
    }

    const fn empty(state: DayState) -> DayTotal {
        let load = Bounds {
            low: Load::ZERO,
            point: Load::ZERO,
            high: Load::ZERO,
        };
        let absence = Absence::None;
        DayTotal {
            state,
            absence,
            load,
            minutes: 0,
            sessions: 0,
            expected: 0,
            unlogged: 0,
        }
    }

    /// A day reported in one session, minutes aside; a rest day declared where the load is zero.
    ///
    /// # Errors
    /// [`DayTotalError::OverDayMax`] above [`Load::DAY_MAX`].
    pub fn logged(load: Load) -> Result<DayTotal, DayTotalError> {
        let rest = load == Load::ZERO;
        let facts = DayFacts {
            rest_declared: rest,
            sessions: u32::from(!rest),
            ..DayFacts::default()
        };
        DayTotal::new(facts, Bounds::exact(load), 0)
    }

    /// What is known about the day.
    #[must_use]
    pub const fn state(&self) -> DayState {
        self.state
    }

    /// The absence the day lies in, whatever was reported.
    #[must_use]
    pub const fn absence(&self) -> Absence {
        self.absence
    }

    /// The load as logged and its bounds.
    #[must_use]
    pub const fn load(&self) -> Bounds<Load> {
        self.load
    }

    /// Minutes of the sessions reported.
    #[must_use]
    pub const fn minutes(&self) -> u32 {
        self.minutes
    }

    /// Sessions reported.
    #[must_use]
    pub const fn sessions(&self) -> u32 {
        self.sessions
    }

    /// Sessions expected.
    #[must_use]
    pub const fn expected(&self) -> u32 {
        self.expected
    }

    /// Expected sessions left open.
    #[must_use]
    pub const fn unlogged(&self) -> u32 {
        self.unlogged
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bounds(low: u16, point: u16, high: u16) -> Bounds<Load> {
        Bounds { low, point, high }.map(Load::from_au)
    }

    const REPORTED: DayFacts = DayFacts {
        before_membership: false,
        absence: Absence::None,
        rest_declared: false,
        sessions: 1,
        expected: 1,
        unlogged: 0,
    };

    #[test]
    fn refuses_more_than_a_date_can_hold() {
        let of = |load: Bounds<Load>, minutes| DayTotal::new(REPORTED, load, minutes);
        assert!(of(bounds(15_000, 15_000, 15_000), 1500).is_ok());
        assert_eq!(
            of(bounds(15_001, 15_001, 15_001), 90),
            Err(DayTotalError::OverDayMax)
        );
        assert_eq!(of(bounds(90, 90, 90), 1501), Err(DayTotalError::OverDayMax));
        assert_eq!(
            of(bounds(91, 90, 90), 90),
            Err(DayTotalError::BoundsCrossed)
        );
        assert_eq!(
            of(bounds(90, 90, 89), 90),
            Err(DayTotalError::BoundsCrossed)
        );
    }

    #[test]
    fn refuses_loads_from_nowhere() {
        let nothing = DayFacts {
            sessions: 0,
            expected: 0,
            ..REPORTED
        };
        let of = |facts, load, minutes| DayTotal::new(facts, load, minutes);
        assert_eq!(
            of(nothing, bounds(0, 5, 5), 0),
            Err(DayTotalError::WithoutSession)
        );
        assert_eq!(
            of(nothing, bounds(0, 0, 5), 0),
            Err(DayTotalError::WithoutSession)
        );
        assert_eq!(
            of(nothing, bounds(0, 0, 0), 5),
            Err(DayTotalError::WithoutSession)
        );
        let unlogged = DayFacts {
            unlogged: 2,
            ..REPORTED
        };
        assert_eq!(
            of(unlogged, bounds(0, 0, 0), 0),
            Err(DayTotalError::UnloggedOverExpected)
        );
        let early = DayFacts {
            before_membership: true,
            ..REPORTED
        };
        assert_eq!(
            of(early, bounds(0, 0, 0), 0),
            Err(DayTotalError::BeforeMembership)
        );
    }

    #[test]
    fn the_high_end_is_what_the_date_can_hold() {
        let facts = DayFacts {
            expected: 3,
            unlogged: 2,
            ..REPORTED
        };
        let day = DayTotal::new(facts, bounds(9000, 9000, 21_000), 600).unwrap();
        assert_eq!(day.load().high, Load::DAY_MAX);
        assert_eq!((day.unlogged(), day.state()), (2, DayState::PartlyReported));
    }

    #[test]
    fn rest_or_absence_answers_for_what_was_expected() {
        let open = DayFacts {
            sessions: 0,
            expected: 1,
            unlogged: 1,
            ..REPORTED
        };
        for facts in [
            DayFacts {
                rest_declared: true,
                ..open
            },
            DayFacts {
                absence: Absence::Long,
                ..open
            },
        ] {
            let day = DayTotal::new(facts, bounds(0, 0, 900), 0).unwrap();
            assert_eq!((day.load(), day.unlogged()), (Bounds::default(), 0));
        }
    }

    #[test]
    fn disputed_minutes_keep_their_range_on_a_reported_day() {
        let day = DayTotal::new(REPORTED, bounds(450, 553, 585), 85).unwrap();
        assert_eq!(
            (day.load(), day.state()),
            (bounds(450, 553, 585), DayState::Reported)
        );
    }
}
