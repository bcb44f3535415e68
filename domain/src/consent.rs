//! What a family has consented to, at an instant.
//!
//! A consent is given once, holds from one instant on and perhaps until another, and may be withdrawn. It is never changed:
//! other terms are another consent. So what holds is a question about instants alone, and the order in which consents became
//! known to somebody does not matter.
//!
//! Of a consent and a withdrawal the later one counts, and at the same instant the withdrawal: whoever says no is heard from
//! that instant on, also about consents that were to begin later. Who may say yes for a child, and until when, is for local
//! law; common practice, no source.

use jiff::Timestamp;
use jiff::civil::Date;

use crate::age::birthday;
use crate::coded::coded_enum;

coded_enum! {
    /// What a consent is about. Each is asked for by itself.
    DataClass {
        /// What a club has logged of her days, in AU and minutes, for another club.
        DayTotals = "day_totals",
        /// That her week counts in the mean and the quartiles of her squad.
        SquadFigures = "squad_figures",
        /// Results of physical tests.
        Tests = "tests",
        /// Where and when something hurts.
        Pain = "pain",
        /// Sleep, fatigue, soreness, stress.
        Wellness = "wellness",
    }
}

impl DataClass {
    /// Whether nobody may read it before somebody has consented, whatever a club says: what a child says of her own body.
    #[must_use]
    pub const fn always_needs_consent(self) -> bool {
        matches!(self, DataClass::Pain | DataClass::Wellness)
    }
}

/// When a consent to one class of data for one recipient was given, from when to when it holds, and when it was withdrawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Consent {
    /// When it was received.
    pub given_at: Timestamp,
    /// The first instant it is meant for; never before `given_at`, since nobody consents to what has already happened.
    pub from: Timestamp,
    /// The first instant it is no longer meant for.
    pub until: Option<Timestamp>,
    /// When it was withdrawn.
    pub withdrawn_at: Option<Timestamp>,
}

/// How things stand with one class of data for one recipient.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Nobody was asked, or nobody answered.
    NeverGiven,
    /// Consented to from a later instant on.
    ToCome,
    /// Consented to.
    InForce,
    /// It was meant until an instant that has passed.
    Ended,
    /// It was withdrawn.
    Withdrawn,
}

impl Standing {
    /// The stable code of an answer.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Standing::NeverGiven => "never_given",
            Standing::ToCome => "to_come",
            Standing::InForce => "in_force",
            Standing::Ended => "ended",
            Standing::Withdrawn => "withdrawn",
        }
    }
}

/// How things stand at an instant, by what was said up to then. The consents are those to one class of data for one recipient,
/// in any order.
///
/// ```
/// use plimsoll_domain::consent::{Consent, Standing, standing};
/// let given = Consent {
///     given_at: "2026-09-01T10:00:00Z".parse().unwrap(),
///     from: "2026-09-01T10:00:00Z".parse().unwrap(),
///     until: None,
///     withdrawn_at: Some("2026-11-20T11:00:00Z".parse().unwrap()),
/// };
/// let at = |text: &str| standing(&[given], text.parse().unwrap());
/// assert_eq!(at("2026-08-31T10:00:00Z"), Standing::NeverGiven);
/// assert_eq!(at("2026-11-20T10:59:59Z"), Standing::InForce);
/// assert_eq!(at("2026-11-20T11:00:00Z"), Standing::Withdrawn);
/// ```
#[must_use]
pub fn standing(consents: &[Consent], at: Timestamp) -> Standing {
    let said = || consents.iter().filter(move |one| one.given_at <= at);
    let withdrawn = said()
        .filter_map(|one| one.withdrawn_at)
        .filter(|then| *then <= at)
        .max();
    let stands = |one: &&Consent| withdrawn.is_none_or(|then| then < one.given_at);
    let has_begun = |one: &&Consent| one.from <= at;
    let goes_on = |one: &&Consent| one.until.is_none_or(|until| at < until);
    if said()
        .filter(stands)
        .filter(has_begun)
        .any(|one| goes_on(&one))
    {
        Standing::InForce
    } else if said().filter(stands).filter(goes_on).count() > 0 {
        Standing::ToCome
    } else if withdrawn.is_some() && said().filter(stands).count() == 0 {
        Standing::Withdrawn
    } else if said().count() > 0 {
        Standing::Ended
    } else {
        Standing::NeverGiven
    }
}

/// Who says yes or no for an athlete.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Decides {
    /// Her guardians.
    Guardian,
    /// She herself.
    Athlete,
}

/// Who decides on a date: guardians until the birthday on which she completes `age` years, and she herself from that day on.
/// Nobody's birth date being known, guardians decide. See [`birthday`] for who was born on 29 February.
#[must_use]
pub fn decides(born: Option<Date>, age: u8, on: Date) -> Decides {
    match born.and_then(|born| birthday(born, age)) {
        Some(birthday) if birthday <= on => Decides::Athlete,
        _ => Decides::Guardian,
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    fn at(hour: i64) -> Timestamp {
        Timestamp::from_second(hour * 3600).unwrap()
    }

    fn given(given_at: i64, from: i64, until: Option<i64>, withdrawn_at: Option<i64>) -> Consent {
        Consent {
            given_at: at(given_at),
            from: at(from),
            until: until.map(at),
            withdrawn_at: withdrawn_at.map(at),
        }
    }

    #[test]
    fn a_consent_holds_from_its_first_instant_to_its_last() {
        let consents = [given(1, 3, Some(5), None)];
        let stood = [0, 1, 2, 3, 4, 5, 9].map(|hour| standing(&consents, at(hour)));
        use Standing::{Ended, InForce, NeverGiven, ToCome};
        assert_eq!(
            stood,
            [NeverGiven, ToCome, ToCome, InForce, InForce, Ended, Ended]
        );
    }

    #[test]
    fn a_withdrawal_is_heard_until_somebody_consents_anew() {
        let consents = [given(1, 1, None, Some(4)), given(6, 6, None, None)];
        let stood = [3, 4, 5, 6].map(|hour| standing(&consents, at(hour)));
        use Standing::{InForce, Withdrawn};
        assert_eq!(stood, [InForce, Withdrawn, Withdrawn, InForce]);
    }

    #[test]
    fn a_withdrawal_also_ends_what_was_to_begin_later() {
        let consents = [given(1, 1, Some(9), Some(4)), given(2, 20, None, None)];
        assert_eq!(standing(&consents, at(30)), Standing::Withdrawn);
    }

    #[test]
    fn the_athlete_decides_from_her_birthday_on() {
        let born = Some(date(2008, 11, 20));
        assert_eq!(decides(born, 18, date(2026, 11, 19)), Decides::Guardian);
        assert_eq!(decides(born, 18, date(2026, 11, 20)), Decides::Athlete);
        assert_eq!(decides(born, 16, date(2026, 11, 19)), Decides::Athlete);
        assert_eq!(decides(None, 16, date(2026, 11, 20)), Decides::Guardian);
    }

    #[test]
    fn born_on_a_leap_day_she_is_of_age_on_the_first_of_march() {
        let born = Some(date(2008, 2, 29));
        assert_eq!(decides(born, 18, date(2026, 2, 28)), Decides::Guardian);
        assert_eq!(decides(born, 18, date(2026, 3, 1)), Decides::Athlete);
        assert_eq!(decides(born, 20, date(2028, 2, 29)), Decides::Athlete);
    }
}
