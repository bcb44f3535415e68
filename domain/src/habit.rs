//! Rating habits that leave little information in the ratings.
//!
//! Common practice, no source: the same rating in ten or more consecutive sessions of two or more
//! kinds, or most ratings given before the session ended. The finding is said kindly, to the coach,
//! without penalty. Below about 12 years ratings are less dependable: lean on minutes, hours and
//! free days.

use std::collections::BTreeSet;

use crate::exact::Fraction;
use crate::session::Kind;
use crate::units::Rpe;

/// Consecutive sessions of one and the same rating that are too many.
const SAME_IN_A_ROW: usize = 10;

/// Whether the newest ratings carry little information: ten or more of the same in a row over two
/// or more kinds of session. Oldest first.
///
/// ```
/// use plimsoll_domain::{Kind, Rpe, little_information};
/// let five = Rpe::from_f64(5.0).unwrap();
/// let mut sessions = vec![(Kind::Practice, five); 8];
/// sessions.extend([(Kind::Strength, five); 4]);
/// assert!(little_information(&sessions));
/// ```
#[must_use]
pub fn little_information(sessions: &[(Kind, Rpe)]) -> bool {
    let Some((_, newest)) = sessions.last() else {
        return false;
    };
    let same: Vec<Kind> = sessions
        .iter()
        .rev()
        .take_while(|(_, rpe)| rpe == newest)
        .map(|(kind, _)| *kind)
        .collect();
    let kinds: BTreeSet<Kind> = same.iter().copied().collect();
    same.len() >= SAME_IN_A_ROW && kinds.len() >= 2
}

/// Sessions needed to compare ratings with what was intended.
const LEAST_PAIRS: usize = 5;

/// How far ratings lie from what the sessions were meant to be, on the mean: reported minus intended
/// session RPE, in points of the scale; negative where the sessions felt easier. `None` of fewer than
/// five sessions. Common practice, no source.
#[must_use]
pub fn mean_gap(intended_and_reported: &[(Rpe, Rpe)]) -> Option<Fraction> {
    if intended_and_reported.len() < LEAST_PAIRS {
        return None;
    }
    let half_steps = |rpe: Rpe| i64::from(rpe.half_steps());
    let gaps = intended_and_reported.iter();
    let sum: i64 = gaps
        .map(|(intended, reported)| half_steps(*reported) - half_steps(*intended))
        .sum();
    let count = i64::try_from(intended_and_reported.len()).ok()?;
    Fraction::new(sum, 2 * count)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exact::Places;

    #[test]
    fn s18_ratings_against_what_was_intended() {
        let rpe = |rpe| Rpe::from_f64(rpe).unwrap();
        let intended = [6.0, 6.0, 7.0, 5.0, 8.0, 6.0].map(rpe);
        let reported = [5.0, 7.0, 7.0, 4.0, 6.0, 5.0].map(rpe);
        let pairs: Vec<_> = intended.into_iter().zip(reported).collect();
        let gap = mean_gap(&pairs).unwrap();
        assert_eq!(gap.round(Places::Four).to_string(), "-0.6667");
        assert_eq!(mean_gap(&pairs[..4]), None);
    }

    fn rated(ratings: &[f64]) -> Vec<(Kind, Rpe)> {
        let kinds = [Kind::Practice, Kind::Strength];
        let rated = ratings.iter().zip(kinds.iter().cycle());
        rated
            .map(|(rpe, kind)| (*kind, Rpe::from_f64(*rpe).unwrap()))
            .collect()
    }

    #[test]
    fn s18_the_same_rating_over_and_over() {
        assert!(little_information(&rated(&[5.0; 12])));
        let varied = [4.0, 5.0, 6.0, 7.0, 5.0, 8.0, 6.0, 3.0, 7.0, 5.0, 6.0, 9.0];
        assert!(!little_information(&rated(&varied)));
    }

    #[test]
    fn one_kind_of_session_may_feel_the_same() {
        let five = Rpe::from_f64(5.0).unwrap();
        assert!(!little_information(&[(Kind::Practice, five); 12]));
        assert!(!little_information(&[]));
    }

    #[test]
    fn a_break_in_the_row_starts_it_anew() {
        let mut ratings = vec![5.0; 12];
        ratings.extend([6.0, 5.0, 5.0, 5.0]);
        assert!(!little_information(&rated(&ratings)));
    }
}
