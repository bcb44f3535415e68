//! A consent and its withdrawal as they are sent, and their checks.

use jiff::{SignedDuration, Timestamp};
use plimsoll_domain::consent::DataClass;
use serde::Deserialize;
use utoipa::ToSchema;

use crate::error::{Code, FieldProblem};
use crate::ids::{AthleteId, ConsentId};
use crate::services::fields::{self, Faults};
use crate::services::local_time;
use crate::store::Private;
use crate::store::consents::{Consent, DataClasses};
use crate::store::{ConsentGiver, ConsentRecipient, whole_microsecond};
use crate::web::json::shorten_text;

/// How far ahead a consent may begin.
const AHEAD: SignedDuration = SignedDuration::from_hours(366 * 24);

/// What somebody consents to. Who gives it is known from the token.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "purpose": "decide on her return after an injury", "data_classes": ["tests"],
    "recipient_role": "athletic_trainer", "text_version": "2026-1"}))]
pub struct ConsentInput {
    /// What for, in the words of the text that was read, 1 to 200 characters.
    #[schema(value_type = String, min_length = 1, max_length = 200)]
    pub purpose: Option<String>,
    /// To which classes of data, each once: squad_figures (her week counts in the mean and quartiles of her squad) for coaches;
    /// tests, pain, wellness for athletic trainers; day_totals by itself, for another club: date, AU and minutes of what this club
    /// organises, past days too, from the first day that the other club knows her.
    #[schema(value_type = Vec<String>, min_items = 1, max_items = 4)]
    pub data_classes: Option<Vec<String>>,
    /// For whom in the club: coach or athletic_trainer.
    pub recipient_role: Option<String>,
    /// For which other club: the code that her family got there, good once and for seven days. It begins now and goes on until it is
    /// withdrawn.
    pub sharing_code: Option<String>,
    /// The first instant it is meant for: now unless given, never earlier, at most a year ahead.
    #[schema(format = DateTime)]
    pub from: Option<String>,
    /// The first instant it is no longer meant for; without one it goes on until it is withdrawn.
    #[schema(format = DateTime)]
    pub until: Option<String>,
    /// Which version of the text was read, 1 to 200 characters.
    #[schema(value_type = String, min_length = 1, max_length = 200)]
    pub text_version: Option<String>,
    /// Where the signed form is kept, 1 to 200 characters. The privacy lead, who enters a form that somebody else has signed,
    /// has to say it.
    #[schema(min_length = 1, max_length = 200)]
    pub evidence: Option<String>,
}

/// A withdrawal. It needs no reason.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({}))]
pub struct WithdrawalInput {
    /// Where the signed withdrawal is kept, 1 to 200 characters. The privacy lead has to say it.
    #[schema(min_length = 1, max_length = 200)]
    pub evidence: Option<String>,
}

impl ConsentInput {
    /// The consent, every fault collected; `on_paper` where a signed form is entered.
    pub(super) fn check(
        &self,
        (consent_id, athlete_id, given_by): (ConsentId, AthleteId, ConsentGiver),
        (at, on_paper): (Timestamp, bool),
        faults: &mut Faults,
    ) -> Option<Consent> {
        let purpose = faults.take(fields::line("/purpose", self.purpose.as_deref()));
        let is_shared = self.is_shared();
        let recipient = if is_shared {
            faults.extend(self.beside_sharing());
            Some(None)
        } else {
            faults.take(self.recipient()).map(Some)
        };
        let classes = self.classes(recipient, faults);
        let from = faults.take(from(self.from.as_deref().filter(|_| !is_shared), at));
        let until = faults.take(until(self.until.as_deref().filter(|_| !is_shared), from));
        let text_version = faults.take(fields::line("/text_version", self.text_version.as_deref()));
        let evidence = faults.take(evidence(self.evidence.as_deref(), on_paper));
        Some(Consent {
            consent_id,
            athlete_id,
            given_by,
            purpose: purpose?.into(),
            data_classes: classes?,
            recipient_role: recipient?,
            recipient_club: None,
            recipient_link: None,
            given_at: at,
            from_at: from?,
            until_at: until?,
            text_version: text_version?,
            evidence: evidence?.map(Private::from),
            withdrawn_at: None,
            withdrawn_by: None,
            withdrawal_evidence: None,
        })
    }

    /// Whether it is about day totals for another club.
    pub fn is_shared(&self) -> bool {
        let classes = self.data_classes.as_deref().unwrap_or_default();
        self.sharing_code.is_some()
            || classes
                .iter()
                .any(|class| class == DataClass::DayTotals.code())
    }

    /// What cannot stand beside sharing with another club, and the code where it is missing.
    fn beside_sharing(&self) -> Vec<FieldProblem> {
        let fields = [
            ("/recipient_role", &self.recipient_role),
            ("/from", &self.from),
            ("/until", &self.until),
        ];
        let given = fields
            .into_iter()
            .filter_map(|(name, given)| Some((name, given.as_deref()?)));
        let fault = |(name, given): (&str, &str)| {
            FieldProblem::new(name, Code::NotWithSharing, shorten_text(given)).allowed("absent")
        };
        let mut faults: Vec<FieldProblem> = given.map(fault).collect();
        if self.sharing_code.is_none() {
            faults.push(FieldProblem::missing(
                "/sharing_code",
                "a code of the other club",
            ));
        }
        faults
    }

    fn recipient(&self) -> Result<ConsentRecipient, FieldProblem> {
        let codes = || fields::list(ConsentRecipient::ALL.iter().map(|value| value.code()));
        let given = self.recipient_role.as_deref();
        fields::coded("/recipient_role", given, ConsentRecipient::parse, codes)
    }

    /// The classes of data, each fault at its place. A class that is not for this recipient is a fault of the class.
    fn classes(
        &self,
        recipient: Option<Option<ConsentRecipient>>,
        faults: &mut Faults,
    ) -> Option<DataClasses> {
        let fits = |class: &&DataClass| recipient.is_none_or(|one| recipient_of(**class) == one);
        let codes = || fields::list(DataClass::ALL.iter().filter(fits).map(|class| class.code()));
        let given = self.data_classes.as_deref().unwrap_or_default();
        if given.is_empty() {
            faults.extend([FieldProblem::missing("/data_classes", codes())]);
            return None;
        }
        let mut classes = Vec::new();
        for (place, text) in given.iter().enumerate() {
            let pointer = format!("/data_classes/{place}");
            let known = DataClass::parse(text).filter(|class| fits(&class));
            match known {
                None => {
                    let fault = FieldProblem::new(pointer, Code::UnknownValue, shorten_text(text));
                    faults.extend([fault.allowed(codes())]);
                }
                Some(class) if classes.contains(&class) => {
                    faults.extend([FieldProblem::new(
                        pointer,
                        Code::ConsentStands,
                        text.as_str(),
                    )]);
                }
                Some(class) => classes.push(class),
            }
        }
        Some(DataClasses(classes))
    }
}

impl WithdrawalInput {
    /// Where the signed withdrawal is kept.
    pub(super) fn check(&self, on_paper: bool, faults: &mut Faults) -> Option<Option<String>> {
        faults.take(evidence(self.evidence.as_deref(), on_paper))
    }
}

/// For whom in the club data of a class is; `None` where it is for another club.
pub const fn recipient_of(class: DataClass) -> Option<ConsentRecipient> {
    match class {
        DataClass::DayTotals => None,
        DataClass::SquadFigures => Some(ConsentRecipient::Coach),
        DataClass::Tests | DataClass::Pain | DataClass::Wellness => {
            Some(ConsentRecipient::AthleticTrainer)
        }
    }
}

/// The first instant: now unless given, and never earlier.
fn from(given: Option<&str>, now: Timestamp) -> Result<Timestamp, FieldProblem> {
    let Some(text) = given else { return Ok(now) };
    let from = whole_microsecond(local_time::instant("/from", text)?);
    if from < now {
        return Err(FieldProblem::new("/from", Code::Backdated, text)
            .allowed(format!("{now} or later, or absent for now")));
    }
    let latest = now + AHEAD;
    if from > latest {
        return Err(FieldProblem::new("/from", Code::OutOfRange, text)
            .allowed(format!("{latest} or earlier, a year ahead")));
    }
    Ok(from)
}

/// The first instant it is no longer meant for, later than the first one it is meant for.
fn until(given: Option<&str>, from: Option<Timestamp>) -> Result<Option<Timestamp>, FieldProblem> {
    let Some(text) = given else { return Ok(None) };
    let until = whole_microsecond(local_time::instant("/until", text)?);
    match from {
        Some(from) if until <= from => Err(FieldProblem::new("/until", Code::RangeReversed, text)
            .allowed(format!("later than {from}"))),
        _ => Ok(Some(until)),
    }
}

fn evidence(given: Option<&str>, on_paper: bool) -> Result<Option<String>, FieldProblem> {
    if on_paper {
        return fields::line("/evidence", given).map(Some);
    }
    fields::optional("/evidence", given, fields::line)
}

#[cfg(test)]
mod tests;
