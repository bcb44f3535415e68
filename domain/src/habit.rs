//! Habits that leave little information in an athlete's ratings.
//!
//! Common practice, no source: the same rating in ten or more consecutive sessions of two or more
//! kinds; most ratings given before the session was over; all ratings of several days given in one
//! sitting. Each is said kindly, to the coach, without penalty.

use std::collections::BTreeSet;

use jiff::civil::Date;
use jiff::{SignedDuration, Timestamp};

use crate::coded::coded_enum;
use crate::session::Kind;
use crate::units::Rpe;

coded_enum! {
    /// A habit that leaves little information in ratings.
    Habit {
        /// The newest ten or more are all the same, over two or more kinds of session.
        SameRating = "same_rating",
        /// More than half of the newest ten were given before the session was over.
        BeforeEnd = "before_end",
        /// The newest five, of three or more days, were given within half an hour.
        OneSitting = "one_sitting",
    }
}

/// Consecutive sessions of one and the same rating that are too many, and ratings that are looked at.
const NEWEST: usize = 10;
/// Ratings of several days that are too many for one sitting.
const OF_A_SITTING: usize = 5;
/// Days from which ratings were recalled, not given.
const DAYS_OF_A_SITTING: usize = 3;
/// How long a sitting lasts.
const SITTING: SignedDuration = SignedDuration::from_mins(30);

/// A rating that an athlete gave of one of her sessions.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rated {
    /// The kind of session.
    pub kind: Kind,
    /// The rating.
    pub rpe: Rpe,
    /// The date the session belongs to.
    pub date: Date,
    /// When the session was over.
    pub ended_at: Timestamp,
    /// When the rating was given.
    pub given_at: Timestamp,
}

impl Rated {
    /// Whether it was given before the session was over.
    #[must_use]
    pub fn is_early(&self) -> bool {
        self.given_at < self.ended_at
    }
}

/// The habits of the newest ratings. Oldest first, by the sessions' starts.
///
/// ```
/// use jiff::{Timestamp, ToSpan, civil::date};
/// use plimsoll_domain::{Habit, Kind, Rated, Rpe, habits};
/// let five = Rpe::from_f64(5.0).unwrap();
/// let rated = |kind, day| {
///     let date = date(2026, 10, day);
///     let ended_at: Timestamp = format!("{date}T19:00:00Z").parse().unwrap();
///     Rated { kind, rpe: five, date, ended_at, given_at: ended_at + 10.minutes() }
/// };
/// let mut ratings: Vec<Rated> = (1..9).map(|day| rated(Kind::Practice, day)).collect();
/// assert_eq!(habits(&ratings), []);
/// ratings.extend((9..13).map(|day| rated(Kind::Strength, day)));
/// assert_eq!(habits(&ratings), [Habit::SameRating]);
/// ```
#[must_use]
pub fn habits(ratings: &[Rated]) -> Vec<Habit> {
    let found = |habit: &Habit| match habit {
        Habit::SameRating => same_rating(ratings),
        Habit::BeforeEnd => before_end(ratings),
        Habit::OneSitting => one_sitting(ratings),
    };
    Habit::ALL.iter().copied().filter(found).collect()
}

fn same_rating(ratings: &[Rated]) -> bool {
    let Some(newest) = ratings.last() else {
        return false;
    };
    let row = ratings.iter().rev();
    let same: Vec<Kind> = row
        .take_while(|rated| rated.rpe == newest.rpe)
        .map(|rated| rated.kind)
        .collect();
    let kinds: BTreeSet<Kind> = same.iter().copied().collect();
    same.len() >= NEWEST && kinds.len() >= 2
}

fn before_end(ratings: &[Rated]) -> bool {
    let newest = newest(ratings, NEWEST).unwrap_or_default();
    2 * newest.iter().filter(|rated| rated.is_early()).count() > NEWEST
}

fn one_sitting(ratings: &[Rated]) -> bool {
    let newest = newest(ratings, OF_A_SITTING).unwrap_or_default();
    let given = newest.iter().map(|rated| rated.given_at);
    let (Some(first), Some(last)) = (given.clone().min(), given.max()) else {
        return false;
    };
    let days: BTreeSet<Date> = newest.iter().map(|rated| rated.date).collect();
    last.duration_since(first) <= SITTING && days.len() >= DAYS_OF_A_SITTING
}

/// The newest so many; `None` of fewer.
fn newest(ratings: &[Rated], number: usize) -> Option<&[Rated]> {
    ratings.get(ratings.len().checked_sub(number)?..)
}

#[cfg(test)]
mod tests {
    use jiff::ToSpan;
    use jiff::civil::date;

    use super::*;

    /// A session a day from 1 October on, each of an hour and a half, each rating given ten minutes after its end.
    fn rated(ratings: &[f64]) -> Vec<Rated> {
        let kinds = [Kind::Practice, Kind::Strength].into_iter().cycle();
        let dates = date(2026, 10, 1).series(1.day());
        let each = ratings.iter().zip(kinds).zip(dates);
        each.map(|((rpe, kind), date)| {
            let end: Timestamp = format!("{date}T19:00:00Z").parse().unwrap();
            Rated {
                kind,
                rpe: Rpe::from_f64(*rpe).unwrap(),
                date,
                ended_at: end,
                given_at: end + 10.minutes(),
            }
        })
        .collect()
    }

    const VARIED: [f64; 12] = [4.0, 5.0, 6.0, 7.0, 5.0, 8.0, 6.0, 3.0, 7.0, 5.0, 6.0, 9.0];

    #[test]
    fn s18_the_same_rating_over_and_over() {
        assert_eq!(habits(&rated(&[5.0; 12])), [Habit::SameRating]);
        assert_eq!(habits(&rated(&VARIED)), []);
        assert_eq!(habits(&rated(&[5.0; 9])), []);
    }

    #[test]
    fn one_kind_of_session_may_feel_the_same() {
        let mut ratings = rated(&[5.0; 12]);
        for rated in &mut ratings {
            rated.kind = Kind::Practice;
        }
        assert_eq!(habits(&ratings), []);
        assert_eq!(habits(&[]), []);
    }

    #[test]
    fn a_break_in_the_row_starts_it_anew() {
        let mut ratings = vec![5.0; 12];
        ratings.extend([6.0, 5.0, 5.0, 5.0]);
        assert_eq!(habits(&rated(&ratings)), []);
    }

    #[test]
    fn most_of_the_newest_ten_given_early_is_a_habit_and_half_is_none() {
        let early = |number: usize| {
            let mut ratings = rated(&VARIED);
            for rated in ratings.iter_mut().rev().take(number) {
                rated.given_at = rated.ended_at - 1.second();
            }
            habits(&ratings)
        };
        assert_eq!(early(5), []);
        assert_eq!(early(6), [Habit::BeforeEnd]);
        let mut few = rated(&VARIED[..9]);
        for rated in &mut few {
            rated.given_at = rated.ended_at - 1.second();
        }
        assert_eq!(habits(&few), [], "nine are too few to tell");
    }

    #[test]
    fn a_rating_at_the_very_end_is_not_early() {
        let mut ratings = rated(&VARIED);
        for rated in &mut ratings {
            rated.given_at = rated.ended_at;
        }
        assert_eq!(habits(&ratings), []);
    }

    #[test]
    fn several_days_rated_in_one_sitting() {
        let at_once = |number: usize, apart: i64| {
            let mut ratings = rated(&VARIED);
            let last = ratings.last().unwrap().given_at;
            for (place, rated) in (0..).zip(ratings.iter_mut().rev().take(number)) {
                rated.given_at = last + (apart * place).minutes();
            }
            habits(&ratings)
        };
        assert_eq!(at_once(5, 7), [Habit::OneSitting]);
        assert_eq!(at_once(4, 7), []);
        assert_eq!(at_once(5, 8), [], "32 minutes");
    }

    #[test]
    fn a_tournament_of_two_days_may_be_rated_in_the_evening() {
        let mut ratings = rated(&VARIED);
        let (day, given) = {
            let last = ratings.last().unwrap();
            (last.date, last.given_at)
        };
        for rated in ratings.iter_mut().rev().take(4) {
            (rated.date, rated.given_at) = (day, given);
        }
        ratings[7].given_at = given;
        assert_eq!(habits(&ratings), []);
    }
}
