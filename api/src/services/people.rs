//! Whom bodies are about: athletes by our id or the club's, within the caller's reach.

use std::collections::HashMap;

use super::fields::LINE;
use super::other_keys::{self, Named};
use super::reach::{self, Reached};
use super::text;
use super::write::Change;
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::AthleteId;
use crate::store::athletes::{self, Athlete};
use crate::store::{Known, Versioned, Who};
use crate::web::json::shorten_text;
use jiff::civil::Date;
use jiff::tz::TimeZone;

/// How a body names an athlete: by our id or by the club's, exactly one of the two.
#[derive(Debug, Clone, Copy, Default)]
pub struct Naming<'a> {
    /// Our id.
    pub athlete_id: Option<&'a str>,
    /// The club's id.
    pub athlete_external_id: Option<&'a str>,
}

/// The athlete a body is about.
#[derive(Debug, Clone)]
pub struct Subject {
    /// The athlete.
    pub athlete_id: AthleteId,
    /// Her home zone.
    pub home: TimeZone,
    /// Her first day.
    pub joined_on: Date,
}

/// The athletes that a batch of bodies names.
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
    /// Looks up the one athlete that a body names.
    pub fn subject_of(
        change: &mut Change<'_>,
        naming: Naming<'_>,
    ) -> Result<Result<Subject, FieldProblem>, Problem> {
        Ok(Self::read(change, std::iter::once(naming))?.subject(naming))
    }

    /// Looks up everybody named, two queries for any number.
    pub fn read<'a>(
        change: &mut Change<'_>,
        namings: impl Iterator<Item = Naming<'a>>,
    ) -> Result<Self, Problem> {
        let (mut ids, mut external) = (Vec::new(), Vec::new());
        for naming in namings {
            ids.extend(
                naming
                    .athlete_id
                    .and_then(|id| id.parse::<AthleteId>().ok()),
            );
            // A text that no athlete can have, such as one with NUL, is not asked for.
            let possible = |id: &&str| text::line("/athlete_external_id", id, LINE).is_ok();
            external.extend(naming.athlete_external_id.filter(possible));
        }
        external.sort_unstable();
        external.dedup();
        let tenant = change.tenant();
        let mut found = athletes::known(change.conn, tenant, Who::Athletes(&ids), Known::Now)?;
        let named = other_keys::named(change.conn, tenant, &external)?;
        let mut people = Self {
            known: HashMap::with_capacity(found.len()),
            by_external: HashMap::new(),
            reached: reach::of(change.conn, change.caller)?,
        };
        for Named {
            external_id,
            athlete,
            ..
        } in named
        {
            people
                .by_external
                .insert(external_id, athlete.content.athlete_id);
            found.push(athlete);
        }
        for athlete in found {
            people.add(athlete, change.moment.home_zone())?;
        }
        Ok(people)
    }

    fn add(&mut self, athlete: Versioned<Athlete>, club_zone: &str) -> Result<(), Problem> {
        let athlete = athlete.content;
        let zone = athlete.time_zone.as_deref().unwrap_or(club_zone);
        let home = TimeZone::get(zone).map_err(|error| Problem::internal(&error))?;
        self.known.insert(
            athlete.athlete_id,
            Person {
                home,
                joined_on: athlete.joined_on,
            },
        );
        Ok(())
    }

    /// The athlete that one body names.
    ///
    /// # Errors
    /// Unknown or out of reach, which are told apart by nobody; or named twice or not at all.
    pub fn subject(&self, naming: Naming<'_>) -> Result<Subject, FieldProblem> {
        let (pointer, given, id) = match (naming.athlete_id, naming.athlete_external_id) {
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
                let Person { home, joined_on } = self.known.get(&athlete_id)?.clone();
                Some(Subject {
                    athlete_id,
                    home,
                    joined_on,
                })
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
