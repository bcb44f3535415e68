//! A restriction as it is sent, and its checks.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use serde_json::Number;
use utoipa::ToSchema;

use super::check::{first_day, last_day, nothing_limited, review, whole_to};
use crate::error::{Code, FieldProblem};
use crate::ids::{AthleteId, RestrictionId};
use crate::services::fields::{self, Faults};
use crate::services::people::Naming;
use crate::services::text;
use crate::store::restrictions::Restriction;
use crate::store::{Private, RestrictedTo, WrittenClearance};

/// Longest instruction, in characters.
const LONGEST_INSTRUCTION: usize = 140;
/// Longest note, in characters.
const LONGEST_NOTE: usize = 280;

/// What is limited, from when on, and when it is looked at again. Exactly one of `athlete_id` and
/// `athlete_external_id`.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "athlete_external_id": "P-07", "from": "2026-11-02", "review_date": "2026-11-13",
    "availability": "limited", "max_minutes": 60, "instruction": "no jump throws"}))]
pub struct RestrictionInput {
    /// The athlete, by our id.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = Uuid)]
    pub athlete_id: Option<String>,
    /// The athlete, by the club's id.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub athlete_external_id: Option<String>,
    /// First day; at most a year ahead.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = String, format = Date)]
    pub from: Option<String>,
    /// From this day on coaches are told to ask: a day after `from`, at most 12 months later.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = String, format = Date)]
    pub review_date: Option<String>,
    /// The last day. Without one it goes on, also past its review. To come, it lies on or after the
    /// review date, so that nobody goes from limits to none without being asked about; a day that is
    /// there already ends it.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = Date)]
    pub until: Option<String>,
    /// limited or not_available.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = String)]
    pub availability: Option<String>,
    /// Most minutes of a session, 1 to 600.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<i32>, minimum = 1, maximum = 600)]
    pub max_minutes: Option<Number>,
    /// Most load of seven days, whole AU, 1 to 20,000.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<i32>, minimum = 1, maximum = 20_000)]
    pub max_week_au: Option<Number>,
    /// Most landing contacts of a session, 1 to 1,000.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<i32>, minimum = 1, maximum = 1_000)]
    pub max_contacts: Option<Number>,
    /// No games.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub no_games: Option<bool>,
    /// No jumps.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub no_jumps: Option<bool>,
    /// No throws.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub no_throws: Option<bool>,
    /// No contact with others.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub no_contact: Option<bool>,
    /// What coaches are told beside the limits, 1 to 140 characters. Never the reason.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(min_length = 1, max_length = 140)]
    pub instruction: Option<String>,
    /// For athletic trainers alone, 1 to 280 characters.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(min_length = 1, max_length = 280)]
    pub note: Option<String>,
    /// head_injury, heat_illness or heart, where local law wants a written clearance. Athletic trainers
    /// alone read which. It stands alone: not_available, without limits and without a last day, until a
    /// clearance record names it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub written_clearance_required: Option<String>,
}

impl RestrictionInput {
    /// How it names the athlete.
    pub fn naming(&self) -> Naming<'_> {
        Naming {
            athlete_id: self.athlete_id.as_deref(),
            athlete_external_id: self.athlete_external_id.as_deref(),
        }
    }

    /// The stored restriction in the form it could be sent in, for a merge patch.
    pub fn of(stored: &Restriction) -> Self {
        let number = |value: Option<i32>| value.map(Number::from);
        Self {
            athlete_id: Some(stored.athlete_id.to_string()),
            athlete_external_id: None,
            from: Some(stored.from_date.to_string()),
            review_date: Some(stored.review_date.to_string()),
            until: stored.until_date.map(|date| date.to_string()),
            availability: Some(stored.availability.code().to_owned()),
            max_minutes: number(stored.max_minutes),
            max_week_au: number(stored.max_week_au),
            max_contacts: number(stored.max_contacts),
            no_games: Some(stored.no_games),
            no_jumps: Some(stored.no_jumps),
            no_throws: Some(stored.no_throws),
            no_contact: Some(stored.no_contact),
            instruction: stored.instruction.clone().map(Private::into_inner),
            note: stored.note.clone().map(Private::into_inner),
            written_clearance_required: stored.written_clearance.map(|kind| kind.code().to_owned()),
        }
    }

    /// The restriction of an athlete, every fault collected.
    pub fn check(
        &self,
        restriction_id: RestrictionId,
        athlete_id: AthleteId,
        today: Date,
        faults: &mut Faults,
    ) -> Option<Restriction> {
        let from = faults.take(first_day(self.from.as_deref(), today));
        let review = faults.take(review(self.review_date.as_deref(), from));
        let until = faults.take(last_day(self.until.as_deref(), from, review, today));
        let availability = faults.take(self.availability());
        let written = faults.take(self.written());
        let limit = |name, given: &Option<Number>, most| whole_to(name, given.as_ref(), most);
        let max_minutes = faults.take(limit("/max_minutes", &self.max_minutes, 600));
        let max_week = faults.take(limit("/max_week_au", &self.max_week_au, 20_000));
        let max_contacts = faults.take(limit("/max_contacts", &self.max_contacts, 1_000));
        let instruction = self.instruction.as_deref();
        let instruction = fields::optional("/instruction", instruction, |name, given| {
            let given = given.unwrap_or_default();
            text::line(name, given, LONGEST_INSTRUCTION).map(|()| given.to_owned())
        });
        let instruction = faults.take(instruction);
        let note = fields::optional("/note", self.note.as_deref(), |name, given| {
            let given = given.unwrap_or_default();
            text::note(name, given, LONGEST_NOTE).map(|()| given.to_owned())
        });
        let note = faults.take(note);
        let restriction = Restriction {
            restriction_id,
            athlete_id,
            from_date: from?,
            until_date: until?,
            review_date: review?,
            availability: availability?,
            max_minutes: max_minutes?,
            max_week_au: max_week?,
            max_contacts: max_contacts?,
            no_games: self.no_games.unwrap_or(false),
            no_jumps: self.no_jumps.unwrap_or(false),
            no_throws: self.no_throws.unwrap_or(false),
            no_contact: self.no_contact.unwrap_or(false),
            instruction: instruction?.map(Private::from),
            note: note?.map(Private::from),
            written_clearance: written?,
            reason: None,
        };
        match restriction.written_clearance {
            Some(_) => faults.extend(self.beside_written_clearance(&restriction)),
            None => faults.extend(nothing_limited(&restriction)),
        }
        Some(restriction)
    }

    fn availability(&self) -> Result<RestrictedTo, FieldProblem> {
        let codes = || fields::list(RestrictedTo::ALL.iter().map(|value| value.code()));
        let given = self.availability.as_deref();
        fields::coded("/availability", given, RestrictedTo::parse, codes)
    }

    fn written(&self) -> Result<Option<WrittenClearance>, FieldProblem> {
        let codes = || fields::list(WrittenClearance::ALL.iter().map(|value| value.code()));
        let given = self.written_clearance_required.as_deref();
        fields::optional("/written_clearance_required", given, |name, given| {
            fields::coded(name, given, WrittenClearance::parse, codes)
        })
    }

    /// What cannot stand beside a written clearance.
    fn beside_written_clearance(&self, made: &Restriction) -> Vec<FieldProblem> {
        let fields = [
            ("/until", made.until_date.is_some()),
            ("/availability", made.availability == RestrictedTo::Limited),
            ("/max_minutes", made.max_minutes.is_some()),
            ("/max_week_au", made.max_week_au.is_some()),
            ("/max_contacts", made.max_contacts.is_some()),
            ("/no_games", made.no_games),
            ("/no_jumps", made.no_jumps),
            ("/no_throws", made.no_throws),
            ("/no_contact", made.no_contact),
            ("/instruction", made.instruction.is_some()),
        ];
        let given = serde_json::to_value(self).unwrap_or_default();
        let given = |name: &str| given.pointer(name).cloned().unwrap_or_default();
        let fault =
            |name: &str| FieldProblem::new(name, Code::NotWithWrittenClearance, given(name));
        let beside = fields.iter().filter(|(_, is_there)| *is_there);
        beside
            .map(|(name, _)| match *name {
                "/availability" => fault(name).allowed("not_available"),
                _ => fault(name).allowed("absent"),
            })
            .collect()
    }
}

#[cfg(test)]
mod tests;
