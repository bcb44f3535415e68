//! The dose of neuromuscular warm-up that an athlete had in an ISO week.
//!
//! From the sessions she attended: what was delivered to others does not count. The dose is sessions and
//! minutes; what makes it complete are the kinds of exercise and feedback on technique. Each part is
//! reported. Sources: Sugimoto D, et al. (2014) Sports Med 44(4):551-562 on the dose (two sessions and 30
//! minutes a week: value from memory); Padua DA, et al. (2018) J Athl Train 53(1):5-19 on at least three of
//! the five categories, with feedback. The evidence is about groups and injuries of the cruciate ligament;
//! it promises nothing to one person.

use std::collections::BTreeSet;

use jiff::civil::Date;

use crate::coded::coded_enum;
use crate::exact::{Decimal, Fraction};
use crate::judge::{Certainty, Outcome};
use crate::reason::Reason;
use crate::rule::{Rule, RuleCode};
use crate::series::days_between;

coded_enum! {
    /// A kind of exercise in a neuromuscular warm-up.
    ExerciseCategory {
        /// Strength.
        Strength = "strength",
        /// Jumping and landing.
        Jump = "jump",
        /// Agility.
        Agility = "agility",
        /// Balance.
        Balance = "balance",
        /// Flexibility.
        Flexibility = "flexibility",
    }
}

/// Minutes of a warm-up, 0 to 600; 0 where none was held.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct WarmUpMinutes(u16);

/// Why this is no warm-up.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum WarmUpError {
    /// More than a session can have.
    #[error("a warm-up has 0 to 600 minutes")]
    Minutes,
    /// None was held, and yet it held something.
    #[error("a warm-up of 0 minutes has no categories and no feedback")]
    NothingHeld,
}

impl WarmUpMinutes {
    /// From a whole number.
    ///
    /// # Errors
    /// [`WarmUpError::Minutes`] outside 0 to 600.
    pub fn new(minutes: i64) -> Result<WarmUpMinutes, WarmUpError> {
        match u16::try_from(minutes) {
            Ok(minutes @ 0..=600) => Ok(WarmUpMinutes(minutes)),
            _ => Err(WarmUpError::Minutes),
        }
    }

    /// The number.
    #[must_use]
    pub const fn get(self) -> u16 {
        self.0
    }
}

/// The neuromuscular warm-up of a session, or that it had none.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WarmUp {
    minutes: WarmUpMinutes,
    categories: BTreeSet<ExerciseCategory>,
    feedback: bool,
}

impl WarmUp {
    /// A warm-up: how long it lasted, what it held, and whether feedback on technique was given.
    ///
    /// # Errors
    /// [`WarmUpError::NothingHeld`].
    pub fn new(
        minutes: WarmUpMinutes,
        categories: BTreeSet<ExerciseCategory>,
        feedback: bool,
    ) -> Result<WarmUp, WarmUpError> {
        let warm_up = WarmUp {
            minutes,
            categories,
            feedback,
        };
        let empty = warm_up.categories.is_empty() && !feedback;
        match warm_up.is_held() || empty {
            true => Ok(warm_up),
            false => Err(WarmUpError::NothingHeld),
        }
    }

    /// How long it lasted.
    #[must_use]
    pub const fn minutes(&self) -> WarmUpMinutes {
        self.minutes
    }

    /// What it held.
    #[must_use]
    pub const fn categories(&self) -> &BTreeSet<ExerciseCategory> {
        &self.categories
    }

    /// Whether feedback on technique was given.
    #[must_use]
    pub const fn feedback(&self) -> bool {
        self.feedback
    }

    /// Whether there was one.
    #[must_use]
    pub const fn is_held(&self) -> bool {
        self.minutes.0 > 0
    }
}

/// What the warm-ups of a week come to.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Dose {
    /// How many.
    pub sessions: u32,
    /// Their minutes.
    pub minutes: u32,
    /// All they held.
    pub categories: BTreeSet<ExerciseCategory>,
    /// Whether feedback on technique was given in one of them.
    pub feedback: bool,
}

impl Dose {
    /// The dose of some warm-ups.
    #[must_use]
    pub fn of<'a>(warm_ups: impl IntoIterator<Item = &'a WarmUp>) -> Dose {
        let held = warm_ups.into_iter().filter(|one| one.is_held());
        held.fold(Dose::default(), |dose, one| Dose {
            sessions: dose.sessions + 1,
            minutes: dose.minutes + u32::from(one.minutes.get()),
            categories: &dose.categories | &one.categories,
            feedback: dose.feedback || one.feedback,
        })
    }
}

/// The warm-ups of a week, by what is known of them.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct WeekWarmUps {
    /// Those that she was at, or that are planned.
    pub attended: Vec<WarmUp>,
    /// Those of which it is not known whether she was.
    pub not_known: Vec<WarmUp>,
    /// Sessions of which nobody said whether they had one: of what they held nothing is known.
    pub not_said: u32,
}

impl WeekWarmUps {
    /// The dose that is known.
    #[must_use]
    pub fn dose(&self) -> Dose {
        Dose::of(&self.attended)
    }

    /// The dose if she was at all that she may have been at; sessions of which nothing is said come on top.
    #[must_use]
    pub fn at_most(&self) -> Dose {
        Dose::of(self.attended.iter().chain(&self.not_known))
    }

    /// Whether there were sessions, and nobody said of any whether it had one.
    #[must_use]
    pub fn nothing_said(&self) -> bool {
        self.not_said > 0 && self.attended.is_empty() && self.not_known.is_empty()
    }
}

/// The least dose of a week.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LeastDose {
    /// Sessions.
    pub sessions: u32,
    /// Minutes in all.
    pub minutes: Decimal,
    /// Categories of the five.
    pub categories: u32,
}

impl LeastDose {
    /// The least dose of a policy's rule, which sets the minutes: in at least two sessions, with at least
    /// three categories and feedback. `None` for any other rule.
    #[must_use]
    pub fn of(rule: &Rule) -> Option<LeastDose> {
        (rule.code == RuleCode::NeuromuscularDose).then_some(LeastDose {
            sessions: 2,
            minutes: rule.limit,
            categories: 3,
        })
    }

    /// How far a dose falls short of it.
    #[must_use]
    pub fn short(self, dose: &Dose) -> Shortfall {
        let held = u32::try_from(dose.categories.len()).unwrap_or(u32::MAX);
        let minutes = self
            .minutes
            .to_fraction()
            .less(Fraction::whole(dose.minutes.into()));
        Shortfall {
            sessions: self.sessions.saturating_sub(dose.sessions),
            minutes: minutes.max(Fraction::ZERO),
            categories: self.categories.saturating_sub(held),
            feedback: !dose.feedback,
        }
    }

    /// Which parts of it a week meets.
    #[must_use]
    pub fn parts(self, week: &WeekWarmUps) -> DoseParts {
        let (known, at_most) = (self.short(&week.dose()), self.short(&week.at_most()));
        let part = |met: fn(&Shortfall) -> bool| match (met(&known), met(&at_most)) {
            (true, _) => Met::Yes,
            (false, false) if week.not_said == 0 => Met::No,
            (false, _) => Met::NotKnown,
        };
        DoseParts {
            sessions: part(|short| short.sessions == 0),
            minutes: part(|short| short.minutes == Fraction::ZERO),
            categories: part(|short| short.categories == 0),
            feedback: part(|short| !short.feedback),
        }
    }

    /// Whether the rule is raised by a week: certain where it would be whatever she may have been at. A week in
    /// which none was expected is not short of anything: [`Reason::NothingExpected`].
    #[must_use]
    pub fn judge(self, week: &WeekWarmUps, is_expected: bool) -> Outcome {
        if !is_expected {
            return Outcome::NotComputable(Reason::NothingExpected);
        }
        match self.parts(week).all() {
            Met::Yes => Outcome::NotRaised,
            Met::No => Outcome::Raised(Certainty::Certain),
            Met::NotKnown => Outcome::Raised(Certainty::Possible),
        }
    }
}

coded_enum! {
    /// Whether a part of the dose is met.
    Met {
        /// It is.
        Yes = "yes",
        /// It is not.
        No = "no",
        /// That hangs on what nobody said.
        NotKnown = "not_known",
    }
}

/// Which parts of the least dose a week meets.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DoseParts {
    /// Sessions.
    pub sessions: Met,
    /// Minutes.
    pub minutes: Met,
    /// Categories.
    pub categories: Met,
    /// Feedback on technique.
    pub feedback: Met,
}

impl DoseParts {
    /// Sessions and minutes together.
    #[must_use]
    pub fn dose(self) -> Met {
        together([self.sessions, self.minutes])
    }

    /// All parts together.
    #[must_use]
    pub fn all(self) -> Met {
        together([self.sessions, self.minutes, self.categories, self.feedback])
    }
}

/// What is not met decides, then what is not known: what may have been attended was attended as a whole.
fn together<const N: usize>(parts: [Met; N]) -> Met {
    match (parts.contains(&Met::No), parts.contains(&Met::NotKnown)) {
        (true, _) => Met::No,
        (false, true) => Met::NotKnown,
        (false, false) => Met::Yes,
    }
}

/// What a week lacks of the least dose.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shortfall {
    /// Sessions.
    pub sessions: u32,
    /// Minutes.
    pub minutes: Fraction,
    /// Categories.
    pub categories: u32,
    /// Feedback on technique.
    pub feedback: bool,
}

impl Shortfall {
    /// Sessions and minutes are enough.
    #[must_use]
    pub fn meets_dose(&self) -> bool {
        self.sessions == 0 && self.minutes == Fraction::ZERO
    }

    /// Nothing is lacking.
    #[must_use]
    pub fn is_complete(&self) -> bool {
        self.meets_dose() && self.categories == 0 && !self.feedback
    }
}

/// A season of neuromuscular warm-up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SeasonDose {
    /// Weeks in which nothing was lacking.
    pub weeks_met: u32,
    /// Weeks of which that is not known.
    pub weeks_not_known: u32,
    /// Weeks in which warm-ups were expected.
    pub weeks_expected: u32,
    /// Whether it began at least six weeks before the first game; `None` where it has not begun, no game
    /// is planned, or it is not known whether she was at one that was early enough. Common practice, no source.
    pub began_in_time: Option<bool>,
}

impl SeasonDose {
    /// The season of the expected weeks, the first warm-up that she was at, the first that she may have been
    /// at, and the first game.
    #[must_use]
    pub fn of(
        weeks: &[Met],
        (attended, possible): (Option<Date>, Option<Date>),
        first_game: Option<Date>,
    ) -> SeasonDose {
        const SIX_WEEKS: i64 = 6 * 7;
        let count = |weeks: usize| u32::try_from(weeks).unwrap_or(u32::MAX);
        let of = |met| count(weeks.iter().filter(|week| **week == met).count());
        let in_time = |began: Option<Date>| {
            let began = began.zip(first_game);
            began.map(|(began, game)| days_between(began, game) >= SIX_WEEKS)
        };
        SeasonDose {
            weeks_met: of(Met::Yes),
            weeks_not_known: of(Met::NotKnown),
            weeks_expected: count(weeks.len()),
            began_in_time: match (in_time(attended), in_time(possible)) {
                (Some(true), _) => Some(true),
                (_, Some(true)) => None,
                (began, _) => began,
            },
        }
    }
}

#[cfg(test)]
mod tests;
