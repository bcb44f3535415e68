//! An athlete as she is sent, and the checks of each field.

use jiff::Span;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::error::{Code, FieldProblem};
use crate::ids::AthleteId;
use crate::services::clubs::zone;
use crate::services::fields::{self, Faults};
use crate::services::local_time;
use crate::store::NameKey;
use crate::store::athletes::Athlete;

/// Completed years that are believed.
const AGES: std::ops::RangeInclusive<i16> = 5..=100;

/// An athlete as the roster knows her. Her squads change through their members.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "external_id": "P-07", "display_name": "Runa Falk", "birth_date": "2011-03-14",
    "joined_on": "2026-01-01"}))]
pub struct AthleteInput {
    /// The roster's own key, unique in the club.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(min_length = 1, max_length = 200)]
    pub external_id: Option<String>,
    /// The name shown, or a code in its place; 1 to 200 characters.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = String, min_length = 1, max_length = 200)]
    pub display_name: Option<String>,
    /// Day of birth, where the club tells it; an age of 5 to 100 years.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = Date)]
    pub birth_date: Option<String>,
    /// The first day of her record: figures begin with it. At most a year ahead.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = String, format = Date)]
    pub joined_on: Option<String>,
    /// Her home zone, where it is not the club's.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(example = "Atlantic/Faroe")]
    pub time_zone: Option<String>,
}

/// A new athlete, with the squads she joins.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "external_id": "P-07", "display_name": "Runa Falk", "birth_date": "2011-03-14",
    "joined_on": "2026-01-01", "squads": ["0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b"]}))]
pub struct NewAthlete {
    /// The roster's own key, unique in the club.
    #[schema(min_length = 1, max_length = 200)]
    pub external_id: Option<String>,
    /// The name shown, or a code in its place; 1 to 200 characters.
    #[schema(value_type = String, min_length = 1, max_length = 200)]
    pub display_name: Option<String>,
    /// Day of birth, where the club tells it; an age of 5 to 100 years.
    #[schema(format = Date)]
    pub birth_date: Option<String>,
    /// The first day of her record: figures begin with it. At most a year ahead.
    #[schema(value_type = String, format = Date)]
    pub joined_on: Option<String>,
    /// Her home zone, where it is not the club's.
    #[schema(example = "Atlantic/Faroe")]
    pub time_zone: Option<String>,
    /// Squads she is a member of from her first day, by id or external id, none of them primary; at most 20.
    #[schema(max_items = 20)]
    pub squads: Option<Vec<String>>,
}

impl NewAthlete {
    /// What is said of her, and her squads.
    pub fn split(self) -> (AthleteInput, Vec<String>) {
        let athlete = AthleteInput {
            external_id: self.external_id,
            display_name: self.display_name,
            birth_date: self.birth_date,
            joined_on: self.joined_on,
            time_zone: self.time_zone,
        };
        (athlete, self.squads.unwrap_or_default())
    }
}

impl AthleteInput {
    /// The stored athlete in the form she could be sent in, for a merge patch.
    pub fn of(athlete: &Athlete) -> Self {
        Self {
            external_id: athlete.external_id.clone(),
            display_name: Some(athlete.display_name.clone()),
            birth_date: athlete.birth_date.map(|date| date.to_string()),
            joined_on: Some(athlete.joined_on.to_string()),
            time_zone: athlete.time_zone.clone(),
        }
    }

    /// The content for an athlete of this id and source. `today` is the club's.
    pub fn check(
        &self,
        athlete_id: AthleteId,
        source: &str,
        today: Date,
        faults: &mut Faults,
    ) -> Option<Athlete> {
        let external_id = self.external_id.as_deref();
        let external_id = faults.take(fields::optional("/external_id", external_id, fields::line));
        let name = faults.take(fields::line("/display_name", self.display_name.as_deref()));
        let birth_date = faults.take(birth_date(self.birth_date.as_deref(), today));
        let joined_on = faults.take(joined_on(self.joined_on.as_deref(), today));
        let time_zone = self.time_zone.as_deref();
        let time_zone = faults.take(fields::optional("/time_zone", time_zone, zone));
        let display_name = name?;
        Some(Athlete {
            athlete_id,
            external_id: external_id?,
            source: source.to_owned(),
            name_key: NameKey::of(&display_name),
            display_name,
            birth_date: birth_date?,
            joined_on: joined_on?,
            time_zone: time_zone?,
        })
    }
}

/// A day of birth that is believed.
pub fn birth_date(given: Option<&str>, today: Date) -> Result<Option<Date>, FieldProblem> {
    let Some(text) = given else { return Ok(None) };
    let date = local_time::date("/birth_date", text)?;
    if date <= today && AGES.contains(&age(date, today)) {
        return Ok(Some(date));
    }
    let (youngest, oldest) = (AGES.start(), AGES.end());
    Err(FieldProblem::new("/birth_date", Code::TooYoungOrOld, text)
        .allowed(format!("an age of {youngest} to {oldest} years")))
}

/// Completed years. Who was born on 29 February grows older on 1 March in common years.
fn age(birth: Date, today: Date) -> i16 {
    let birthday_ahead = (today.month(), today.day()) < (birth.month(), birth.day());
    today.year() - birth.year() - i16::from(birthday_ahead)
}

/// A first day, at most a year ahead.
pub fn joined_on(given: Option<&str>, today: Date) -> Result<Date, FieldProblem> {
    let date = fields::date("/joined_on", given)?;
    let latest = today.saturating_add(Span::new().years(1));
    if date <= latest {
        return Ok(date);
    }
    Err(
        FieldProblem::new("/joined_on", Code::OutOfRange, date.to_string())
            .allowed(format!("{latest} or earlier, a year ahead")),
    )
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use serde_json::{Value, json};

    use super::*;

    const TODAY: Date = date(2026, 11, 9);

    fn checked(change: &Value) -> Result<Athlete, Vec<(String, Code)>> {
        let mut body = json!({
            "external_id": "P-07", "display_name": "Runa  FALK", "birth_date": "2011-03-14",
            "joined_on": "2026-01-01"
        });
        for (name, value) in change.as_object().unwrap() {
            body[name] = value.clone();
        }
        let input: AthleteInput = serde_json::from_value(body).unwrap();
        let mut faults = Faults::default();
        let athlete = input.check(uuid::Uuid::nil().into(), "roster", TODAY, &mut faults);
        let faults = faults.into_vec();
        athlete.ok_or_else(|| {
            let found = faults.into_iter().map(|fault| (fault.pointer, fault.code));
            found.collect()
        })
    }

    #[test]
    fn an_athlete_is_taken_as_sent() {
        let athlete = checked(&json!({})).unwrap();
        assert_eq!(athlete.display_name, "Runa  FALK");
        assert_eq!(athlete.name_key.as_str(), "runa falk");
        assert_eq!(athlete.birth_date, Some(date(2011, 3, 14)));
        assert_eq!(athlete.source, "roster");
        assert_eq!(
            checked(&json!({"birth_date": null})).unwrap().birth_date,
            None
        );
        let same = AthleteInput::of(&athlete);
        let mut faults = Faults::default();
        let again = same.check(athlete.athlete_id, "roster", TODAY, &mut faults);
        assert_eq!(again, Some(athlete));
    }

    #[test]
    fn each_fault_has_its_code() {
        for (change, pointer, code) in [
            (
                json!({"display_name": null}),
                "/display_name",
                Code::MissingField,
            ),
            (
                json!({"display_name": " "}),
                "/display_name",
                Code::TextEmpty,
            ),
            (
                json!({"external_id": "a\0"}),
                "/external_id",
                Code::TextHasControlCharacters,
            ),
            (
                json!({"birth_date": "2027-01-01"}),
                "/birth_date",
                Code::TooYoungOrOld,
            ),
            (
                json!({"birth_date": "2021-11-10"}),
                "/birth_date",
                Code::TooYoungOrOld,
            ),
            (
                json!({"birth_date": "1925-11-09"}),
                "/birth_date",
                Code::TooYoungOrOld,
            ),
            (
                json!({"birth_date": "14.03.2011"}),
                "/birth_date",
                Code::InvalidDate,
            ),
            (json!({"joined_on": null}), "/joined_on", Code::MissingField),
            (
                json!({"joined_on": "2027-11-10"}),
                "/joined_on",
                Code::OutOfRange,
            ),
            (
                json!({"joined_on": "0026-01-01"}),
                "/joined_on",
                Code::OutOfRange,
            ),
            (
                json!({"time_zone": "Europe/Atlantis"}),
                "/time_zone",
                Code::UnknownTimeZone,
            ),
        ] {
            let faults = checked(&change).unwrap_err();
            assert_eq!(faults, [(pointer.to_owned(), code)], "{change}");
        }
    }

    #[test]
    fn the_limits_of_age_are_taken() {
        for born in ["2021-11-09", "1925-11-10", "1926-01-01"] {
            assert!(checked(&json!({"birth_date": born})).is_ok(), "{born}");
        }
        let leap_day = date(2012, 2, 29);
        assert_eq!(age(leap_day, date(2026, 2, 28)), 13);
        assert_eq!(age(leap_day, date(2026, 3, 1)), 14);
        assert_eq!(age(leap_day, date(2028, 2, 29)), 16);
    }

    #[test]
    fn all_faults_come_together() {
        let all = json!({"display_name": "", "birth_date": "soon", "joined_on": "later", "time_zone": ""});
        assert_eq!(checked(&all).unwrap_err().len(), 4);
    }
}
