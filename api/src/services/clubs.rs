//! A club's name, home zone and closing time.

use plimsoll_domain::{ClosingTime, Weekday};
use serde::{Deserialize, Serialize};
use serde_json::Number;
use utoipa::ToSchema;

use super::fields::{self, Faults};
use super::local_time;
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::ClubId;
use crate::store::clubs::{Club, ClubContent};

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
    /// When its weeks are closed; Monday at 7 unless given.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false, required = false)]
    pub weekly_close: Option<WeeklyCloseInput>,
}

/// When weeks are closed, as it is sent.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"weekday": "monday", "hour": 7}))]
pub struct WeeklyCloseInput {
    /// monday to sunday, of the week after the one that is closed.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = String, example = "monday")]
    pub weekday: Option<String>,
    /// The local hour, 0 to 23. Where the clocks skip it, the first instant after; where it comes
    /// twice, the first.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = i32, minimum = 0, maximum = 23)]
    pub hour: Option<Number>,
}

/// When weeks are closed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[schema(example = json!({"weekday": "monday", "hour": 7}))]
pub struct WeeklyClose {
    /// monday to sunday, of the week after the one that is closed.
    #[schema(value_type = String)]
    pub weekday: &'static str,
    /// The local hour, 0 to 23.
    pub hour: i8,
}

/// A club as it is answered.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "club_id": "0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b", "name": "Havneby Handball",
    "time_zone": "Europe/Copenhagen", "weekly_close": {"weekday": "monday", "hour": 7}, "version": 1}))]
pub struct ClubAnswer {
    /// Its id.
    pub club_id: ClubId,
    /// Its name.
    pub name: String,
    /// Its home zone.
    pub time_zone: String,
    /// When its weeks are closed.
    pub weekly_close: WeeklyClose,
    /// 1, 2, 3, …; also the ETag.
    pub version: i32,
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
        let weekly_close = closing_time(self.weekly_close.as_ref(), &mut faults);
        let content =
            name.zip(time_zone)
                .zip(weekly_close)
                .map(|((name, time_zone), weekly_close)| ClubContent {
                    name,
                    time_zone,
                    weekly_close,
                });
        faults.settle(content)
    }
}

/// The usual time unless one is given, and then both its parts.
fn closing_time(given: Option<&WeeklyCloseInput>, faults: &mut Faults) -> Option<ClosingTime> {
    let Some(given) = given else {
        return Some(ClosingTime::default());
    };
    let days = || fields::list(Weekday::ALL.iter().map(|day| day.code()));
    let weekday = fields::coded(
        "/weekly_close/weekday",
        given.weekday.as_deref(),
        Weekday::parse,
        days,
    );
    let weekday = faults.take(weekday);
    let hour = faults.take(hour(given.hour.as_ref()));
    ClosingTime::new(weekday?, hour?)
}

fn hour(given: Option<&Number>) -> Result<i64, FieldProblem> {
    const POINTER: &str = "/weekly_close/hour";
    const ALLOWED: &str = "whole number from 0 to 23";
    let given = given.ok_or_else(|| FieldProblem::missing(POINTER, ALLOWED))?;
    let hour = fields::whole(given).filter(|hour| (0..=23).contains(hour));
    hour.ok_or_else(|| FieldProblem::new(POINTER, Code::OutOfRange, given.clone()).allowed(ALLOWED))
}

impl From<Club> for ClubAnswer {
    fn from(club: Club) -> Self {
        let weekly_close = club.weekly_close().unwrap_or_default();
        Self {
            club_id: club.club_id,
            name: club.name,
            time_zone: club.time_zone,
            weekly_close: WeeklyClose {
                weekday: weekly_close.weekday().code(),
                hour: weekly_close.hour(),
            },
            version: club.version,
        }
    }
}

/// The stored club in the form it could be sent in, for a merge patch.
pub fn as_input(club: &Club) -> ClubInput {
    ClubInput {
        name: Some(club.name.clone()),
        time_zone: Some(club.time_zone.clone()),
        weekly_close: Some(WeeklyCloseInput {
            weekday: Some(club.closes_on.code().to_owned()),
            hour: Some(club.closes_at_hour.into()),
        }),
    }
}

/// What a stored club says of itself.
pub fn content(club: &Club) -> ClubContent {
    ClubContent {
        name: club.name.clone(),
        time_zone: club.time_zone.clone(),
        weekly_close: club.weekly_close().unwrap_or_default(),
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

    fn input(name: &str, zone: &str) -> ClubInput {
        ClubInput {
            name: Some(name.to_owned()),
            time_zone: Some(zone.to_owned()),
            weekly_close: None,
        }
    }

    #[test]
    fn weeks_are_closed_on_monday_at_seven_unless_the_club_says_otherwise() {
        let mut club = input("Havneby Handball", "Europe/Copenhagen");
        assert_eq!(club.check().unwrap().weekly_close, ClosingTime::default());
        let at = |weekday: &str, hour: i64| {
            Some(WeeklyCloseInput {
                weekday: Some(weekday.to_owned()),
                hour: Some(hour.into()),
            })
        };
        club.weekly_close = at("sunday", 23);
        let sunday = ClosingTime::new(Weekday::Sunday, 23).unwrap();
        assert_eq!(club.check().unwrap().weekly_close, sunday);
        club.weekly_close = at("Monday", 24);
        let problem = club.check().unwrap_err();
        let faults = problem.errors.iter();
        let faults: Vec<_> = faults.map(|fault| (&*fault.pointer, fault.code)).collect();
        let expected = [
            ("/weekly_close/weekday", Code::UnknownValue),
            ("/weekly_close/hour", Code::OutOfRange),
        ];
        assert_eq!(faults, expected);
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
