//! One athlete-day: what is known about it, and its load.

use std::ops::{AddAssign, SubAssign};

use crate::figure::Bounds;
use crate::session::coded_enum;
use crate::units::Load;

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
    const fn open(&self) -> u32 {
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
