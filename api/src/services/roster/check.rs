//! Rows of a roster field by field, and what the plan refuses in the words of an answer.

use std::collections::BTreeMap;

use jiff::civil::Date;
use plimsoll_domain::roster::{
    Details, Fault, FaultKind, Link, MOST_LINKS, Part, PersonRow, SquadRow as PlannedSquad, Status,
    Terms,
};

use super::input::{AthleteRow, Form, GuardianRow, MembershipRow, Numbered, Sent, SquadRow};
use crate::error::{Code, FieldProblem};
use crate::services::athletes::input::{birth_date, joined_on};
use crate::services::clubs::zone;
use crate::services::fields::{self, Faults};
use crate::services::members::input::role;
use crate::web::json::shorten_text;

/// What is wrong with rows, by row.
pub type Problems = BTreeMap<usize, Vec<FieldProblem>>;

/// A roster whose fields were read.
#[derive(Debug, Default)]
pub struct Checked {
    /// Squads whose key can be read.
    pub squads: Vec<PlannedSquad>,
    /// Athletes whose key can be read.
    pub people: Vec<PersonRow>,
    /// What is wrong with rows of squads.
    pub of_squads: Problems,
    /// What is wrong with rows of athletes.
    pub of_athletes: Problems,
    /// Rows of athletes that do not tell whom they are about.
    pub nameless: Vec<usize>,
    /// The keys that rows were sent under, where that is another one of somebody known.
    sent_under: BTreeMap<usize, String>,
}

impl Checked {
    /// Takes a row about somebody under another key of hers as one under her first.
    pub fn under_first_keys(&mut self, first_keys: &BTreeMap<String, String>) {
        for person in &mut self.people {
            if let Some(first) = first_keys.get(&person.key) {
                let sent = std::mem::replace(&mut person.key, first.clone());
                self.sent_under.insert(person.row, sent);
            }
        }
    }

    /// The key that a row was sent under, where that is another one of somebody known.
    pub fn key_sent(&self, row: Option<usize>) -> Option<&str> {
        self.sent_under.get(&row?).map(String::as_str)
    }
}

/// Reads every field of every row.
pub fn check(sent: &Sent, today: Date) -> Checked {
    let mut checked = Checked::default();
    for Numbered { row, content } in &sent.squads {
        let mut faults = Faults::default();
        let squad = content.as_ref().map_err(Clone::clone);
        let squad = faults
            .take(squad)
            .and_then(|squad| squad_of(squad, &mut faults));
        let is_readable = faults.is_empty();
        checked.squads.extend(squad.map(|squad| PlannedSquad {
            row: *row,
            is_readable,
            ..squad
        }));
        let faults = faults.into_vec().into_iter();
        keep(
            &mut checked.of_squads,
            *row,
            faults.map(|fault| squad_in_form(sent.form, fault)),
        );
    }
    for Numbered { row, content } in &sent.athletes {
        let mut faults = Faults::default();
        let person = content.as_ref().map_err(Clone::clone);
        let person = faults
            .take(person)
            .and_then(|athlete| person_of(athlete, today, &mut faults));
        let is_readable = faults.is_empty();
        match person {
            Some(person) => checked.people.push(PersonRow {
                row: *row,
                is_readable,
                ..person
            }),
            None => checked.nameless.push(*row),
        }
        let faults = faults.into_vec().into_iter();
        keep(
            &mut checked.of_athletes,
            *row,
            faults.map(|fault| in_form(sent.form, fault)),
        );
    }
    checked
}

fn keep(problems: &mut Problems, row: usize, faults: impl Iterator<Item = FieldProblem>) {
    for fault in faults {
        problems.entry(row).or_default().push(fault);
    }
}

fn squad_of(squad: &SquadRow, faults: &mut Faults) -> Option<PlannedSquad> {
    let key = faults.take(fields::line("/external_id", squad.external_id.as_deref()));
    let name = faults.take(fields::optional(
        "/name",
        squad.name.as_deref(),
        fields::line,
    ));
    Some(PlannedSquad {
        row: 0,
        key: key?,
        is_readable: true,
        name: name.flatten(),
    })
}

fn person_of(athlete: &AthleteRow, today: Date, faults: &mut Faults) -> Option<PersonRow> {
    let key = faults.take(fields::line("/external_id", athlete.external_id.as_deref()));
    let details = details(athlete, today, faults);
    few("/memberships", athlete.memberships.as_deref(), faults);
    few("/guardians", athlete.guardians.as_deref(), faults);
    let memberships = athlete.memberships.iter().flatten().enumerate();
    let memberships =
        memberships.map(|(at, row)| membership(&format!("/memberships/{at}"), row, faults));
    let memberships = memberships.collect::<Vec<_>>();
    let guardians = athlete.guardians.iter().flatten().enumerate();
    let guardians = guardians.map(|(at, row)| guardian(&format!("/guardians/{at}"), row, faults));
    let guardians = guardians.collect::<Vec<_>>();
    Some(PersonRow {
        row: 0,
        key: key?,
        is_readable: true,
        details,
        // A row with a link that cannot be read is rejected whole, so none is lost here.
        memberships: memberships.into_iter().flatten().collect(),
        guardians: guardians.into_iter().flatten().collect(),
    })
}

/// Refuses a list of which not all may have been read.
fn few<T>(pointer: &str, list: Option<&[T]>, faults: &mut Faults) {
    if list.is_some_and(|list| list.len() > MOST_LINKS) {
        faults.extend([refused(pointer, Code::OutOfRange, at_most_links())]);
    }
}

fn at_most_links() -> String {
    format!("at most {MOST_LINKS} for one person")
}

fn details(athlete: &AthleteRow, today: Date, faults: &mut Faults) -> Details {
    let name = fields::optional(
        "/display_name",
        athlete.display_name.as_deref(),
        fields::line,
    );
    let joined = athlete.joined_on.as_deref();
    let joined = joined
        .map(|given| joined_on(Some(given), today))
        .transpose();
    let zone = fields::optional("/time_zone", athlete.time_zone.as_deref(), zone);
    let status = fields::optional("/status", athlete.status.as_deref(), |pointer, given| {
        let codes = || fields::list(Status::ALL.iter().map(|status| status.code()));
        fields::coded(pointer, given, Status::parse, codes)
    });
    Details {
        name: faults.take(name).flatten(),
        birth_date: faults
            .take(birth_date(athlete.birth_date.as_deref(), today))
            .flatten(),
        joined_on: faults.take(joined).flatten(),
        time_zone: faults.take(zone).flatten(),
        status: faults.take(status).flatten(),
    }
}

fn membership(pointer: &str, row: &MembershipRow, faults: &mut Faults) -> Option<Link<Terms>> {
    let at = |name: &str| format!("{pointer}/{name}");
    let role = role(row.role.as_deref()).map_err(|fault| fault.under(pointer));
    let squad = fields::line(&at("squad_external_id"), row.squad_external_id.as_deref());
    let terms = Terms {
        role: faults.take(role)?,
        primary: row.primary.unwrap_or(false),
    };
    let days = (row.from.as_deref(), row.to.as_deref());
    let link = link(faults.take(squad), days, &at, terms, faults)?;
    Some(Link {
        is_over: row.is_over,
        ..link
    })
}

fn guardian(pointer: &str, row: &GuardianRow, faults: &mut Faults) -> Option<Link<()>> {
    let at = |name: &str| format!("{pointer}/{name}");
    let key = fields::line(&at("external_id"), row.external_id.as_deref());
    let days = (row.from.as_deref(), row.to.as_deref());
    link(faults.take(key), days, &at, (), faults)
}

fn link<T>(
    key: Option<String>,
    (from, to): (Option<&str>, Option<&str>),
    at: &impl Fn(&str) -> String,
    terms: T,
    faults: &mut Faults,
) -> Option<Link<T>> {
    let from = faults.take(fields::optional(&at("from"), from, fields::date));
    let to = faults.take(fields::optional(&at("to"), to, fields::date));
    Some(Link {
        key: key?,
        from: from?,
        to: to?,
        is_over: false,
        terms,
    })
}

fn refused(pointer: &str, code: Code, allowed: String) -> FieldProblem {
    let detail = format!("{}.", code.title());
    FieldProblem {
        code,
        detail,
        ..FieldProblem::missing(pointer, allowed)
    }
}

/// A fault of a squad as it is answered; `None` where the row's own faults say it already.
pub fn problem_of_squad(fault: &Fault, form: Form) -> Option<FieldProblem> {
    let (code, allowed) = worded(fault.kind)?;
    let pointer = match fault.part {
        Part::Name => "/name",
        _ => "/external_id",
    };
    Some(squad_in_form(form, refused(pointer, code, allowed)))
}

/// A fault of a person as it is answered; `None` where the row's own faults say it already.
pub fn problem(fault: &Fault, form: Form) -> Option<FieldProblem> {
    let (code, allowed) = worded(fault.kind)?;
    let pointer = match (fault.part, fault.kind) {
        (Part::Key, _) => "/external_id".to_owned(),
        (Part::Name, _) => "/display_name".to_owned(),
        (Part::Membership(at), FaultKind::Reversed) => format!("/memberships/{at}/to"),
        (Part::Membership(at), FaultKind::SecondPrimary) => format!("/memberships/{at}/primary"),
        (Part::Membership(at), _) => format!("/memberships/{at}/squad_external_id"),
        (Part::Guardian(at), FaultKind::Reversed) => format!("/guardians/{at}/to"),
        (Part::Guardian(at), _) => format!("/guardians/{at}/external_id"),
    };
    Some(in_form(form, refused(&pointer, code, allowed)))
}

/// What a row gives as the squad or the guardian that a fault is about.
pub fn given(fault: &Fault, row: &AthleteRow) -> Option<serde_json::Value> {
    let key = match (fault.part, fault.kind) {
        (_, FaultKind::Reversed | FaultKind::SecondPrimary) => None,
        (Part::Membership(at), _) => {
            let memberships = row.memberships.as_deref();
            memberships?.get(at)?.squad_external_id.as_deref()
        }
        (Part::Guardian(at), _) => row.guardians.as_deref()?.get(at)?.external_id.as_deref(),
        (Part::Key | Part::Name, _) => None,
    };
    Some(shorten_text(key?).into())
}

/// Code and what is allowed, for each fault of the plan.
fn worded(kind: FaultKind) -> Option<(Code, String)> {
    let (code, allowed) = match kind {
        FaultKind::Unreadable => return None,
        FaultKind::Contradicted => (Code::ContradictingRows, "rows that agree"),
        FaultKind::BesideRejected => (Code::BesideRejectedRow, "rows that are all in order"),
        FaultKind::NoName => (Code::MissingField, "1 to 200 characters, for who is new"),
        FaultKind::UnknownPerson => (
            Code::UnknownPerson,
            "somebody who is known, for status left",
        ),
        FaultKind::OfOtherSource => (Code::OfOtherSource, "an external id of this source"),
        FaultKind::LeftWithMembership => (Code::LeftWithMembership, "no squad, or status active"),
        FaultKind::UnknownSquad => (Code::UnknownSquad, "a squad of the club, or of this roster"),
        FaultKind::Reversed => (
            Code::RangeReversed,
            "the first day or later; `from` where the membership is over",
        ),
        FaultKind::Overlapping => (Code::OverlappingMembership, "days outside the other one"),
        FaultKind::SecondPrimary => (Code::SecondPrimary, "one primary squad at a time"),
        FaultKind::TooMany => (Code::OutOfRange, ""),
        FaultKind::OwnGuardian => (Code::OwnGuardian, "somebody else"),
        FaultKind::CircularGuardian => (Code::CircularGuardian, "nobody whose guardian she is"),
    };
    match kind {
        FaultKind::TooMany => Some((code, at_most_links())),
        _ => Some((code, allowed.to_owned())),
    }
}

/// A problem with its field named as the row was written.
fn in_form(form: Form, problem: FieldProblem) -> FieldProblem {
    match form {
        Form::Nested => problem,
        Form::Table => FieldProblem {
            pointer: super::csv_rows::pointer(&problem.pointer),
            ..problem
        },
    }
}

/// As [`in_form`], for a row about a squad.
fn squad_in_form(form: Form, problem: FieldProblem) -> FieldProblem {
    let pointer = match (form, problem.pointer.as_str()) {
        (Form::Table, "/external_id") => "/squad_external_id".to_owned(),
        (Form::Table, "/name") => "/squad_name".to_owned(),
        (_, pointer) => pointer.to_owned(),
    };
    FieldProblem { pointer, ..problem }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn faults_of_squads_name_the_fields_of_squads() {
        let fault = |part| Fault {
            row: 1,
            part,
            kind: FaultKind::Contradicted,
        };
        for (form, part, pointer) in [
            (Form::Nested, Part::Name, "/name"),
            (Form::Nested, Part::Key, "/external_id"),
            (Form::Table, Part::Name, "/squad_name"),
            (Form::Table, Part::Key, "/squad_external_id"),
        ] {
            let problem = problem_of_squad(&fault(part), form).unwrap();
            assert_eq!(problem.pointer, pointer);
        }
    }
}
