//! How long a club keeps what, and what it calls its records, as it is sent and stored.

use plimsoll_domain::retention::{LONGEST, Terms, USUAL_FOR_LOAD, waits_for, with_terms};
use plimsoll_domain::{RecordClass, RecordRegime};
use serde::{Deserialize, Serialize};
use serde_json::Number;
use utoipa::ToSchema;

use super::words;
use crate::error::{Code, FieldProblem, Problem};
use crate::services::fields::{self, Faults};
use crate::services::write::Change;
use crate::store::retention::settings::{self, RetentionSettings, SettingsVersion};
use crate::store::{Conn, Known, Tenant};

/// The settings as they are sent.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"record_regime": "club", "terms": [{"class": "load", "days_after_leaving": 730}],
    "source_note": "club board, 3 November 2026"}))]
pub struct RetentionInput {
    /// What the club calls its records: education, health_provider or club. It changes wording alone.
    #[schema(value_type = String)]
    pub record_regime: Option<String>,
    /// How long what is kept, each class once at most. A class that is left out is kept without end.
    #[schema(value_type = Vec<TermInput>)]
    pub terms: Option<Vec<TermInput>>,
    /// Where the terms come from, 1 to 200 characters; needed where there are any.
    #[schema(min_length = 1, max_length = 200)]
    pub source_note: Option<String>,
}

/// How long a class of records is kept.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"class": "load", "days_after_leaving": 730}))]
pub struct TermInput {
    /// findings, load, clinical, availability, consents or identity.
    #[schema(value_type = String)]
    pub class: Option<String>,
    /// Days after the last day of her last membership, 0 to 36500.
    #[schema(value_type = u32, minimum = 0, maximum = 36_500)]
    pub days_after_leaving: Option<Number>,
}

/// The settings.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
#[schema(example = json!({"record_regime": null, "regime_note": words::of_regime(None), "terms": [
    {"class": "load", "days_after_leaving": null, "kept_for_days": null, "waits_for": []}],
    "source_note": null, "says": words::KEEPS_EVERYTHING,
    "usual": [{"class": "load", "days_after_leaving": 730, "note": words::USUAL}], "note": words::LOCAL_LAW, "version": 0}))]
pub struct RetentionAnswer {
    /// What the club calls its records; null until it says so.
    #[schema(value_type = Option<String>)]
    pub record_regime: Option<&'static str>,
    /// The sentence about it that is put under what is handed out.
    pub regime_note: &'static str,
    /// Every class that can have a term, in the order in which they are erased.
    pub terms: Vec<TermAnswer>,
    /// Where the terms come from.
    pub source_note: Option<String>,
    /// What the terms come to, in words.
    pub says: &'static str,
    /// What clubs usually choose; nothing of it holds by itself.
    pub usual: Vec<UsualTerm>,
    /// Who decides.
    pub note: &'static str,
    /// 0 until they are set, then 1, 2, 3, …; also the ETag.
    pub version: i32,
}

/// How long a class of records is kept.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
#[schema(example = json!({"class": "availability", "days_after_leaving": 365, "kept_for_days": 730, "waits_for": ["load"]}))]
pub struct TermAnswer {
    /// The class.
    #[schema(value_type = String)]
    pub class: &'static str,
    /// The term that was set; null where the class is kept without end.
    pub days_after_leaving: Option<u32>,
    /// How long it is kept in fact, since what needs it goes first; null without end.
    pub kept_for_days: Option<u32>,
    /// The classes that go before it, since they need it.
    #[schema(value_type = Vec<String>)]
    pub waits_for: Vec<&'static str>,
}

/// What clubs usually choose.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
#[schema(example = json!({"class": "load", "days_after_leaving": 730, "note": words::USUAL}))]
pub struct UsualTerm {
    /// The class.
    #[schema(value_type = String)]
    pub class: &'static str,
    /// Days after leaving.
    pub days_after_leaving: u32,
    /// Where that comes from.
    pub note: &'static str,
}

impl RetentionAnswer {
    /// The answer for what is stored, if anything is.
    pub fn new(stored: Option<SettingsVersion>) -> Self {
        let version = version(stored.as_ref());
        let content = stored.map(|stored| stored.content);
        let (regime, terms, source_note) = match content {
            Some(content) => (
                Some(content.record_regime),
                content.terms,
                content.source_note,
            ),
            None => (None, Terms::default(), None),
        };
        Self {
            record_regime: regime.map(RecordRegime::code),
            regime_note: words::of_regime(regime),
            terms: with_terms()
                .map(|class| TermAnswer::new(class, &terms))
                .collect(),
            source_note,
            says: match terms.is_empty() {
                true => words::KEEPS_EVERYTHING,
                false => words::ERASES,
            },
            usual: vec![UsualTerm {
                class: RecordClass::Load.code(),
                days_after_leaving: USUAL_FOR_LOAD,
                note: words::USUAL,
            }],
            note: words::LOCAL_LAW,
            version,
        }
    }
}

impl TermAnswer {
    fn new(class: RecordClass, terms: &Terms) -> Self {
        Self {
            class: class.code(),
            days_after_leaving: terms.each().find(|one| one.0 == class).map(|one| one.1),
            kept_for_days: terms.kept_for(class),
            waits_for: waits_for(class).map(RecordClass::code).collect(),
        }
    }
}

/// Which version it is; 0 where there is none.
pub fn version(stored: Option<&SettingsVersion>) -> i32 {
    stored.map_or(0, |stored| stored.version)
}

/// The settings as they were known; `None` where nothing had been said.
pub fn known(
    conn: &mut Conn,
    tenant: Tenant,
    known: Known,
) -> Result<Option<SettingsVersion>, Problem> {
    let mut history = settings::history(conn, tenant)?.into_iter();
    let by_then = |one: &SettingsVersion| match known {
        Known::Now => true,
        Known::AsOf(instant) => one.received_at <= instant,
    };
    Ok(history.rfind(by_then))
}

/// Sets them; the same again changes nothing.
///
/// # Errors
/// 422 with every fault.
pub fn set(
    change: &mut Change<'_>,
    before: Option<SettingsVersion>,
    input: &RetentionInput,
) -> Result<RetentionAnswer, Problem> {
    let after = input.check()?;
    if before
        .as_ref()
        .is_some_and(|before| before.content == after)
    {
        return Ok(RetentionAnswer::new(before));
    }
    change.store_with(|conn, tenant, moment, author| {
        settings::append(conn, tenant, moment, author, &after)
    })?;
    let tenant = change.tenant();
    Ok(RetentionAnswer::new(known(
        change.conn,
        tenant,
        Known::Now,
    )?))
}

impl RetentionInput {
    fn check(&self) -> Result<RetentionSettings, Problem> {
        let mut faults = Faults::default();
        let codes = || fields::list(RecordRegime::ALL.iter().map(|regime| regime.code()));
        let regime = self.record_regime.as_deref();
        let regime = fields::coded("/record_regime", regime, RecordRegime::parse, codes);
        let regime = faults.take(regime);
        let terms = self.terms(&mut faults);
        let note = self.source_note.as_deref();
        let is_needed = self.terms.as_ref().is_some_and(|terms| !terms.is_empty());
        let note = match is_needed {
            true => fields::line("/source_note", note).map(Some),
            false => fields::optional("/source_note", note, fields::line),
        };
        let note = faults.take(note);
        let made = regime.zip(terms).zip(note);
        faults.settle(
            made.map(|((record_regime, terms), source_note)| RetentionSettings {
                record_regime,
                terms,
                source_note,
            }),
        )
    }

    /// The terms; none of them where one is faulty.
    fn terms(&self, faults: &mut Faults) -> Option<Terms> {
        let Some(given) = &self.terms else {
            let missing = FieldProblem::missing("/terms", "a list, empty to keep everything");
            faults.extend([missing]);
            return None;
        };
        let mut terms: Vec<(RecordClass, u32)> = Vec::new();
        for (place, term) in given.iter().enumerate() {
            let class = faults.take(term.class(place));
            let days = faults.take(term.days(place));
            if let Some(class) = class.filter(|class| terms.iter().any(|one| one.0 == *class)) {
                let pointer = format!("/terms/{place}/class");
                let twice = FieldProblem::new(pointer, Code::TermTwice, class.code());
                faults.extend([twice.allowed("each class once")]);
            }
            terms.extend(class.zip(days));
        }
        Terms::new(terms)
    }
}

impl TermInput {
    fn class(&self, place: usize) -> Result<RecordClass, FieldProblem> {
        let codes = || fields::list(with_terms().map(RecordClass::code));
        let parse = |text: &str| with_terms().find(|class| class.code() == text);
        let pointer = format!("/terms/{place}/class");
        fields::coded(&pointer, self.class.as_deref(), parse, codes)
    }

    fn days(&self, place: usize) -> Result<u32, FieldProblem> {
        let pointer = format!("/terms/{place}/days_after_leaving");
        let allowed = format!("whole number from 0 to {LONGEST}");
        let Some(given) = &self.days_after_leaving else {
            return Err(FieldProblem::missing(pointer, allowed));
        };
        let days = fields::whole(given).and_then(|days| u32::try_from(days).ok());
        let days = days.filter(|days| *days <= LONGEST);
        days.ok_or_else(|| {
            FieldProblem::new(pointer, Code::OutOfRange, given.clone()).allowed(allowed)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn term(class: &str, days: impl Into<Number>) -> TermInput {
        TermInput {
            class: Some(class.to_owned()),
            days_after_leaving: Some(days.into()),
        }
    }

    fn faults(terms: Option<Vec<TermInput>>) -> Vec<(String, Code)> {
        let input = RetentionInput {
            record_regime: Some("club".to_owned()),
            terms,
            source_note: Some("club board".to_owned()),
        };
        let problem = input.check().unwrap_err();
        let faults = problem.errors.into_iter();
        faults.map(|fault| (fault.pointer, fault.code)).collect()
    }

    #[test]
    fn every_fault_of_a_term_is_told_where_it_is() {
        let terms = vec![
            term("load", 730),
            term("load", 3),
            term("access_trail", 1),
            term("identity", -1),
            term("findings", 36_501),
            TermInput::default(),
        ];
        let expected = [
            ("/terms/1/class", Code::TermTwice),
            ("/terms/2/class", Code::UnknownValue),
            ("/terms/3/days_after_leaving", Code::OutOfRange),
            ("/terms/4/days_after_leaving", Code::OutOfRange),
            ("/terms/5/class", Code::MissingField),
            ("/terms/5/days_after_leaving", Code::MissingField),
        ];
        let expected = expected.map(|(pointer, code)| (pointer.to_owned(), code));
        assert_eq!(faults(Some(terms)), expected);
        assert_eq!(faults(None), [("/terms".to_owned(), Code::MissingField)]);
    }

    #[test]
    fn terms_say_where_they_come_from() {
        let input = |terms: &[TermInput]| RetentionInput {
            record_regime: Some("education".to_owned()),
            terms: Some(terms.to_vec()),
            source_note: None,
        };
        assert_eq!(input(&[]).check().unwrap().source_note, None);
        let problem = input(&[term("load", 730)]).check().unwrap_err();
        assert_eq!(problem.errors[0].pointer, "/source_note");
    }

    #[test]
    fn a_class_is_told_how_long_it_is_kept_in_fact() {
        let terms = [(RecordClass::Load, 730), (RecordClass::Availability, 365)];
        let terms = Terms::new(terms).unwrap();
        let told = TermAnswer::new(RecordClass::Availability, &terms);
        assert_eq!(
            (told.days_after_leaving, told.kept_for_days),
            (Some(365), Some(730))
        );
        assert_eq!(told.waits_for, ["load"]);
        let unset = RetentionAnswer::new(None);
        assert_eq!((unset.says, unset.version), (words::KEEPS_EVERYTHING, 0));
    }
}
