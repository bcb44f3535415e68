//! What a clinician limits, as the instruction that a coach reads.
//!
//! Instructions, never reasons: neither a note nor what a written clearance is needed after is known
//! here. From its review date on a restriction says "ask", never "free". Where the law wants a written
//! clearance nothing is computed: no step, no ceiling, and no figure shortens it.

use jiff::civil::Date;

use crate::coded::coded_enum;
use crate::limited_span::{ClinicianLimit, LimitedSpan};
use crate::load::Load;
use crate::session::Kind;

coded_enum! {
    /// Whether somebody takes part, by what is entered. The later, the stricter.
    Availability {
        /// Nothing is entered; no statement that nothing is the matter.
        NothingEntered = "nothing_entered",
        /// Within limits.
        Limited = "limited",
        /// Not before the athletic trainer was asked.
        Ask = "ask",
        /// Not at all.
        NotAvailable = "not_available",
    }
}

/// What somebody under a restriction may do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Restricted {
    /// Take part within limits.
    To(Limits),
    /// Take no part.
    NotAvailable,
    /// Take no part until cleared in writing under local law.
    UntilCleared,
}

/// Limits of one session or day, and of a week.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Limits {
    /// Most minutes of a session.
    pub max_minutes: Option<u16>,
    /// Most load of seven days.
    pub max_week: Option<Load>,
    /// Most landing contacts of a session.
    pub max_contacts: Option<u16>,
    /// No games.
    pub no_games: bool,
    /// No jumps.
    pub no_jumps: bool,
    /// No throws.
    pub no_throws: bool,
    /// No contact with others.
    pub no_contact: bool,
    /// What else coaches are told.
    pub instruction: Option<String>,
}

/// A restriction over a span of days.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Restriction {
    /// First day.
    pub from: Date,
    /// Last day; `None` while it goes on.
    pub until: Option<Date>,
    /// From this day on a coach has to ask.
    pub review: Date,
    /// What may be done.
    pub restricted: Restricted,
}

/// What a restriction says on a date.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Instruction {
    /// How far she takes part.
    pub availability: Availability,
    /// The last day of that, where there is one.
    pub until: Option<Date>,
    /// One sentence for a coach.
    pub sentence: String,
}

impl Limits {
    /// Whether anything is limited at all.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        *self == Limits::default()
    }

    fn parts(&self) -> Vec<String> {
        let not = |forbidden: bool, what: &str| forbidden.then(|| format!("no {what}"));
        let parts = [
            self.max_minutes.map(|most| format!("max {most} min")),
            self.max_week
                .map(|most| format!("max {most} AU in seven days")),
            self.max_contacts
                .map(|most| format!("max {most} landing contacts")),
            not(self.no_games, "games"),
            not(self.no_jumps, "jumps"),
            not(self.no_throws, "throws"),
            not(self.no_contact, "contact with others"),
            self.instruction.clone(),
        ];
        parts.into_iter().flatten().collect()
    }
}

impl Restriction {
    /// Whether it stands on a date.
    #[must_use]
    pub fn holds_on(&self, date: Date) -> bool {
        self.from <= date && self.until.is_none_or(|until| date <= until)
    }

    /// Whether a session of this kind and length goes beyond it on a day on which it stands.
    #[must_use]
    pub fn is_exceeded_by(&self, kind: Kind, minutes: u16) -> bool {
        match &self.restricted {
            Restricted::NotAvailable | Restricted::UntilCleared => true,
            Restricted::To(limits) => {
                (limits.no_games && kind == Kind::Game)
                    || limits.max_minutes.is_some_and(|most| minutes > most)
            }
        }
    }

    /// What it says on a date; `None` where it does not stand.
    #[must_use]
    pub fn on(&self, date: Date) -> Option<Instruction> {
        if !self.holds_on(date) {
            return None;
        }
        let is_due = date >= self.review;
        let last = self.last_before_review();
        Some(match &self.restricted {
            Restricted::UntilCleared => Instruction {
                availability: Availability::NotAvailable,
                until: None,
                sentence: "Not available until cleared in writing under local law.".to_owned(),
            },
            _ if is_due => Instruction {
                availability: Availability::Ask,
                until: self.until,
                sentence: "Ask the athletic trainer before play.".to_owned(),
            },
            Restricted::NotAvailable => Instruction {
                availability: Availability::NotAvailable,
                until: Some(last),
                sentence: format!("Not available until {last}."),
            },
            Restricted::To(limits) => Instruction {
                availability: Availability::Limited,
                until: Some(last),
                sentence: format!("Limited: {} to {last}.", limits.parts().join("; ")),
            },
        })
    }

    /// What it means for load; `None` where it limits none.
    #[must_use]
    pub fn limited_span(&self) -> Option<LimitedSpan> {
        let limit = match &self.restricted {
            Restricted::UntilCleared => ClinicianLimit::UntilCleared,
            Restricted::NotAvailable => return None,
            Restricted::To(limits) => ClinicianLimit::Week(limits.max_week?),
        };
        Some(LimitedSpan {
            from: self.from,
            until: self.until,
            limit,
        })
    }

    fn last_before_review(&self) -> Date {
        let last = self.review.yesterday().unwrap_or(self.review);
        self.until.map_or(last, |until| until.min(last))
    }
}

/// The spans of days in which a written clearance is waited for: from the first day to the day before a
/// decision that ends it, and again from a later decision that withdraws it. `decisions` are the days
/// decided on, in their order, each with whether it ends the wait.
#[must_use]
pub fn waiting(from: Date, decisions: &[(Date, bool)]) -> Vec<(Date, Option<Date>)> {
    let mut spans = vec![(from, None)];
    for (date, ends) in decisions.iter().filter(|(date, _)| *date >= from) {
        match (spans.last_mut(), ends) {
            (Some((first, None)), true) if *first == *date => drop(spans.pop()),
            (Some((_, until @ None)), true) => *until = date.yesterday().ok(),
            (None | Some((_, Some(_))), false) => spans.push((*date, None)),
            _ => {}
        }
    }
    spans
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    fn november(day: i8) -> Date {
        date(2026, 11, day)
    }

    fn restriction(restricted: Restricted) -> Restriction {
        Restriction {
            from: november(2),
            until: None,
            review: november(13),
            restricted,
        }
    }

    fn said(restriction: &Restriction, day: i8) -> Option<(Availability, Option<Date>, String)> {
        let on = restriction.on(november(day))?;
        Some((on.availability, on.until, on.sentence))
    }

    #[test]
    fn limits_are_one_instruction_and_turn_to_ask() {
        let limits = Limits {
            max_minutes: Some(60),
            instruction: Some("no jump throws".to_owned()),
            ..Limits::default()
        };
        let limited = restriction(Restricted::To(limits));
        assert_eq!(said(&limited, 1), None);
        let sentence = "Limited: max 60 min; no jump throws to 2026-11-12.".to_owned();
        let expected = (Availability::Limited, Some(november(12)), sentence);
        assert_eq!(said(&limited, 2), Some(expected.clone()));
        assert_eq!(said(&limited, 12), Some(expected));
        let ask = "Ask the athletic trainer before play.".to_owned();
        for day in [13, 30] {
            assert_eq!(
                said(&limited, day),
                Some((Availability::Ask, None, ask.clone()))
            );
        }
        assert!(
            limited.on(date(2030, 1, 1)).is_some(),
            "never free by itself"
        );
    }

    #[test]
    fn a_session_may_go_beyond_what_is_allowed() {
        let limits = Limits {
            max_minutes: Some(60),
            no_games: true,
            ..Limits::default()
        };
        let limited = restriction(Restricted::To(limits));
        assert!(!limited.is_exceeded_by(Kind::Practice, 60));
        assert!(limited.is_exceeded_by(Kind::Practice, 61));
        assert!(limited.is_exceeded_by(Kind::Game, 10));
        assert!(restriction(Restricted::NotAvailable).is_exceeded_by(Kind::Practice, 1));
        assert!(restriction(Restricted::UntilCleared).is_exceeded_by(Kind::Practice, 1));
    }

    #[test]
    fn a_last_day_ends_it() {
        let ended = Restriction {
            until: Some(november(5)),
            ..restriction(Restricted::NotAvailable)
        };
        let sentence = "Not available until 2026-11-05.".to_owned();
        let expected = (Availability::NotAvailable, Some(november(5)), sentence);
        assert_eq!(said(&ended, 5), Some(expected));
        assert_eq!(said(&ended, 6), None);
    }

    #[test]
    fn each_limit_is_named() {
        let limits = Limits {
            max_minutes: Some(45),
            max_week: Some(Load::from_au(1400)),
            max_contacts: Some(40),
            no_games: true,
            no_jumps: true,
            no_throws: true,
            no_contact: true,
            instruction: None,
        };
        assert_eq!(
            limits.parts().join("; "),
            "max 45 min; max 1400 AU in seven days; max 40 landing contacts; no games; no jumps; \
             no throws; no contact with others"
        );
        assert!(Limits::default().is_empty() && !limits.is_empty());
    }

    #[test]
    fn a_written_clearance_is_waited_for_past_the_review() {
        let held = restriction(Restricted::UntilCleared);
        let sentence = "Not available until cleared in writing under local law.".to_owned();
        let expected = (Availability::NotAvailable, None, sentence);
        for day in [2, 12, 13, 30] {
            assert_eq!(said(&held, day), Some(expected.clone()), "{day}");
        }
        assert_eq!(
            held.limited_span().map(|span| span.limit),
            Some(ClinicianLimit::UntilCleared)
        );
    }

    #[test]
    fn a_decision_ends_the_wait_and_another_takes_it_up_again() {
        let from = november(2);
        let spans = |decisions: &[(i8, bool)]| {
            let dated = decisions.iter().map(|(day, ends)| (november(*day), *ends));
            waiting(from, &dated.collect::<Vec<_>>())
        };
        assert_eq!(spans(&[]), [(from, None)]);
        assert_eq!(spans(&[(9, false)]), [(from, None)]);
        assert_eq!(
            spans(&[(1, true)]),
            [(from, None)],
            "decided before it began"
        );
        assert_eq!(
            spans(&[(10, true), (12, true)]),
            [(from, Some(november(9)))]
        );
        assert_eq!(spans(&[(2, true)]), []);
        let again = [(from, Some(november(9))), (november(12), None)];
        assert_eq!(spans(&[(10, true), (12, false), (14, false)]), again);
        assert_eq!(
            spans(&[(10, true), (10, false)]),
            [(from, Some(november(9))), (november(10), None)]
        );
    }
}
