//! How far an athlete takes part on a date, by what is entered: instructions, never reasons.
//!
//! An absence says until when, not why; a restriction what is limited, not what for. The strictest counts.

use std::cmp::Reverse;

use jiff::civil::Date;
use plimsoll_domain::restriction::Availability;
use plimsoll_domain::{Binding, Ramp, RampWeek, Reason, RuleCode, return_week, returning_on};

use super::figures::AthleteDays;
use super::policy::Policies;

/// Who limits where the club's own ceiling after an absence does.
const CLUB_POLICY: &str = "club_policy";
/// The one role that sets restrictions.
const ATHLETIC_TRAINER: &str = "athletic_trainer";

const NO_CEILING: &str =
    "Back from an absence: too little is known of the weeks before it to give a ceiling.";

/// How far an athlete takes part on a date.
#[derive(Debug)]
pub struct Standing {
    /// The strictest of what is entered.
    pub availability: Availability,
    /// The role that entered it, or `club_policy`; `None` where nothing is entered.
    pub set_by: Option<&'static str>,
    /// The last day of it, where there is one.
    pub until: Option<Date>,
    /// The ceiling she is under after an absence, or why it cannot be given.
    pub ceiling: Option<Result<Ceiling, Reason>>,
    /// What to do, a sentence each; never why.
    pub instructions: Vec<String>,
}

/// A ceiling that governs a date.
#[derive(Debug)]
pub struct Ceiling {
    /// The week of the return.
    pub week: RampWeek,
    /// What it means, in one sentence.
    pub instruction: String,
}

impl Ceiling {
    fn new((ramp, week): (Ramp, RampWeek)) -> Self {
        Self {
            week,
            instruction: return_week(&ramp, &week),
        }
    }
}

/// What one source says.
struct Said {
    availability: Availability,
    set_by: &'static str,
    until: Option<Date>,
    instruction: String,
}

/// How far she takes part. The ceilings of a return are the club's policy and are left out without it:
/// they are closed to athletes and guardians.
pub fn on(days: &AthleteDays, date: Date, policies: Option<&Policies>) -> Standing {
    let mut said: Vec<Said> = away(days, date).into_iter().collect();
    said.extend(restrictions(days, date));
    let takes_part = said
        .iter()
        .all(|one| one.availability != Availability::NotAvailable);
    let policies = policies.filter(|_| takes_part);
    let ceiling = policies.and_then(|policies| ceiling(days, date, policies));
    said.extend(ceiling.as_ref().map(under));
    let strictest = said
        .iter()
        .max_by_key(|one| (one.availability, one.until.is_none(), one.until));
    let mut instructions: Vec<String> = said.iter().map(|one| one.instruction.clone()).collect();
    if days.rest_days.contains(&date) {
        instructions.push(format!("A day of rest is entered for {date}."));
    }
    Standing {
        availability: strictest.map_or(Availability::NothingEntered, |one| one.availability),
        set_by: strictest.map(|one| one.set_by),
        until: strictest.and_then(|one| one.until),
        instructions,
        ceiling,
    }
}

/// The absence she is in that ends last.
fn away(days: &AthleteDays, date: Date) -> Option<Said> {
    let held = days
        .absences
        .iter()
        .filter(|one| (one.from_date..=one.to_date).contains(&date));
    let last = held.max_by_key(|one| one.to_date)?;
    Some(Said {
        availability: Availability::NotAvailable,
        set_by: last.given_by.code(),
        until: Some(last.to_date),
        instruction: format!("Not available until {}.", last.to_date),
    })
}

fn restrictions(days: &AthleteDays, date: Date) -> Vec<Said> {
    let standing = days.restrictions.iter().filter_map(|one| one.on(date));
    let mut said: Vec<Said> = standing
        .map(|one| Said {
            availability: one.availability,
            set_by: ATHLETIC_TRAINER,
            until: one.until,
            instruction: one.sentence,
        })
        .collect();
    said.sort_by_key(|one| Reverse(one.availability));
    said.dedup_by(|a, b| a.instruction == b.instruction);
    said
}

/// The ceiling of the date, where the policy has the rule and the athlete comes back from an absence.
fn ceiling(days: &AthleteDays, date: Date, policies: &Policies) -> Option<Result<Ceiling, Reason>> {
    let rule = policies.at(date)?.rule(RuleCode::ReturnCeiling)?;
    let series = days.series.as_ref().filter(|_| rule.enabled)?;
    let settings = policies.figures_at(date);
    let returning = returning_on(series, date, &settings)?;
    Some(returning.map(Ceiling::new))
}

fn under(ceiling: &Result<Ceiling, Reason>) -> Said {
    let week = ceiling.as_ref().ok().map(|ceiling| ceiling.week);
    let is_clinicians = week.is_some_and(|week| week.binding == Binding::Clinician);
    Said {
        availability: Availability::Limited,
        set_by: if is_clinicians {
            ATHLETIC_TRAINER
        } else {
            CLUB_POLICY
        },
        until: week.map(|week| week.to),
        instruction: match ceiling {
            Ok(ceiling) => ceiling.instruction.clone(),
            Err(_) => NO_CEILING.to_owned(),
        },
    }
}
