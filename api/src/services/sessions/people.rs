//! Whom reports are about: athletes by our id or the club's, within the caller's reach.

use std::collections::HashMap;

use jiff::civil::Date;
use jiff::tz::TimeZone;

use super::draft::Subject;
use super::input::SessionInput;
use crate::auth::tenant::Caller;
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::AthleteId;
use crate::services::reach::{self, Reached};
use crate::store::athletes::{self, Athlete};
use crate::store::{Conn, Known, Versioned, Who, clubs};
use crate::web::json::shorten_text;

/// The athletes that a batch of reports names.
#[derive(Debug)]
pub struct People {
    known: HashMap<AthleteId, Person>,
    by_external: HashMap<String, AthleteId>,
    reached: Reached,
}

#[derive(Debug, Clone)]
struct Person {
    home: TimeZone,
    joined_on: Date,
}

impl People {
    /// Looks up everybody named, two queries for any number.
    pub fn read<'a>(
        conn: &mut Conn,
        caller: &Caller,
        inputs: impl Iterator<Item = &'a SessionInput>,
    ) -> Result<Self, Problem> {
        let (mut ids, mut external) = (Vec::new(), Vec::new());
        for input in inputs {
            ids.extend(
                input
                    .athlete_id
                    .as_deref()
                    .and_then(|id| id.parse::<AthleteId>().ok()),
            );
            external.extend(input.athlete_external_id.as_deref());
        }
        external.sort_unstable();
        external.dedup();
        let tenant = caller.tenant;
        let mut found = athletes::known(conn, tenant, Who::Athletes(&ids), Known::Now)?;
        found.extend(athletes::by_external_ids(conn, tenant, &external)?);
        let club = clubs::find(conn, tenant)?.ok_or_else(Problem::not_found)?;
        let mut people = Self {
            known: HashMap::with_capacity(found.len()),
            by_external: HashMap::new(),
            reached: reach::of(conn, caller)?,
        };
        for athlete in found {
            people.add(athlete, &club.time_zone)?;
        }
        Ok(people)
    }

    fn add(&mut self, athlete: Versioned<Athlete>, club_zone: &str) -> Result<(), Problem> {
        let athlete = athlete.content;
        let zone = athlete.time_zone.as_deref().unwrap_or(club_zone);
        let home = TimeZone::get(zone).map_err(|error| Problem::internal(&error))?;
        if let Some(external_id) = athlete.external_id {
            self.by_external.insert(external_id, athlete.athlete_id);
        }
        self.known.insert(
            athlete.athlete_id,
            Person {
                home,
                joined_on: athlete.joined_on,
            },
        );
        Ok(())
    }

    /// The athlete a report names.
    ///
    /// # Errors
    /// Unknown or out of reach, which are told apart by nobody; or named twice or not at all.
    pub fn subject(&self, input: &SessionInput) -> Result<Subject, FieldProblem> {
        let (pointer, given, id) = match (&input.athlete_id, &input.athlete_external_id) {
            (Some(id), None) => ("/athlete_id", id, id.parse().ok()),
            (None, Some(external)) => (
                "/athlete_external_id",
                external,
                self.by_external.get(external).copied(),
            ),
            (None, None) => {
                return Err(FieldProblem::missing(
                    "/athlete_external_id",
                    "one of athlete_id and athlete_external_id",
                ));
            }
            (Some(id), Some(_)) => {
                return Err(FieldProblem::new(
                    "/athlete_id",
                    Code::AmbiguousPerson,
                    shorten_text(id),
                )
                .allowed("one of athlete_id and athlete_external_id"));
            }
        };
        let reached = id.filter(|id| self.reached.includes(*id));
        reached
            .and_then(|athlete_id| {
                let home = self.known.get(&athlete_id)?.home.clone();
                Some(Subject { athlete_id, home })
            })
            .ok_or_else(|| {
                FieldProblem::new(pointer, Code::UnknownPerson, shorten_text(given))
                    .allowed("an athlete of this club within your reach")
            })
    }

    /// The athlete's first day; `None` for one that was not looked up.
    pub fn joined_on(&self, athlete: AthleteId) -> Option<Date> {
        self.known.get(&athlete).map(|person| person.joined_on)
    }
}
