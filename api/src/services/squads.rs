//! Squads: a name and the roster's own key.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::fields::{self, Faults};
use super::text;
use super::write::Change;
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::SquadId;
use crate::store::squads::{self, Squad, SquadContent};

/// A squad as it is sent.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"name": "U16 girls", "external_id": "u16-g"}))]
pub struct SquadInput {
    /// Its name, 1 to 200 characters.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = String, min_length = 1, max_length = 200)]
    pub name: Option<String>,
    /// The roster's own key, unique in the club.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(min_length = 1, max_length = 200)]
    pub external_id: Option<String>,
}

/// A squad as it is answered.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "squad_id": "0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b", "name": "U16 girls",
    "external_id": "u16-g", "version": 1}))]
pub struct SquadAnswer {
    /// Its id.
    pub squad_id: SquadId,
    /// Its name.
    pub name: String,
    /// The roster's own key.
    pub external_id: Option<String>,
    /// 1, 2, 3, …; also the ETag.
    pub version: i32,
}

impl From<Squad> for SquadAnswer {
    fn from(squad: Squad) -> Self {
        Self {
            squad_id: squad.squad_id,
            name: squad.name,
            external_id: squad.external_id,
            version: squad.version,
        }
    }
}

impl SquadInput {
    /// The content for a squad of this id.
    fn check(&self, squad_id: SquadId, faults: &mut Faults) -> Option<SquadContent> {
        let name = faults.take(fields::line("/name", self.name.as_deref()));
        let external_id = self.external_id.as_deref();
        let external_id = faults.take(fields::optional("/external_id", external_id, fields::line));
        Some(SquadContent {
            squad_id,
            name: name?,
            external_id: external_id?,
        })
    }
}

/// The stored squad in the form it could be sent in, for a merge patch.
pub fn as_input(squad: &Squad) -> SquadInput {
    SquadInput {
        name: Some(squad.name.clone()),
        external_id: squad.external_id.clone(),
    }
}

/// Stores a new squad.
pub fn create(
    change: &mut Change<'_>,
    squad_id: SquadId,
    input: &SquadInput,
) -> Result<SquadAnswer, Problem> {
    let content = checked(change, squad_id, input)?;
    let contents = std::slice::from_ref(&content);
    change.store_with(|conn, tenant, moment, _| squads::insert(conn, tenant, moment, contents))?;
    Ok(SquadAnswer {
        squad_id,
        name: content.name,
        external_id: content.external_id,
        version: 1,
    })
}

/// Gives a squad other content; the same content changes nothing.
pub fn replace(
    change: &mut Change<'_>,
    current: Squad,
    input: &SquadInput,
) -> Result<SquadAnswer, Problem> {
    let content = checked(change, current.squad_id, input)?;
    if (&content.name, &content.external_id) == (&current.name, &current.external_id) {
        return Ok(current.into());
    }
    let version = current.version;
    let updated = change.store_with(|conn, tenant, moment, _| {
        squads::update(conn, tenant, version, moment, &content)
    })?;
    Ok(updated.into())
}

fn checked(
    change: &mut Change<'_>,
    squad_id: SquadId,
    input: &SquadInput,
) -> Result<SquadContent, Problem> {
    let mut faults = Faults::default();
    let content = input.check(squad_id, &mut faults);
    faults.extend(taken(change, squad_id, input.external_id.as_deref())?);
    faults.settle(content)
}

/// Whether another squad has the external id.
fn taken(
    change: &mut Change<'_>,
    squad_id: SquadId,
    external_id: Option<&str>,
) -> Result<Option<FieldProblem>, Problem> {
    let possible = |id: &&str| text::line("/external_id", id, fields::LINE).is_ok();
    let Some(external_id) = external_id.filter(possible) else {
        return Ok(None);
    };
    let tenant = change.tenant();
    let holders = squads::by_external_ids(change.conn, tenant, &[external_id])?;
    let other = holders.iter().any(|squad| squad.squad_id != squad_id);
    Ok(other.then(|| FieldProblem::new("/external_id", Code::NotUnique, external_id)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_faults_come_together() {
        let input = SquadInput {
            name: None,
            external_id: Some("a\0b".to_owned()),
        };
        let mut faults = Faults::default();
        let content = input.check(uuid::Uuid::nil().into(), &mut faults);
        assert_eq!(content, None);
        let faults = faults.into_vec();
        let found: Vec<_> = faults
            .iter()
            .map(|fault| (fault.pointer.as_str(), fault.code))
            .collect();
        assert_eq!(
            found,
            [
                ("/name", Code::MissingField),
                ("/external_id", Code::TextHasControlCharacters)
            ]
        );
    }
}
