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
use crate::judge::Outcome;
use crate::rule::{Rule, RuleCode};
use crate::series::days_between;
use crate::units::Minutes;

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

/// One neuromuscular warm-up.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WarmUp {
    /// How long it lasted.
    pub minutes: Minutes,
    /// What it held.
    pub categories: BTreeSet<ExerciseCategory>,
    /// Whether feedback on technique was given.
    pub feedback: bool,
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
        warm_ups
            .into_iter()
            .fold(Dose::default(), |dose, one| Dose {
                sessions: dose.sessions + 1,
                minutes: dose.minutes + u32::from(one.minutes.get()),
                categories: &dose.categories | &one.categories,
                feedback: dose.feedback || one.feedback,
            })
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

    /// Whether the rule is raised by a week: certain where it would be even with the warm-ups of which it is
    /// not known whether she attended.
    #[must_use]
    pub fn judge(self, attended: &[WarmUp], not_known: &[WarmUp]) -> Outcome {
        let at_most = Dose::of(attended.iter().chain(not_known));
        let raised = |dose: &Dose| !self.short(dose).is_complete();
        Outcome::of(raised(&at_most), raised(&Dose::of(attended)))
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
    /// Weeks in which warm-ups were expected.
    pub weeks_expected: u32,
    /// Whether it began at least six weeks before the first game; `None` where it has not begun or no game
    /// is planned. Common practice, no source.
    pub began_in_time: Option<bool>,
}

impl SeasonDose {
    /// The season of the expected weeks, the first attended warm-up and the first game.
    #[must_use]
    pub fn of(weeks: &[Shortfall], first: Option<Date>, first_game: Option<Date>) -> SeasonDose {
        const SIX_WEEKS: i64 = 6 * 7;
        let count = |weeks: usize| u32::try_from(weeks).unwrap_or(u32::MAX);
        let both = first.zip(first_game);
        SeasonDose {
            weeks_met: count(weeks.iter().filter(|week| week.is_complete()).count()),
            weeks_expected: count(weeks.len()),
            began_in_time: both.map(|(first, game)| days_between(first, game) >= SIX_WEEKS),
        }
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::ExerciseCategory::{Agility, Balance, Jump, Strength};
    use super::*;
    use crate::judge::Certainty;
    use crate::policy::PolicyDraft;

    fn least() -> LeastDose {
        let draft = PolicyDraft::example(date(2026, 8, 3), "Policy owner");
        draft.rules.iter().find_map(LeastDose::of).unwrap()
    }

    fn warm_up(minutes: i64, categories: &[ExerciseCategory], feedback: bool) -> WarmUp {
        WarmUp {
            minutes: Minutes::new(minutes).unwrap(),
            categories: categories.iter().copied().collect(),
            feedback,
        }
    }

    #[test]
    fn each_part_is_told() {
        let short = |warm_ups: &[WarmUp]| least().short(&Dose::of(warm_ups));
        let nothing = short(&[]);
        assert_eq!(
            (nothing.sessions, nothing.minutes),
            (2, Fraction::whole(30))
        );
        assert_eq!((nothing.categories, nothing.feedback), (3, true));
        let two = [
            warm_up(15, &[Jump, Balance], false),
            warm_up(15, &[Agility], true),
        ];
        assert!(
            short(&two).is_complete(),
            "30 minutes are enough, together they hold three"
        );
        let silent = [
            warm_up(20, &[Jump, Balance, Agility], false),
            warm_up(20, &[Jump], false),
        ];
        assert!(short(&silent).meets_dose() && !short(&silent).is_complete());
    }

    #[test]
    fn attendance_that_is_not_known_leaves_it_open() {
        let held = warm_up(15, &[Strength, Jump, Agility], true);
        let judge = |attended: usize, not_known: usize| {
            least().judge(
                &vec![held.clone(); attended],
                &vec![held.clone(); not_known],
            )
        };
        assert_eq!(judge(2, 0), Outcome::NotRaised);
        assert_eq!(judge(1, 1), Outcome::Raised(Certainty::Possible));
        assert_eq!(judge(1, 0), Outcome::Raised(Certainty::Certain));
        assert_eq!(judge(2, 3), Outcome::NotRaised);
    }

    #[test]
    fn a_season_tells_weeks_and_whether_it_began_in_time() {
        let full = least().short(&Dose::of(&[
            warm_up(15, &[Jump, Balance, Agility], true),
            warm_up(15, &[Jump], true),
        ]));
        let none = least().short(&Dose::default());
        let game = date(2026, 9, 14);
        let of = |first| SeasonDose::of(&[full, none, full], first, Some(game));
        let season = of(Some(date(2026, 8, 3)));
        assert_eq!((season.weeks_met, season.weeks_expected), (2, 3));
        assert_eq!(season.began_in_time, Some(true), "42 days before");
        assert_eq!(of(Some(date(2026, 8, 4))).began_in_time, Some(false));
        assert_eq!(of(None).began_in_time, None);
    }

    #[test]
    fn no_other_rule_sets_a_least_dose() {
        let draft = PolicyDraft::example(date(2026, 8, 3), "Policy owner");
        assert_eq!(draft.rules.iter().filter_map(LeastDose::of).count(), 1);
        assert_eq!(least().minutes, Decimal::hundredths(3000));
    }
}
