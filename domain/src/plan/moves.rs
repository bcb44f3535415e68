//! The best single move: one session to another date, with no change of the total.
//!
//! What counts is the excess of the plan in the week view: the AU above the limit on the ratio, summed
//! over its weeks. Every session that is not protected is tried on every date within reach; the move that
//! leaves the least excess is listed if that is less than before and no week comes to be over that was
//! not. Of equal moves the shortest counts, then the later session, then the later date. Common practice,
//! no source.

use std::cmp::Reverse;

use jiff::ToSpan;

use super::{Plan, PlanSession, priors};
use crate::exact::Fraction;
use crate::load::Load;
use crate::ratio_limit::RatioLimit;
use crate::series::days_between;

/// A move of one session.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Move {
    /// The session, on its planned date.
    pub session: PlanSession,
    /// How many days later; negative for earlier.
    pub days: i8,
    /// The excess of all weeks as planned, AU.
    pub excess_before: Fraction,
    /// The excess of all weeks after the move, AU.
    pub excess_after: Fraction,
}

/// The best move by at most `reach` days within the plan; `None` where no single move helps. `earlier` are
/// the loads of the known weeks just before the plan, the last one latest.
#[must_use]
pub fn best_move(limit: RatioLimit, earlier: &[Load], plan: &Plan, reach: u8) -> Option<Move> {
    moves(limit, earlier, plan, reach).into_iter().next()
}

/// As [`best_move`], all moves that help, the best first: whoever asks may hold more than the limit against
/// them.
#[must_use]
pub fn moves(limit: RatioLimit, earlier: &[Load], plan: &Plan, reach: u8) -> Vec<Move> {
    let weeks = Weeks::of(limit, earlier, plan);
    let before = weeks.excesses(&weeks.loads);
    let reach = i8::try_from(reach).unwrap_or(i8::MAX);
    let free = plan.sessions().iter().filter(|session| !session.protected);
    let tried = free.flat_map(|session| (-reach..=reach).map(move |days| (session, days)));
    let helping = tried.filter_map(|(session, days)| {
        let after = weeks.excesses(&moved(&weeks.loads, plan, session, days)?);
        let spared = before
            .iter()
            .zip(&after)
            .all(|(before, after)| *before > 0 || *after == 0);
        let excess: i64 = after.iter().sum();
        (spared && excess < before.iter().sum()).then_some((excess, session, days))
    });
    let mut helping: Vec<_> = helping.collect();
    helping.sort_by_key(|(excess, session, days)| {
        (
            *excess,
            days.unsigned_abs(),
            Reverse(session.date),
            Reverse(*days),
        )
    });
    let of = |(after, session, days): (i64, &PlanSession, i8)| Move {
        session: session.clone(),
        days,
        excess_before: weeks.in_au(before.iter().sum()),
        excess_after: weeks.in_au(after),
    };
    helping.into_iter().map(of).collect()
}

/// The week loads after a move; `None` if it leads out of the plan.
fn moved(loads: &[Load], plan: &Plan, session: &PlanSession, days: i8) -> Option<Vec<Load>> {
    let week = |date| usize::try_from(days_between(plan.first().monday(), date).div_euclid(7)).ok();
    let (from, to) = (
        session.date,
        session.date.checked_add(i64::from(days).days()).ok()?,
    );
    let mut loads = loads.to_vec();
    let from = loads.get_mut(week(from)?)?;
    *from = from.less(session.load());
    *loads.get_mut(week(to)?)? += session.load();
    Some(loads)
}

/// The weeks of a plan, and which of them are judged as planned: a move never lifts the limit from one.
struct Weeks<'a> {
    limit: RatioLimit,
    earlier: &'a [Load],
    loads: Vec<Load>,
    judged: Vec<bool>,
}

impl<'a> Weeks<'a> {
    fn of(limit: RatioLimit, earlier: &'a [Load], plan: &Plan) -> Weeks<'a> {
        let loads: Vec<Load> = plan
            .week_loads()
            .iter()
            .map(|week| week.planned())
            .collect();
        let priors = priors(earlier, &loads);
        let judges = |prior: Option<Load>| prior.is_some_and(|prior| limit.judges_after(prior));
        Weeks {
            limit,
            earlier,
            judged: priors.into_iter().map(judges).collect(),
            loads,
        }
    }

    /// How far each week is above the limit, in parts of half an AU that the denominator of its share
    /// makes: `q W - p P` for a share `p / q`.
    fn excesses(&self, loads: &[Load]) -> Vec<i64> {
        let share = self.limit.share();
        let priors = priors(self.earlier, loads);
        let weeks = loads.iter().zip(priors).zip(&self.judged);
        let excess = |((load, prior), judged): ((&Load, Option<Load>), &bool)| {
            let prior = prior.filter(|_| *judged)?;
            let over = share.denominator() * load.half_au() - share.numerator() * prior.half_au();
            Some(over.max(0))
        };
        weeks.map(|week| excess(week).unwrap_or(0)).collect()
    }

    const fn in_au(&self, parts: i64) -> Fraction {
        Fraction::of_parts(parts, 2 * self.limit.share().denominator())
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::{Date, date};

    use super::*;
    use crate::exact::Decimal;
    use crate::ratio::RatioKind;
    use crate::session::{Kind, Setting};
    use crate::units::{Minutes, Rpe};
    use crate::week::IsoWeek;

    const MONDAY: Date = date(2026, 8, 3);
    const EARLIER: [Load; 3] = [Load::from_au(1000); 3];

    /// A session of 60 minutes at 5, 300 AU.
    fn on(day: i64, protected: bool) -> PlanSession {
        PlanSession {
            start: None,
            date: MONDAY.saturating_add(day.days()),
            setting: Setting::Club,
            kind: Kind::Practice,
            intended: Rpe::from_f64(5.0).unwrap(),
            minutes: Minutes::new(60).unwrap(),
            protected,
            contacts: None,
            warm_up: None,
        }
    }

    fn best(sessions: &[PlanSession], reach: u8) -> Option<Move> {
        let limit = Decimal::hundredths(150);
        let limit = RatioLimit::new(RatioKind::Coupled, limit, Load::from_au(250)).unwrap();
        let plan = Plan::new(IsoWeek::of(MONDAY).unwrap(), 2, sessions.to_vec()).unwrap();
        best_move(limit, &EARLIER, &plan, reach)
    }

    /// Seven sessions are 2100 after 3000, 300 above 1800; Sunday's goes to Monday.
    #[test]
    fn takes_the_shortest_way_out_of_the_week() {
        let week: Vec<PlanSession> = (0..7).map(|day| on(day, false)).collect();
        let found = best(&week, 7).unwrap();
        assert_eq!((&found.session, found.days), (&week[6], 1));
        assert_eq!(found.excess_before, Fraction::whole(300));
        assert_eq!(found.excess_after, Fraction::ZERO);
    }

    #[test]
    fn leaves_protected_sessions_and_stays_within_reach() {
        let week: Vec<PlanSession> = (0..7).map(|day| on(day, day > 3)).collect();
        let found = best(&week, 7).unwrap();
        assert_eq!((&found.session, found.days), (&week[3], 4));
        assert_eq!(best(&week, 3), None);
    }

    /// Two weeks of 2100. With 300 of the first in the second, the first is within its limit of 1800, and the
    /// second is 120 above 0.6 x 3800, less than the 300 of before; but it was within its limit.
    #[test]
    fn puts_no_other_week_over() {
        let sessions: Vec<PlanSession> = (0..14).map(|day| on(day, false)).collect();
        assert_eq!(best(&sessions, 7), None);
    }

    /// All seven may go to the week after, each to a date of its own there and to each other one.
    #[test]
    fn lists_all_that_help_the_best_first() {
        let week: Vec<PlanSession> = (0..7).map(|day| on(day, false)).collect();
        let plan = Plan::new(IsoWeek::of(MONDAY).unwrap(), 2, week.clone()).unwrap();
        let limit = Decimal::hundredths(150);
        let limit = RatioLimit::new(RatioKind::Coupled, limit, Load::from_au(250)).unwrap();
        let all = moves(limit, &EARLIER, &plan, 2);
        let found: Vec<(Date, i8)> = all.iter().map(|one| (one.session.date, one.days)).collect();
        let (saturday, sunday) = (week[5].date, week[6].date);
        assert_eq!(found, [(sunday, 1), (sunday, 2), (saturday, 2)]);
        assert_eq!(best(&week, 2).as_ref(), all.first());
    }

    #[test]
    fn a_plan_within_the_limit_needs_no_move() {
        assert_eq!(best(&[on(0, false), on(8, false)], 7), None);
    }
}
