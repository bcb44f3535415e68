//! How far a running week is from the limit on the ratio: the margin, in AU.
//!
//! Week view: `c P - A - F`, where c is the share of [`RatioLimit`], P the load of the 21 days before
//! Monday, A what is done since Monday and F the events that are fixed until Sunday. Rolling view: on each
//! remaining date j the extra load from tomorrow to j may not exceed the slack `c P_j - A_j - F_j`, with
//! P_j and A_j the prior and the known acute load of that date and F_j the fixed events up to it; so one
//! day may take the least slack of all dates from it to Sunday. Later weeks are not looked at. The rolling
//! margin can be far smaller after a heavy weekend. A negative margin is given as it is.
//!
//! It follows from the definition of the ratio (`ratio.rs`). A margin is not a target and nothing that
//! is "available"; it is not for athletes to see.

use jiff::ToSpan;
use jiff::civil::Date;

use crate::day::DayTotal;
use crate::day_state::Absence;
use crate::exact::Fraction;
use crate::figure::{Bounds, Figure};
use crate::load::Load;
use crate::ratio_limit::RatioLimit;
use crate::reason::Reason;
use crate::series::{DailySeries, days_between};
use crate::units::Rpe;
use crate::week::IsoWeek;
use crate::window::{self, ACUTE_DAYS, PRIOR_DAYS};

/// Days of the eight weeks that an own highest day is looked for in.
const HIGHEST_DAY_DAYS: usize = 8 * 7;

/// An event that is fixed on a coming date, with the load it is expected to have.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FixedLoad {
    /// Its date.
    pub date: Date,
    /// Its load as planned.
    pub load: Load,
}

/// The margins of a running week. All in AU; low is what is left if unlogged sessions were hard and the
/// weeks before light.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Margin {
    /// The load of the week that just meets the limit.
    pub limit_au: Figure<Fraction>,
    /// What is left of it after what is done.
    pub left: Figure<Fraction>,
    /// What is left of it after the fixed events, too.
    pub left_after_fixed: Figure<Fraction>,
    /// The rolling view: each remaining date, and what is left for it alone beside the fixed events.
    pub rolling: Vec<(Date, Figure<Fraction>)>,
    /// The most on one date of the last eight weeks, or of as many as are known: in neither view, but no
    /// date is told more minutes; a date with unlogged sessions counts as logged.
    pub own_highest_day: Load,
}

impl Margin {
    /// The minutes at a session RPE that one date may take at the least, whatever unlogged sessions were: by the low end of
    /// what is left for it, and never more than the own highest day. As [`minutes_at`].
    #[must_use]
    pub fn minutes_on_one_day(&self, left: Figure<Fraction>, rpe: Rpe) -> Option<u32> {
        minutes_at(left.low?.min(in_au(self.own_highest_day)), rpe)
    }
}

/// The margins of the week of the date after `series`, which ends on the last date that is done.
/// Missing as the ratio is: [`Reason::FewerThan28Days`], [`Reason::AbsenceInWindow`],
/// [`Reason::BelowChronicFloor`] at the low end of the prior load.
///
/// # Errors
/// [`Reason::NotRead`] at the end of the calendar.
pub fn margin(
    limit: RatioLimit,
    series: &DailySeries,
    fixed: &[FixedLoad],
) -> Result<Margin, Reason> {
    let tomorrow = series.last().tomorrow().map_err(|_| Reason::NotRead)?;
    let week = IsoWeek::of(tomorrow).map_err(|_| Reason::NotRead)?;
    let after_fixed = |date: Date| {
        let until = fixed
            .iter()
            .filter(|event| (tomorrow..=date).contains(&event.date));
        let load = until.map(|event| event.load).sum();
        slack(limit, series, date).map(|slack| slack.left.map(|left| left.less(in_au(load))))
    };
    let remaining = week.days().filter(|date| *date >= tomorrow);
    let sunday = slack(limit, series, week.sunday());
    Ok(Margin {
        limit_au: Figure::from_result(sunday.map(|slack| slack.limit)),
        left: Figure::from_result(sunday.map(|slack| slack.left)),
        left_after_fixed: Figure::from_result(after_fixed(week.sunday())),
        rolling: least_from_each(remaining.map(|date| (date, after_fixed(date))).collect()),
        own_highest_day: own_highest_day(series),
    })
}

/// How many minutes at a session RPE a margin comes to, down to whole 5 minutes; `None` where it is
/// negative, or the RPE 0.
///
/// ```
/// use plimsoll_domain::{Fraction, Rpe, margin::minutes_at};
/// let five = Rpe::from_f64(5.0).unwrap();
/// assert_eq!(minutes_at(Fraction::whole(229), five), Some(45));
/// assert_eq!(minutes_at(Fraction::whole(-1), five), None);
/// ```
#[must_use]
pub fn minutes_at(left: Fraction, rpe: Rpe) -> Option<u32> {
    let five_minutes = left.denominator() * 5 * i64::from(rpe.half_steps());
    let times = (2 * left.numerator()).checked_div_euclid(five_minutes)?;
    u32::try_from(5 * times).ok()
}

/// The limit and what is left of it on a date after the series, fixed events aside.
#[derive(Clone, Copy)]
struct Slack {
    limit: Bounds<Fraction>,
    left: Bounds<Fraction>,
}

fn slack(limit: RatioLimit, series: &DailySeries, date: Date) -> Result<Slack, Reason> {
    let before = date.checked_sub(7.days()).map_err(|_| Reason::NotRead)?;
    let prior = series.window(before, PRIOR_DAYS, Reason::FewerThan28Days)?;
    let ahead = usize::try_from(days_between(series.last(), date)).map_err(|_| Reason::NotRead)?;
    let known = ACUTE_DAYS.saturating_sub(ahead);
    let acute = series.window(series.last(), known, Reason::FewerThan28Days)?;
    let away = |day: &DayTotal| day.absence() == Absence::Long;
    if prior.iter().chain(acute).any(away) {
        return Err(Reason::AbsenceInWindow);
    }
    let (acute, prior) = (window::total(acute), window::total(prior));
    if !limit.judges_after(prior.low) {
        return Err(Reason::BelowChronicFloor);
    }
    let left = |prior: Load, acute: Load| limit.load_at(prior).less(in_au(acute));
    Ok(Slack {
        limit: prior.map(|load| limit.load_at(load)),
        left: Bounds {
            low: left(prior.low, acute.high),
            point: left(prior.point, acute.point),
            high: left(prior.high, acute.low),
        },
    })
}

type Left = Result<Bounds<Fraction>, Reason>;

/// For each date the least of what is left on it and on all later ones.
fn least_from_each(slacks: Vec<(Date, Left)>) -> Vec<(Date, Figure<Fraction>)> {
    let mut least: Option<Left> = None;
    let from_last = slacks.into_iter().rev().map(|(date, left)| {
        let so_far = least.map_or(left, |later| Ok(lower(left?, later?)));
        least = Some(so_far);
        (date, Figure::from_result(so_far))
    });
    let mut found: Vec<_> = from_last.collect();
    found.reverse();
    found
}

fn lower(one: Bounds<Fraction>, other: Bounds<Fraction>) -> Bounds<Fraction> {
    Bounds {
        low: one.low.min(other.low),
        point: one.point.min(other.point),
        high: one.high.min(other.high),
    }
}

const fn in_au(load: Load) -> Fraction {
    Fraction::over::<2>(load.half_au())
}

fn own_highest_day(series: &DailySeries) -> Load {
    let days = series.days().iter().rev().take(HIGHEST_DAY_DAYS);
    days.map(|day| day.load().point).max().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::day_state::DayFacts;
    use crate::exact::Decimal;
    use crate::ratio::RatioKind;

    fn limit() -> RatioLimit {
        let limit = Decimal::hundredths(150);
        RatioLimit::new(RatioKind::Coupled, limit, Load::from_au(250)).unwrap()
    }

    /// So many days of 100 AU, the last on Sunday 4 October 2026.
    fn days(count: i64) -> (Date, Vec<DayTotal>) {
        let first = date(2026, 10, 5).saturating_sub(count.days());
        let day = DayTotal::logged(Load::from_au(100)).unwrap();
        (first, vec![day; usize::try_from(count).unwrap()])
    }

    fn of((first, days): (Date, Vec<DayTotal>)) -> Margin {
        let series = DailySeries::new(first, first, days).unwrap();
        margin(limit(), &series, &[]).unwrap()
    }

    /// 0.6 x 2100 = 1260, and on Monday 600 of the six days before count.
    #[test]
    fn on_sunday_the_whole_next_week_is_left() {
        let found = of(days(28));
        assert_eq!(found.left, Figure::exact(Fraction::whole(1260)));
        assert_eq!(found.rolling.len(), 7);
        assert_eq!(
            found.rolling[0],
            (date(2026, 10, 5), Figure::exact(Fraction::whole(660)))
        );
        assert_eq!(found.rolling[6].1, found.left);
        assert_eq!(found.own_highest_day, Load::from_au(100));
    }

    #[test]
    fn is_missing_where_the_ratio_is() {
        // 21 days are enough for the Sunday that ends four weeks of membership, 20 are not.
        assert_eq!(of(days(21)).left, Figure::exact(Fraction::whole(1260)));
        let short = Figure::none(Reason::FewerThan28Days);
        assert_eq!(of(days(20)).left, short);
        let early = of(days(21)).rolling;
        assert!(
            early[..6].iter().all(|(_, left)| *left == short),
            "later dates are not earlier"
        );
        let (first, mut away) = days(28);
        let facts = DayFacts {
            absence: Absence::Long,
            ..DayFacts::default()
        };
        away[20] = DayTotal::new(facts, Bounds::default(), 0).unwrap();
        assert_eq!(
            of((first, away)).left_after_fixed,
            Figure::none(Reason::AbsenceInWindow)
        );
        let (first, mut light) = days(28);
        light[..28].fill(DayTotal::logged(Load::from_au(35)).unwrap());
        assert_eq!(
            of((first, light)).limit_au,
            Figure::none(Reason::BelowChronicFloor)
        );
    }

    /// A session of 60 minutes left open in the week before may have been anything up to 600 AU: then the
    /// limit is 0.6 x 2700.
    #[test]
    fn what_is_unlogged_leaves_a_range() {
        let (first, mut open) = days(28);
        let facts = DayFacts {
            sessions: 1,
            expected: 2,
            unlogged: 1,
            ..DayFacts::default()
        };
        let load = Bounds {
            low: Load::from_au(100),
            point: Load::from_au(100),
            high: Load::from_au(700),
        };
        open[26] = DayTotal::new(facts, load, 60).unwrap();
        let found = of((first, open));
        let [low, high] = [1260, 1620].map(Fraction::whole);
        assert_eq!(
            (found.left.low, found.left.point, found.left.high),
            (Some(low), Some(low), Some(high))
        );
        // On Monday it is in the seven days: 1260 - 600 - 600.
        assert_eq!(found.rolling[0].1.low, Some(Fraction::whole(60)));
    }

    #[test]
    fn minutes_are_whole_fives() {
        let at = |left: Fraction, rpe: f64| minutes_at(left, Rpe::from_f64(rpe).unwrap());
        assert_eq!(at(Fraction::whole(1179), 5.0), Some(235));
        assert_eq!(at(Fraction::whole(25), 5.0), Some(5));
        assert_eq!(at(Fraction::new(249, 10).unwrap(), 5.0), Some(0));
        assert_eq!(at(Fraction::whole(100), 0.0), None);
        assert_eq!(at(Fraction::whole(-100), 5.0), None);
    }
}
