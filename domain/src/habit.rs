//! Rating habits that leave little information in the ratings.
//!
//! Common practice, no source: the same rating in ten or more consecutive sessions of two or more
//! kinds, or most ratings given before the session ended. The finding is said kindly, to the coach,
//! without penalty. Below about 12 years ratings are less dependable: lean on minutes, hours and
//! free days.

use std::collections::BTreeSet;

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

#[cfg(test)]
mod tests {
    use super::*;

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
