//! How much of what was counted before an absence, landings or throws, is back.
//!
//! `100 x (number of the last 28 days / 4) / (mean number a week before the absence)`, in per cent. The load may be back while jumps are
//! not, so they are told apart. Only sessions that somebody counted have a number: where one of either time was not counted, the other
//! numbers are "at least" and there is no share. Common practice, no source. It describes what was logged and clears nobody.

use crate::exact::Fraction;
use crate::reason::Reason;

/// Weeks of the last 28 days.
const WEEKS_NOW: u8 = 4;

/// The reported sessions of some days, as far as they were counted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct CountedSessions {
    /// What was counted in all.
    pub number: u32,
    /// Sessions that were counted.
    pub counted: u32,
    /// Sessions that were not.
    pub not_counted: u32,
}

impl FromIterator<Option<u32>> for CountedSessions {
    /// Of the number of each session; `None` where nobody counted.
    fn from_iter<I: IntoIterator<Item = Option<u32>>>(numbers: I) -> Self {
        let mut found = CountedSessions::default();
        for number in numbers {
            match number {
                Some(number) => {
                    found.number += number;
                    found.counted += 1;
                }
                None => found.not_counted += 1,
            }
        }
        found
    }
}

/// A mean number a week.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CountWeek {
    /// The mean; at least that where sessions were not counted. `None` where there were sessions and none was counted.
    pub mean: Option<Fraction>,
    /// Sessions that were not counted.
    pub not_counted: u32,
}

/// What was counted before an absence and now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CountShare {
    /// The mean week before the absence.
    pub before: CountWeek,
    /// The mean week of the last 28 days.
    pub now: CountWeek,
    /// The one in per cent of the other; only where every session of both times was counted.
    pub pct: Result<Fraction, Reason>,
}

/// The share of `now`, the sessions of the last 28 days, in `before`, those of so many weeks before the absence; `None` of no weeks.
///
/// ```
/// use plimsoll_domain::count_share::count_share;
/// let before = [Some(163), Some(120), Some(163), Some(154)];
/// let now = [Some(80), Some(70)];
/// let share = count_share(before.into_iter().collect(), 4, now.into_iter().collect()).unwrap();
/// // 600 in four weeks before, 150 in four weeks now.
/// assert_eq!(share.pct.unwrap().to_f64(), 25.0);
/// ```
#[must_use]
pub fn count_share(before: CountedSessions, weeks: u8, now: CountedSessions) -> Option<CountShare> {
    Some(CountShare {
        before: week(before, weeks)?,
        now: week(now, WEEKS_NOW)?,
        pct: pct(before, weeks, now),
    })
}

fn week(of: CountedSessions, weeks: u8) -> Option<CountWeek> {
    let mean = Fraction::new(of.number.into(), weeks.into())?;
    let is_known = of.counted > 0 || of.not_counted == 0;
    Some(CountWeek {
        mean: is_known.then_some(mean),
        not_counted: of.not_counted,
    })
}

fn pct(before: CountedSessions, weeks: u8, now: CountedSessions) -> Result<Fraction, Reason> {
    let counted = before.counted + now.counted;
    match before.not_counted + now.not_counted {
        0 => {
            let num = 100 * i64::from(now.number) * i64::from(weeks);
            let den = i64::from(WEEKS_NOW) * i64::from(before.number);
            Fraction::new(num, den).ok_or(Reason::NothingBefore)
        }
        _ if counted == 0 => Err(Reason::NotCounted),
        _ => Err(Reason::PartlyCounted),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exact::Places;

    fn share(before: &[Option<u32>], now: &[Option<u32>]) -> CountShare {
        let of = |numbers: &[Option<u32>]| numbers.iter().copied().collect();
        count_share(of(before), 3, of(now)).unwrap()
    }

    #[test]
    fn where_all_were_counted_there_is_a_share() {
        // 300 in three weeks are 100 a week; 163 in four weeks are 40.75.
        let found = share(&[Some(150), Some(150)], &[Some(163), Some(0)]);
        assert_eq!(found.before.mean, Some(Fraction::whole(100)));
        assert_eq!(found.now.mean.map(Fraction::to_f64), Some(40.75));
        let pct = found.pct.unwrap().round(Places::Two).to_string();
        assert_eq!(pct, "40.75");
    }

    #[test]
    fn a_session_that_nobody_counted_leaves_no_share() {
        let partly = share(&[Some(300)], &[Some(80), None]);
        assert_eq!(partly.pct, Err(Reason::PartlyCounted));
        assert_eq!((partly.before.not_counted, partly.now.not_counted), (0, 1));
        assert_eq!(partly.now.mean, Some(Fraction::whole(20)), "at least");
        let none = share(&[None, None], &[None]);
        assert_eq!(none.pct, Err(Reason::NotCounted));
        assert_eq!((none.before.mean, none.now.mean), (None, None));
        assert_eq!(share(&[Some(9)], &[None]).pct, Err(Reason::PartlyCounted));
    }

    #[test]
    fn days_without_a_session_are_counted_and_nothing_before_has_no_share() {
        let found = share(&[Some(300)], &[]);
        assert_eq!(
            (found.now.mean, found.pct),
            (Some(Fraction::ZERO), Ok(Fraction::ZERO))
        );
        assert_eq!(
            share(&[Some(0)], &[Some(80)]).pct,
            Err(Reason::NothingBefore)
        );
        assert_eq!(share(&[], &[]).pct, Err(Reason::NothingBefore));
        assert_eq!(
            count_share(CountedSessions::default(), 0, CountedSessions::default()),
            None
        );
    }
}
