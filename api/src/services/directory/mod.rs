//! The roster as a directory keeps it by SCIM 2.0: people are users, squads are groups.
//!
//! What the roster knows already, names, keys, first days, memberships and guardians, is read and changed by the services of
//! athletes, squads and rosters. Beside it a directory says what somebody is called there, what she is in the club, and whether she
//! is still there: `store/directory.rs`. Staff and guardians stand there alone.

pub mod group;
pub mod members;
pub mod people;
pub mod person;
pub mod query;
pub mod sent;
pub mod tag;
pub mod user;

use crate::error::{Code, FieldProblem, Problem};
use crate::ids::ClubId;
use crate::scim::{Fault, Kind};
use crate::web::json::shorten_text;

/// Where a club's directory is.
pub fn base(club: ClubId) -> String {
    format!("/scim/v2/clubs/{club}")
}

impl From<Fault> for Problem {
    fn from(fault: Fault) -> Self {
        let code = match fault.kind {
            Kind::Filter => Code::InvalidFilter,
            Kind::Path => Code::InvalidPath,
            Kind::Target => Code::NoTarget,
            Kind::Mutability => Code::NotToBeSet,
            Kind::Syntax => Code::NotOfSchema,
            Kind::Value => Code::InvalidValue,
        };
        let given = shorten_text(&fault.given);
        let detail = match given.is_empty() {
            true => fault.detail,
            false => format!("{given}: {}", fault.detail),
        };
        Problem::new(code, detail)
    }
}

/// A refusal in the names of the roster, in those of the schemas.
pub fn renamed(problem: Problem) -> Problem {
    let rename = |error: FieldProblem| {
        let (first, rest) = match error.pointer[1.min(error.pointer.len())..].split_once('/') {
            Some((first, rest)) => (first.to_owned(), format!("/{rest}")),
            None => (
                error.pointer.trim_start_matches('/').to_owned(),
                String::new(),
            ),
        };
        let name = match first.as_str() {
            "external_id" => "externalId",
            "display_name" | "name" => "displayName",
            "birth_date" => "birthDate",
            "joined_on" => "joinedOn",
            "time_zone" => "timeZone",
            "memberships" => "members",
            other => other,
        };
        let pointer = format!("/{name}{rest}");
        FieldProblem { pointer, ..error }
    };
    let errors = problem.errors.into_iter().map(rename).collect();
    Problem { errors, ..problem }
}
