//! Other ways out where cuts alone cannot meet a limit: more load in the weeks before, or fewer games.
//!
//! A week whose protected part is above the limit by a shortfall s is within it if the three weeks before
//! hold `s / c` AU more (c as in [`RatioLimit::share`]). That adds load: it is worked out only when a
//! coach asks for it, and for some athletes never. Common practice, no source.

use super::{PRIOR_WEEKS, WeekLoad, smallest_cuts};
use crate::coded::coded_enum;
use crate::exact::WideFraction;
use crate::load::Load;
use crate::ratio_limit::RatioLimit;

coded_enum! {
    /// Why more load is not to be offered to an athlete at all.
    BuildUpBar {
        /// A clinician restricts her.
        Restricted = "restricted",
        /// She follows a return ramp.
        Returning = "returning",
        /// She is younger than the club's policy asks for.
        UnderPolicyAge = "under_policy_age",
        /// Her birth date is not known.
        AgeNotKnown = "age_not_known",
        /// Her organised hours are above the limit.
        OverHours = "over_hours",
        /// Whether they are cannot be said: something of them is not known.
        HoursNotKnown = "hours_not_known",
    }
}

/// What it would take to build up to a week instead of cutting it. In AU.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BuildUp {
    /// The least that the three weeks before would need more, all together: `s / c`.
    pub extra: WideFraction,
    /// The most they can have more, each within its own limit; `None` where the weeks before them are
    /// not known or below the chronic floor, so that a raised week cannot be checked.
    pub room: Option<WideFraction>,
}

impl BuildUp {
    /// Whether the weeks before can be raised so far and each stay within its own limit.
    #[must_use]
    pub fn fits(&self) -> bool {
        self.room.as_ref().is_some_and(|room| self.extra <= *room)
    }
}

/// The build-up to a week that is short by so much. `before` are the loads of the weeks before it, the
/// latest last: the last three would be raised, the three before those limit them.
///
/// # Errors
/// The first of `bars`: to her it is not offered.
pub fn build_up(
    limit: RatioLimit,
    short_by: &WideFraction,
    before: &[Load],
    bars: &[BuildUpBar],
) -> Result<BuildUp, BuildUpBar> {
    match bars.first() {
        Some(bar) => Err(*bar),
        None => Ok(BuildUp {
            extra: short_by.over(limit.share()),
            room: room(limit, before),
        }),
    }
}

/// Raising an earlier week raises the limits of the later ones, so the most comes about by filling each
/// up to its limit from the first on: what is left of a plan without any end, cut as little as possible.
fn room(limit: RatioLimit, before: &[Load]) -> Option<WideFraction> {
    let (earlier, raised) = before.split_last_chunk::<PRIOR_WEEKS>()?;
    let endless = raised.map(|load| WeekLoad::new(Load::MAX, load));
    let endless: Option<Vec<WeekLoad>> = endless.into_iter().collect();
    let cuts = smallest_cuts(limit, earlier, &endless?);
    let judged = cuts.weeks.iter().all(|week| week.limit.is_some());
    let without_end: Load = raised.iter().map(|load| Load::MAX.less(*load)).sum();
    judged.then(|| WideFraction::from(without_end).less(&cuts.total))
}

/// How many games of one load fit into a limit, at most as many as planned. Games of no load all fit.
#[must_use]
pub fn games_within(limit: &WideFraction, game: Load, planned: u32) -> u32 {
    let fits = |games: &u32| WideFraction::from(game).times(*games) <= *limit;
    (0..=planned).rev().find(fits).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exact::{Decimal, Places};
    use crate::ratio::RatioKind;

    fn limit() -> RatioLimit {
        let limit = Decimal::hundredths(150);
        RatioLimit::new(RatioKind::Coupled, limit, Load::from_au(250)).unwrap()
    }

    fn au(exact: &WideFraction) -> String {
        exact.round(Places::Four).to_string()
    }

    fn whole(au: u16) -> WideFraction {
        Load::from_au(au).into()
    }

    /// Short by 90 after 950, 1000, 1400: 90 / 0.6 more in the weeks before, in all 300 cut and 150 added.
    #[test]
    fn s11_150_more_the_week_before() {
        let before = [950, 1000, 1400].map(Load::from_au);
        let found = build_up(limit(), &whole(90), &before, &[]).unwrap();
        assert_eq!(au(&found.extra), "150");
        assert_eq!(
            (&found.room, found.fits()),
            (&None, false),
            "weeks before are not known"
        );
    }

    /// Weeks 16 to 21, before the tournament of week 22.
    #[test]
    fn s11_1220_more_or_three_games_of_six() {
        let before = [2700, 2790, 2880, 870, 870, 240].map(Load::from_au);
        let found = build_up(limit(), &whole(732), &before, &[]).unwrap();
        assert_eq!(au(&found.extra), "1220");
        assert!(found.fits());
        assert_eq!(games_within(&whole(1188), Load::from_au(320), 6), 3);
        assert_eq!(games_within(&whole(1188), Load::ZERO, 6), 6);
        assert_eq!(games_within(&whole(319), Load::from_au(320), 6), 0);
    }

    /// After 1000 a week the three weeks may hold 1800, 0.6 x 3800 = 2280 and 0.6 x 5080 = 3048.
    #[test]
    fn the_room_fills_each_week_up_to_its_own_limit() {
        let before = [1000; 6].map(Load::from_au);
        let room = |short| build_up(limit(), &whole(short), &before, &[]).unwrap();
        assert_eq!(au(room(1).room.as_ref().unwrap()), "4128");
        // 4128 x 0.6 = 2476.8.
        assert!(room(2476).fits() && !room(2477).fits());
        // A week that is over its limit already has no room, and is not lowered.
        let over = [1000, 1000, 1000, 1800, 2280, 9000].map(Load::from_au);
        let found = build_up(limit(), &whole(1), &over, &[]).unwrap();
        assert_eq!(au(found.room.as_ref().unwrap()), "0");
    }

    #[test]
    fn some_are_never_asked_to_do_more() {
        for bar in BuildUpBar::ALL {
            let found = build_up(limit(), &whole(90), &[Load::from_au(1000); 6], &[*bar]);
            assert_eq!(found, Err(*bar));
        }
    }
}
