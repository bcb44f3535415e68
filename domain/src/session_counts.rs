//! Landings and throws counted in a session, by somebody who watched or from a recording.
//!
//! What nobody counted is missing, never 0. Landings are counted as [`Contacts`] are: each once by events, on both feet for either
//! leg. Common practice, no source.

use crate::coded::coded_enum;
use crate::contacts::Contacts;

/// More landings on feet in a session than this are warned about. Common practice, no source.
pub const MANY_LANDINGS: u32 = 400;

coded_enum! {
    /// How a number was come by.
    CountBasis {
        /// Each one was counted.
        Counted = "counted",
        /// It was estimated, as from a part of the session.
        Estimated = "estimated",
    }
}

/// A number counted in a session, 0 to 1000.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Count(u16);

/// Why a number is not a count of a session.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SessionCountError {
    /// It is below 0 or above [`Count::MOST`].
    #[error("a count of a session goes from 0 to 1000")]
    OutOfRange,
    /// More landings under load than landings on feet.
    #[error("landings under load are a part of those on feet")]
    MoreLoadedThanLandings,
}

impl Count {
    /// The largest one.
    pub const MOST: u16 = 1000;

    /// From a whole number.
    ///
    /// # Errors
    /// [`SessionCountError::OutOfRange`] outside 0 to 1000.
    pub fn new(number: i64) -> Result<Count, SessionCountError> {
        match u16::try_from(number) {
            Ok(number @ 0..=Count::MOST) => Ok(Count(number)),
            _ => Err(SessionCountError::OutOfRange),
        }
    }

    /// The number.
    #[must_use]
    pub fn get(self) -> u32 {
        self.0.into()
    }
}

/// Landings counted in a session.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Landings {
    both_feet: Count,
    left_foot: Count,
    right_foot: Count,
    loaded: Option<u32>,
    hands: Option<Count>,
}

impl Landings {
    /// Landings on both feet, on the left foot alone and on the right foot alone. Those under load are a part of them, those on hands
    /// are apart; both may be uncounted.
    ///
    /// # Errors
    /// [`SessionCountError::OutOfRange`] for a negative number under load, [`SessionCountError::MoreLoadedThanLandings`] for more of
    /// them than landings on feet.
    pub fn new(
        [both_feet, left_foot, right_foot]: [Count; 3],
        loaded: Option<i64>,
        hands: Option<Count>,
    ) -> Result<Landings, SessionCountError> {
        let whole = |loaded| u32::try_from(loaded).map_err(|_| SessionCountError::OutOfRange);
        let landings = Landings {
            both_feet,
            left_foot,
            right_foot,
            loaded: loaded.map(whole).transpose()?,
            hands,
        };
        if landings.loaded > Some(landings.contacts().events()) {
            return Err(SessionCountError::MoreLoadedThanLandings);
        }
        Ok(landings)
    }

    /// As contacts. What was not counted of loads and hands stands as 0: ask [`Landings::loaded`] and [`Landings::hands`].
    #[must_use]
    pub fn contacts(&self) -> Contacts {
        Contacts {
            both_feet: self.both_feet.get(),
            left_foot: self.left_foot.get(),
            right_foot: self.right_foot.get(),
            hands: self.hands.map_or(0, Count::get),
            loaded: self.loaded.unwrap_or(0),
            not_known: 0,
        }
    }

    /// Landings on feet under load, where they were counted.
    #[must_use]
    pub const fn loaded(&self) -> Option<u32> {
        self.loaded
    }

    /// Landings on hands, where they were counted.
    #[must_use]
    pub fn hands(&self) -> Option<u32> {
        self.hands.map(Count::get)
    }

    /// Whether there are more landings on feet than [`MANY_LANDINGS`].
    #[must_use]
    pub fn are_many(&self) -> bool {
        self.contacts().events() > MANY_LANDINGS
    }
}

/// What was counted in a session: landings, throws or both.
///
/// ```
/// use plimsoll_domain::session_counts::{Count, CountBasis, Landings, SessionCounts};
/// let count = |number| Count::new(number).unwrap();
/// let feet = [count(61), count(51), count(51)];
/// let landings = Landings::new(feet, Some(15), Some(count(24))).unwrap();
/// let counted = SessionCounts::new(Some(landings), None, CountBasis::Counted).unwrap();
/// assert_eq!((counted.on_feet(), counted.throws()), (Some(163), None));
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SessionCounts {
    landings: Option<Landings>,
    throws: Option<Count>,
    basis: CountBasis,
}

impl SessionCounts {
    /// Of what was counted; `None` where nothing was.
    #[must_use]
    pub fn new(
        landings: Option<Landings>,
        throws: Option<Count>,
        basis: CountBasis,
    ) -> Option<SessionCounts> {
        (landings.is_some() || throws.is_some()).then_some(SessionCounts {
            landings,
            throws,
            basis,
        })
    }

    /// The landings, where they were counted.
    #[must_use]
    pub const fn landings(&self) -> Option<Landings> {
        self.landings
    }

    /// Landings on feet, each once, where they were counted.
    #[must_use]
    pub fn on_feet(&self) -> Option<u32> {
        Some(self.landings?.contacts().events())
    }

    /// Throws, where they were counted.
    #[must_use]
    pub fn throws(&self) -> Option<u32> {
        self.throws.map(Count::get)
    }

    /// How the numbers were come by.
    #[must_use]
    pub const fn basis(&self) -> CountBasis {
        self.basis
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn count(number: i64) -> Count {
        Count::new(number).unwrap()
    }

    #[test]
    fn a_count_goes_from_0_to_1000() {
        assert_eq!((count(0).get(), count(1000).get()), (0, 1000));
        for outside in [-1, 1001, 70_000] {
            assert_eq!(Count::new(outside), Err(SessionCountError::OutOfRange));
        }
    }

    #[test]
    fn the_landings_of_a_session_are_counted_by_events_and_by_legs() {
        let feet = [count(61), count(51), count(51)];
        let found = Landings::new(feet, Some(15), Some(count(24))).unwrap();
        let contacts = found.contacts();
        assert_eq!(contacts.events(), 163);
        assert_eq!((contacts.left_leg(), contacts.right_leg()), (112, 112));
        assert_eq!((found.loaded(), found.hands()), (Some(15), Some(24)));
        assert!(!found.are_many());
    }

    #[test]
    fn landings_under_load_are_a_part_of_those_on_feet() {
        let of = |loaded| Landings::new([count(2), count(1), count(0)], loaded, None);
        assert_eq!(of(Some(3)).map(|found| found.loaded()), Ok(Some(3)));
        assert_eq!(of(None).map(|found| found.loaded()), Ok(None));
        assert_eq!(of(Some(4)), Err(SessionCountError::MoreLoadedThanLandings));
        assert_eq!(of(Some(-1)), Err(SessionCountError::OutOfRange));
    }

    #[test]
    fn many_landings_are_more_than_400() {
        let of = |left| Landings::new([count(300), count(left), count(0)], None, None).unwrap();
        assert_eq!((of(100).are_many(), of(101).are_many()), (false, true));
    }

    #[test]
    fn what_was_not_counted_is_missing_and_something_was() {
        let basis = CountBasis::Estimated;
        let throws = SessionCounts::new(None, Some(count(0)), basis).unwrap();
        assert_eq!((throws.on_feet(), throws.throws()), (None, Some(0)));
        assert_eq!(SessionCounts::new(None, None, basis), None);
    }
}
