//! A club's name and home zone.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::fields::{self, Faults};
use super::local_time;
use crate::error::{FieldProblem, Problem};
use crate::ids::ClubId;
use crate::store::clubs::Club;

/// A club as it is sent.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"name": "Havneby Handball", "time_zone": "Europe/Copenhagen"}))]
pub struct ClubInput {
    /// Its name, 1 to 200 characters.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = String, min_length = 1, max_length = 200)]
    pub name: Option<String>,
    /// Its home zone, by its IANA name: what "today" means where nothing else says.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = String)]
    pub time_zone: Option<String>,
}

/// A club as it is answered.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "club_id": "0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b", "name": "Havneby Handball",
    "time_zone": "Europe/Copenhagen", "sandbox": false, "version": 1}))]
pub struct ClubAnswer {
    /// Its id.
    pub club_id: ClubId,
    /// Its name.
    pub name: String,
    /// Its home zone.
    pub time_zone: String,
    /// Whether it is a sandbox: invented people, and a clock that is set.
    pub sandbox: bool,
    /// 1, 2, 3, …; also the ETag.
    pub version: i32,
}

/// A checked club.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ClubContent {
    /// Its name.
    pub name: String,
    /// Its home zone.
    pub time_zone: String,
}

impl ClubInput {
    /// Checks every field.
    ///
    /// # Errors
    /// 422 with every fault.
    pub fn check(&self) -> Result<ClubContent, Problem> {
        let mut faults = Faults::default();
        let name = faults.take(fields::line("/name", self.name.as_deref()));
        let time_zone = faults.take(zone("/time_zone", self.time_zone.as_deref()));
        let content = name
            .zip(time_zone)
            .map(|(name, time_zone)| ClubContent { name, time_zone });
        faults.settle(content)
    }
}

impl ClubAnswer {
    /// The answer for a stored club, and whether it is a sandbox.
    pub fn of(club: Club, sandbox: bool) -> Self {
        Self {
            club_id: club.club_id,
            name: club.name,
            time_zone: club.time_zone,
            sandbox,
            version: club.version,
        }
    }
}

/// The stored club in the form it could be sent in, for a merge patch.
pub fn as_input(club: &Club) -> ClubInput {
    ClubInput {
        name: Some(club.name.clone()),
        time_zone: Some(club.time_zone.clone()),
    }
}

/// The name of a zone, in the database's own spelling.
pub fn zone(pointer: &str, given: Option<&str>) -> Result<String, FieldProblem> {
    let given = given.ok_or_else(|| {
        FieldProblem::missing(pointer, "an IANA zone name, such as Europe/Copenhagen")
    })?;
    let zone = local_time::zone(pointer, given)?;
    Ok(zone.iana_name().unwrap_or(given).to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::error::Code;

    fn input(name: &str, zone: &str) -> ClubInput {
        ClubInput {
            name: Some(name.to_owned()),
            time_zone: Some(zone.to_owned()),
        }
    }

    #[test]
    fn a_zone_is_kept_in_the_spelling_of_the_database() {
        let content = input("Havneby Handball", "europe/copenhagen")
            .check()
            .unwrap();
        assert_eq!(content.time_zone, "Europe/Copenhagen");
    }

    #[test]
    fn all_faults_come_together() {
        let problem = input(" ", "Europe/Atlantis").check().unwrap_err();
        let codes: Vec<Code> = problem.errors.iter().map(|fault| fault.code).collect();
        assert_eq!(codes, [Code::TextEmpty, Code::UnknownTimeZone]);
        let problem = ClubInput::default().check().unwrap_err();
        assert!(
            problem
                .errors
                .iter()
                .all(|fault| fault.code == Code::MissingField)
        );
        assert_eq!(problem.errors.len(), 2);
        let unknown = input("Havneby Handball", "Etc/Unknown")
            .check()
            .unwrap_err();
        assert_eq!(unknown.errors[0].code, Code::UnknownTimeZone);
    }
}
