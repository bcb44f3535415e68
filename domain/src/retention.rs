//! What of an athlete's record is due for erasure once she has left.
//!
//! ```text
//! left       the last day of her last membership; nobody with a membership that has no end has left
//! kept for   days after it: the longest of the class's own term and those of the classes that need it
//! due        from the day after, unless she is held
//! erased     on a night, of what is due, that which was due on the night before it too
//! ```
//!
//! A class without a term is kept, and so is what it needs: absences change the figures of loads that are kept, a withdrawn consent
//! is what keeps records closed, and without her identity no record says whose it is. Findings hold the figures they were judged by and
//! need no loads. The list of who read what is only ever added to and has no term.
//!
//! How long a class may or must be kept is for local law and the club's own counsel; there is no value here that holds by itself.

use std::collections::BTreeMap;

use jiff::Span;
use jiff::civil::Date;

use crate::record_class::RecordClass;
use crate::record_class::RecordClass::{
    AccessTrail, Availability, Clinical, Consents, Findings, Identity, Load,
};

/// In which order classes are erased: none before one that needs it.
const ORDER: [RecordClass; 6] = [Findings, Load, Clinical, Availability, Consents, Identity];

/// The longest term, in days: a hundred years.
pub const LONGEST: u32 = 36_500;

/// What clubs usually choose for loads, in days: two seasons after leaving. Common practice, no source; it holds only where a club says
/// so.
pub const USUAL_FOR_LOAD: u32 = 730;

/// Nights further apart than so many days do not confirm each other.
const APART: i64 = 7;

/// The classes that can have a term, in the order in which they are erased.
pub fn with_terms() -> impl Iterator<Item = RecordClass> {
    ORDER.into_iter()
}

/// What has to be kept as long as a class is.
#[must_use]
pub const fn needs(class: RecordClass) -> &'static [RecordClass] {
    match class {
        Load => &[Availability, Consents, Identity],
        Clinical => &[Consents, Identity],
        Availability | Findings | Consents => &[Identity],
        Identity | AccessTrail => &[],
    }
}

/// How long a club keeps what, in days after an athlete left; what is not named is kept.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Terms(BTreeMap<RecordClass, u32>);

impl Terms {
    /// Terms of classes that can have one, each once; `None` for others, and for days beyond [`LONGEST`].
    #[must_use]
    pub fn new(terms: impl IntoIterator<Item = (RecordClass, u32)>) -> Option<Self> {
        let mut made = BTreeMap::new();
        for (class, days) in terms {
            let fits = ORDER.contains(&class) && days <= LONGEST;
            if !fits || made.insert(class, days).is_some() {
                return None;
            }
        }
        Some(Self(made))
    }

    /// The terms as they were set, by class.
    pub fn each(&self) -> impl Iterator<Item = (RecordClass, u32)> {
        self.0.iter().map(|(class, days)| (*class, *days))
    }

    /// Whether nothing is ever due.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// How many days after leaving a class is kept; `None` without end.
    ///
    /// ```
    /// use plimsoll_domain::RecordClass::{Availability, Load};
    /// use plimsoll_domain::retention::Terms;
    /// let terms = Terms::new([(Load, 730), (Availability, 30)]).unwrap();
    /// assert_eq!(terms.kept_for(Availability), Some(730), "loads need her absences");
    /// assert_eq!(Terms::new([(Availability, 30)]).unwrap().kept_for(Availability), None);
    /// ```
    #[must_use]
    pub fn kept_for(&self, class: RecordClass) -> Option<u32> {
        let own = *self.0.get(&class)?;
        waits_for(class).try_fold(own, |longest, other| {
            self.kept_for(other).map(|days| days.max(longest))
        })
    }
}

/// The classes that have to go before a class may: those that need it.
pub fn waits_for(class: RecordClass) -> impl Iterator<Item = RecordClass> {
    with_terms().filter(move |other| needs(*other).contains(&class))
}

/// The last day of an athlete's last membership, from the last days of all of them; `None` while one has no end, and for somebody
/// who has none.
pub fn left_on(last_days: impl IntoIterator<Item = Option<Date>>) -> Option<Date> {
    last_days
        .into_iter()
        .try_fold(None, |latest, last| last.map(|last| latest.max(Some(last))))?
}

/// Something for which nothing of an athlete may be erased.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Hold {
    /// The last day of it; `None` until it is lifted.
    pub until: Option<Date>,
}

impl Hold {
    /// Whether it stands on a date.
    #[must_use]
    pub fn is_on(self, date: Date) -> bool {
        self.until.is_none_or(|until| date <= until)
    }
}

/// A class whose term is over.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Over {
    /// The class.
    pub class: RecordClass,
    /// The first day on which it is.
    pub since: Date,
}

/// A night on which a club erases what is due, and the terms it has then.
#[derive(Clone, Copy, Debug)]
pub struct Night<'a> {
    /// The date of its morning, in the club's zone.
    pub date: Date,
    /// The terms.
    pub terms: &'a Terms,
}

impl Night<'_> {
    /// The classes of somebody who left on a day whose terms are over, in the order in which they go; held or not.
    #[must_use]
    pub fn over(self, left_on: Date) -> Vec<Over> {
        let of_class = |class| {
            let days = i64::from(self.terms.kept_for(class)?) + 1;
            let since = left_on.checked_add(Span::new().days(days)).ok()?;
            (since <= self.date).then_some(Over { class, since })
        };
        with_terms().filter_map(of_class).collect()
    }

    /// Whether an earlier night was near enough to confirm what is due on this one. A clock that is wrong by more has shown nobody what
    /// it would erase.
    #[must_use]
    pub fn is_confirmed_by(self, before: Night<'_>) -> bool {
        (1..=APART).contains(&(self.date.duration_since(before.date).as_hours() / 24))
    }
}

/// What is erased tonight of somebody, in this order: what is due, and was due on the night before too, each by the day on which she had
/// left as it was known then. Nothing while a hold stands, and nothing without a night before, so that what becomes due, by other terms
/// or by a membership that was ended by mistake, can be seen before it goes.
#[must_use]
pub fn erased(
    (tonight, left_on): (Night<'_>, Date),
    before: Option<(Night<'_>, Date)>,
    holds: &[Hold],
) -> Vec<RecordClass> {
    let before = before.filter(|(before, _)| tonight.is_confirmed_by(*before));
    let is_held = holds.iter().any(|hold| hold.is_on(tonight.date));
    let Some((before, left_then)) = before.filter(|_| !is_held) else {
        return Vec::new();
    };
    let then: Vec<_> = before.over(left_then).iter().map(|one| one.class).collect();
    let now = tonight.over(left_on).into_iter().map(|one| one.class);
    now.filter(|class| then.contains(class)).collect()
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    fn terms(terms: &[(RecordClass, u32)]) -> Terms {
        Terms::new(terms.iter().copied()).unwrap()
    }

    fn over(terms: &Terms, on: Date) -> Vec<RecordClass> {
        let night = Night { date: on, terms };
        let over = night.over(date(2026, 6, 30)).into_iter();
        over.map(|one| one.class).collect()
    }

    #[test]
    fn she_left_with_her_last_membership() {
        let (spring, summer) = (Some(date(2026, 3, 1)), Some(date(2026, 6, 30)));
        assert_eq!(left_on([summer, spring]), summer);
        assert_eq!(left_on([spring, None, summer]), None, "one has no end");
        assert_eq!(left_on([]), None, "she never was a member");
    }

    #[test]
    fn a_class_is_due_on_the_day_after_its_term() {
        let kept = terms(&[(Load, 730)]);
        assert_eq!(over(&kept, date(2028, 6, 29)), []);
        assert_eq!(over(&kept, date(2028, 6, 30)), [Load]);
        assert_eq!(over(&terms(&[(Load, 0)]), date(2026, 6, 30)), []);
        assert_eq!(over(&terms(&[(Load, 0)]), date(2026, 7, 1)), [Load]);
        assert_eq!(over(&terms(&[]), date(2126, 6, 30)), []);
    }

    #[test]
    fn identity_goes_last_and_waits_for_what_has_no_term() {
        let all = with_terms().map(|class| (class, 10));
        let all = Terms::new(all).unwrap();
        assert_eq!(over(&all, date(2026, 7, 11)), ORDER);
        let some = terms(&[(Identity, 1), (Load, 1), (Availability, 1), (Consents, 1)]);
        assert_eq!(over(&some, date(2026, 8, 1)), [Load, Availability]);
        assert_eq!(some.kept_for(Consents), None, "clinical records need them");
    }

    #[test]
    fn no_class_is_erased_before_one_that_needs_it() {
        for (place, class) in ORDER.iter().enumerate() {
            assert!(
                ORDER[..place]
                    .iter()
                    .all(|before| !needs(*class).contains(before))
            );
        }
    }

    #[test]
    fn a_term_is_given_once_and_never_to_the_list_of_who_read_what() {
        assert_eq!(Terms::new([(Load, 1), (Load, 2)]), None);
        assert_eq!(Terms::new([(AccessTrail, 1)]), None);
        assert_eq!(Terms::new([(Load, LONGEST + 1)]), None);
    }

    #[test]
    fn what_is_erased_was_due_the_night_before() {
        let (kept, shorter) = (terms(&[(Load, 30)]), terms(&[(Load, 10)]));
        let night = |day, terms| Night {
            date: date(2026, 7, day),
            terms,
        };
        let left = date(2026, 6, 15);
        let erased = |tonight, before: Option<_>| {
            erased((tonight, left), before.map(|night| (night, left)), &[])
        };
        assert_eq!(erased(night(17, &kept), Some(night(16, &kept))), [Load]);
        assert_eq!(erased(night(16, &kept), Some(night(15, &kept))), []);
        assert_eq!(erased(night(17, &kept), None), []);
        let changed = erased(night(2, &shorter), Some(night(1, &kept)));
        assert_eq!(changed, [], "a term that was shortened waits a night");
        assert_eq!(erased(night(30, &kept), Some(night(22, &kept))), []);
        assert_eq!(erased(night(17, &kept), Some(night(17, &kept))), []);
        assert_eq!(erased(night(17, &kept), Some(night(18, &kept))), []);
    }

    #[test]
    fn a_membership_that_ends_in_the_past_waits_a_night() {
        let kept = terms(&[(Load, 30)]);
        let night = |day| Night {
            date: date(2026, 7, day),
            terms: &kept,
        };
        let (long_ago, lately) = (date(2025, 6, 15), date(2026, 6, 30));
        let tonight = (night(17), long_ago);
        assert_eq!(erased(tonight, Some((night(16), lately)), &[]), []);
        assert_eq!(erased(tonight, Some((night(16), long_ago)), &[]), [Load]);
    }

    #[test]
    fn a_hold_stands_to_its_last_day() {
        let until = Hold {
            until: Some(date(2026, 7, 1)),
        };
        assert!(until.is_on(date(2026, 7, 1)) && !until.is_on(date(2026, 7, 2)));
        assert!(Hold { until: None }.is_on(Date::MAX));
    }
}
