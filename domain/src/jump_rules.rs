//! The rules about jumps: landing contacts in a session, and the time between sessions with jumps.
//!
//! Limits by level are handbook ranges for trained adults, 80 to 100 contacts a session for novices up to
//! 120 to 140, and 48 to 72 h between sessions: NSCA, Essentials of Strength Training and Conditioning,
//! 4th ed. (2016); value from memory. They are about planned jumps, not those of games. Youths start
//! lower, as their coach judges.

use crate::contacts::Contacts;
use crate::exact::{Decimal, Fraction};
use crate::figure::Bounds;
use crate::judge::{Certainty, Outcome};

/// A rule about jumps, judged, with how far it is from its limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct JumpJudgement {
    /// What the rule says.
    pub outcome: Outcome,
    /// How far beyond the limit, in its unit; negative where within.
    pub beyond: Fraction,
}

/// Whether a session has more landing contacts than the limit, by events. Contacts that are not known may
/// be any number: then the rule is possible at the least.
#[must_use]
pub fn landing_contacts(limit: Decimal, contacts: &Contacts) -> JumpJudgement {
    let beyond = Fraction::whole(contacts.events().into()).less(limit.to_fraction());
    let over = beyond > Fraction::ZERO;
    JumpJudgement {
        outcome: Outcome::of(over, over || contacts.not_known > 0),
        beyond,
    }
}

/// Whether fewer hours than the limit lie between the end of the last session with jumps and the start of
/// the next; instants in seconds of any one scale.
#[must_use]
pub fn jump_gap(limit: Decimal, last_end: i64, next_start: i64) -> JumpJudgement {
    const SECONDS_AN_HOUR: i64 = 60 * 60;
    let hours = Fraction::over::<SECONDS_AN_HOUR>(next_start.saturating_sub(last_end));
    let beyond = limit.to_fraction().less(hours);
    let outcome = if beyond > Fraction::ZERO {
        Outcome::Raised(Certainty::Certain)
    } else {
        Outcome::NotRaised
    };
    JumpJudgement { outcome, beyond }
}

/// The same where the time lies between two, in seconds: certain where the longest is too short, possible where the shortest is. How
/// far it is from the limit goes by the shortest.
#[must_use]
pub fn jump_gap_between(limit: Decimal, seconds: Bounds<i64>) -> JumpJudgement {
    let (shortest, longest) = (
        jump_gap(limit, 0, seconds.low),
        jump_gap(limit, 0, seconds.high),
    );
    let raised = |judged: &JumpJudgement| judged.outcome != Outcome::NotRaised;
    JumpJudgement {
        outcome: Outcome::of(raised(&longest), raised(&shortest)),
        ..shortest
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_known_may_be_over() {
        let limit = Decimal::hundredths(10_000);
        let of = |both_feet, not_known| {
            let found = Contacts {
                both_feet,
                not_known,
                ..Contacts::default()
            };
            landing_contacts(limit, &found).outcome
        };
        assert_eq!(of(100, 0), Outcome::NotRaised);
        assert_eq!(of(101, 0), Outcome::Raised(Certainty::Certain));
        assert_eq!(of(100, 1), Outcome::Raised(Certainty::Possible));
        assert_eq!(of(101, 1), Outcome::Raised(Certainty::Certain));
    }

    #[test]
    fn the_limit_itself_is_time_enough() {
        let limit = Decimal::hundredths(4800);
        let of = |seconds: i64| jump_gap(limit, 1000, 1000 + seconds).outcome;
        assert_eq!(of(48 * 3600), Outcome::NotRaised);
        assert_eq!(of(48 * 3600 - 1), Outcome::Raised(Certainty::Certain));
        assert_eq!(of(-1), Outcome::Raised(Certainty::Certain), "they overlap");
    }

    #[test]
    fn a_time_between_two_is_as_sure_as_both() {
        let of = |low: i64, high: i64| {
            let hours = Bounds {
                low: 3600 * low,
                point: 3600 * low,
                high: 3600 * high,
            };
            jump_gap_between(Decimal::hundredths(4800), hours)
        };
        assert_eq!(of(48, 72).outcome, Outcome::NotRaised);
        assert_eq!(of(24, 72).outcome, Outcome::Raised(Certainty::Possible));
        assert_eq!(of(24, 72).beyond, Fraction::whole(24));
        assert_eq!(of(0, 47).outcome, Outcome::Raised(Certainty::Certain));
    }
}
