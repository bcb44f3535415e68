//! A stored programme that a question names.

use plimsoll_domain::exercises::{Catalogue, ExerciseCode};
use plimsoll_domain::programme::{Changes, Programme, TheirItem, UnsignedLoad, unsigned_load};
use serde::Deserialize;
use serde_json::Number;
use std::collections::{BTreeMap, BTreeSet};
use utoipa::ToSchema;

use super::input::weekday_name;
use super::{ReadProgramme, in_version};
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::ProgrammeId;
use crate::services::contact_checks::after;
use crate::services::exercises::ClubCatalogue;
use crate::services::fields;
use crate::store::{Conn, Known, Tenant};
use crate::web::json::shorten_text;

/// A stored programme.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"programme_id": "0199a1b2-9d9d-7e4f-8a5b-6c7d8e9f0a1b", "version": 1}))]
pub struct NamedProgramme {
    /// Its id.
    #[schema(value_type = ProgrammeId)]
    programme_id: Option<String>,
    /// Which version of it; the current one unless given, with `as_of` the one of then.
    #[schema(value_type = Option<i32>, minimum = 1)]
    version: Option<Number>,
}

impl NamedProgramme {
    /// Reads it as it stood in a state of knowledge; a fault where the club had no such programme, or it no such version.
    pub fn read(
        &self,
        conn: &mut Conn,
        tenant: Tenant,
        (at, known): (&str, Known),
    ) -> Result<Result<ReadProgramme, FieldProblem>, Problem> {
        const ALLOWED: &str = "a programme of this club";
        let pointer = format!("{at}/programme_id");
        let Some(given) = &self.programme_id else {
            return Ok(Err(FieldProblem::missing(pointer, ALLOWED)));
        };
        let unknown = || {
            let fault = FieldProblem::new(pointer, Code::UnknownProgramme, shorten_text(given));
            fault.allowed(ALLOWED)
        };
        let Ok(id) = given.parse::<ProgrammeId>() else {
            return Ok(Err(unknown()));
        };
        let current = match in_version(conn, tenant, id, (None, known)) {
            Err(problem) if problem.code == Code::NotFound => return Ok(Err(unknown())),
            found => found?,
        };
        let place = format!("{at}/version");
        let named = (current, self.version.as_ref());
        in_named_version(conn, tenant, named, (&place, known))
    }
}

/// The programme in the version that is named, or as it stood.
pub(super) fn in_named_version(
    conn: &mut Conn,
    tenant: Tenant,
    (current, version): (ReadProgramme, Option<&Number>),
    (pointer, known): (&str, Known),
) -> Result<Result<ReadProgramme, FieldProblem>, Problem> {
    let Some(given) = version else {
        return Ok(Ok(current));
    };
    let number = fields::whole(given).and_then(|number| i32::try_from(number).ok());
    let asked = (Some(number.unwrap_or(0)), known);
    match in_version(conn, tenant, current.id, asked) {
        Err(problem) if problem.code == Code::NotFound => {
            let fault = FieldProblem::new(pointer, Code::OutOfRange, given.clone());
            Ok(Err(fault.allowed("a version that the programme has")))
        }
        found => found.map(Ok),
    }
}

/// A fault for each exercise of a programme that is a jump with a load and not signed off, at its first item.
pub fn unsigned_faults(
    pointer: &str,
    (programme, changes): (&Programme, &Changes),
    catalogue: &ClubCatalogue,
    standing: &BTreeSet<ExerciseCode>,
) -> Result<Vec<FieldProblem>, Problem> {
    let unsigned = unsigned_items(programme, changes, &catalogue.catalogue, standing);
    let faults = unsigned.iter().map(|(theirs, unsigned)| {
        let (place, code) = (theirs.place, &theirs.item.exercise);
        let name = catalogue.name(code.as_str())?;
        let detail = format!(
            "Week {}, {}, session {}, item {}: {name} is a jump with a load that is not signed off.",
            place.week,
            weekday_name(place.weekday()),
            place.session,
            place.item
        );
        let allowed = format!("{}, or without it", after(unsigned));
        let fault = FieldProblem::new(pointer, Code::LoadNotSignedOff, code.as_str());
        Ok(fault.detail(detail).allowed(allowed))
    });
    faults.collect()
}

fn unsigned_items<'a>(
    programme: &'a Programme,
    changes: &'a Changes,
    catalogue: &Catalogue,
    standing: &BTreeSet<ExerciseCode>,
) -> Vec<(TheirItem<'a>, UnsignedLoad)> {
    let mut found: BTreeMap<&ExerciseCode, (TheirItem<'a>, UnsignedLoad)> = BTreeMap::new();
    for placed in programme.sessions() {
        for theirs in changes.items(&placed) {
            let exercise = catalogue.get(&theirs.item.exercise);
            let planned = theirs.item.planned(exercise);
            if let Some(unsigned) = unsigned_load(exercise, &planned, catalogue, standing) {
                let code = &theirs.item.exercise;
                found
                    .entry(code)
                    .or_insert_with(|| (theirs.clone(), unsigned));
            }
        }
    }
    found.into_values().collect()
}
