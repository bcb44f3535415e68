//! Sessions of one athlete that overlap in time.
//!
//! Both stay in the point value. The lower bound of a sum counts the larger only, because the
//! athlete cannot have done both in full.

use std::cmp::Reverse;

use crate::load::Load;

/// When a session took place and what it weighs; instants in seconds of any one scale.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Interval {
    /// Start, included.
    pub start: i64,
    /// End, excluded: a session may begin where another ends.
    pub end: i64,
    /// Its load.
    pub load: Load,
}

/// What overlap means for one session.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Overlap {
    /// It overlaps another session, so a person should look at both.
    pub overlaps: bool,
    /// Its load belongs to the lower bound of a sum.
    pub counts_in_low: bool,
}

impl Interval {
    fn overlaps(&self, other: &Interval) -> bool {
        self.start < other.end && other.start < self.end
    }
}

/// One answer for each session, in the order given.
///
/// Sessions are taken from the heaviest down (then the earlier start, then the order given); one
/// that overlaps a session already counted is left out of the lower bound.
///
/// ```
/// use plimsoll_domain::{Interval, Load, overlaps};
/// let practice = Interval { start: 0, end: 90 * 60, load: Load::from_au(540) };
/// let school = Interval { start: 30 * 60, end: 90 * 60, load: Load::from_au(240) };
/// let found = overlaps(&[practice, school]);
/// assert!(found[0].counts_in_low && !found[1].counts_in_low);
/// ```
#[must_use]
pub fn overlaps(sessions: &[Interval]) -> Vec<Overlap> {
    let mut found = vec![
        Overlap {
            overlaps: false,
            counts_in_low: true
        };
        sessions.len()
    ];
    for cluster in clusters(sessions) {
        let mut counted: Vec<usize> = Vec::new();
        for &at in &cluster {
            let session = sessions[at];
            found[at] = Overlap {
                overlaps: cluster
                    .iter()
                    .any(|&i| i != at && sessions[i].overlaps(&session)),
                counts_in_low: !counted.iter().any(|&i| sessions[i].overlaps(&session)),
            };
            if found[at].counts_in_low {
                counted.push(at);
            }
        }
    }
    found
}

/// Groups sessions that touch each other through overlaps, heaviest first within a group, so that
/// the pairwise test runs over a handful even for a year of sessions.
fn clusters(sessions: &[Interval]) -> Vec<Vec<usize>> {
    let mut by_start: Vec<usize> = (0..sessions.len()).collect();
    by_start.sort_by_key(|&at| (sessions[at].start, at));
    let mut clusters: Vec<Vec<usize>> = Vec::new();
    let mut end = i64::MIN;
    for at in by_start {
        match clusters.last_mut() {
            Some(cluster) if sessions[at].start < end => cluster.push(at),
            _ => clusters.push(vec![at]),
        }
        end = end.max(sessions[at].end);
    }
    for cluster in &mut clusters {
        cluster.sort_by_key(|&at| (Reverse(sessions[at].load), sessions[at].start, at));
    }
    clusters
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(start: i64, end: i64, au: u16) -> Interval {
        Interval {
            start,
            end,
            load: Load::from_au(au),
        }
    }

    fn low(sessions: &[Interval]) -> Load {
        let found = overlaps(sessions);
        let counted = sessions
            .iter()
            .zip(&found)
            .filter(|(_, found)| found.counts_in_low);
        counted.map(|(session, _)| session.load).sum()
    }

    #[test]
    fn sessions_that_touch_do_not_overlap() {
        let found = overlaps(&[at(0, 90, 540), at(90, 150, 240)]);
        assert!(
            found
                .iter()
                .all(|session| !session.overlaps && session.counts_in_low)
        );
    }

    #[test]
    fn the_larger_of_two_is_kept() {
        assert_eq!(low(&[at(30, 90, 240), at(0, 90, 540)]), Load::from_au(540));
        assert_eq!(low(&[at(0, 60, 300), at(30, 90, 300)]), Load::from_au(300));
    }

    #[test]
    fn a_light_session_between_two_heavy_ones_is_dropped_alone() {
        let sessions = [at(0, 60, 500), at(50, 110, 100), at(100, 160, 400)];
        let found = overlaps(&sessions);
        assert!(found.iter().all(|session| session.overlaps));
        assert_eq!(low(&sessions), Load::from_au(900));
    }

    #[test]
    fn a_long_session_still_running_joins_later_ones() {
        let sessions = [
            at(0, 600, 300),
            at(10, 20, 400),
            at(500, 560, 200),
            at(700, 760, 100),
        ];
        assert_eq!(low(&sessions), Load::from_au(400 + 200 + 100));
        let overlap: Vec<bool> = overlaps(&sessions)
            .iter()
            .map(|found| found.overlaps)
            .collect();
        assert_eq!(overlap, [true, true, true, false]);
    }

    #[test]
    fn of_equal_sessions_the_earlier_is_kept_then_the_first_given() {
        let counted = |sessions: &[Interval]| -> Vec<bool> {
            overlaps(sessions)
                .iter()
                .map(|found| found.counts_in_low)
                .collect()
        };
        assert_eq!(counted(&[at(5, 20, 100), at(0, 10, 100)]), [false, true]);
        assert_eq!(counted(&[at(0, 10, 100), at(0, 10, 100)]), [true, false]);
        assert!(overlaps(&[]).is_empty());
    }
}
