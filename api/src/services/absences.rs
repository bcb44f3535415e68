//! Spans of days away: when, and why as far as it is anyone's business.

use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{Span, Timestamp};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::fields::{self, Faults};
use super::people::{Naming, People};
use super::write::Change;
use super::{flags, reach};
use crate::auth::Role;
use crate::auth::tenant::Caller;
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{AbsenceId, AthleteId};
use crate::store::absences::{self, Absence};
use crate::store::{self, AbsenceCategory, Conn, DaySet, Known, Versioned, Who};

/// Longest absence, both ends included.
pub const MOST_DAYS: i64 = 370;

/// A span of days away. Exactly one of `athlete_id` and `athlete_external_id`.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "athlete_external_id": "P-07", "from": "2026-10-12", "to": "2026-10-18",
    "category": "holiday", "given_by": "guardian"}))]
pub struct AbsenceInput {
    /// The athlete, by our id.
    #[schema(format = Uuid)]
    pub athlete_id: Option<String>,
    /// The athlete, by the club's id.
    pub athlete_external_id: Option<String>,
    /// First day; at most a year ahead.
    #[schema(value_type = String, format = Date)]
    pub from: Option<String>,
    /// Last day; at most 370 days in all.
    #[schema(value_type = String, format = Date)]
    pub to: Option<String>,
    /// rest, holiday, exams, away or not_available. The last says nothing of the reason, and only the
    /// athlete, a guardian or an athletic trainer enters it.
    #[schema(value_type = String)]
    pub category: Option<String>,
    /// Who said so: athlete, guardian or coach; assumed from the acting role.
    pub given_by: Option<String>,
}

/// An absence as it is answered.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "absence_id": "0199a1b2-3333-7e4f-8a5b-6c7d8e9f0a1b",
    "athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "from": "2026-10-12",
    "to": "2026-10-18", "category": "holiday", "given_by": "guardian",
    "received_at": "2026-10-01T18:02:11Z", "version": 1}))]
pub struct AbsenceAnswer {
    /// Its id.
    pub absence_id: AbsenceId,
    /// Whose it is.
    pub athlete_id: AthleteId,
    /// First day.
    #[schema(value_type = String, format = Date)]
    pub from: Date,
    /// Last day.
    #[schema(value_type = String, format = Date)]
    pub to: Date,
    /// rest, holiday, exams, away or not_available.
    #[schema(value_type = String)]
    pub category: &'static str,
    /// Who said so.
    #[schema(value_type = String)]
    pub given_by: &'static str,
    /// When it was received.
    #[schema(value_type = String, format = DateTime)]
    pub received_at: Timestamp,
    /// 1, 2, 3, …; also the ETag.
    pub version: i32,
}

impl From<Versioned<Absence>> for AbsenceAnswer {
    fn from(absence: Versioned<Absence>) -> Self {
        let Versioned { content, version } = absence;
        Self {
            absence_id: content.absence_id,
            athlete_id: content.athlete_id,
            from: content.from_date,
            to: content.to_date,
            category: content.category.code(),
            given_by: content.given_by.code(),
            received_at: version.received_at,
            version: version.number,
        }
    }
}

/// Stores an absence, unless the athlete has the same one already: then the one that is there is
/// answered. Says whether it is new.
pub fn enter(
    change: &mut Change<'_>,
    input: &AbsenceInput,
) -> Result<(AbsenceAnswer, bool), Problem> {
    let absence = checked(change, input)?;
    let (from, to, athlete) = (absence.from_date, absence.to_date, [absence.athlete_id]);
    let (tenant, who) = (change.tenant(), Who::Athletes(&athlete));
    let known = absences::in_dates(change.conn, tenant, who, from, to, Known::Now)?;
    let said = |one: &Absence| (one.from_date, one.to_date, one.category);
    let same = known
        .into_iter()
        .find(|one| said(&one.content) == said(&absence));
    if let Some(same) = same {
        return Ok((same.into(), false));
    }
    let id = absence.absence_id;
    let touched = touched(&absence);
    change.store_with(|conn, tenant, moment, author| {
        absences::insert(conn, tenant, moment, author, &[absence])
    })?;
    flags::rejudge(change, &touched)?;
    let stored = find(change.conn, change.caller, id)?;
    Ok((stored.into(), true))
}

/// Takes an absence back.
pub fn remove(change: &mut Change<'_>, current: Versioned<Absence>) -> Result<(), Problem> {
    let touched = touched(&current.content);
    let tombstone = store::Change::tombstone(current);
    change.store_with(|conn, tenant, moment, author| {
        absences::supersede(conn, tenant, moment, author, &[tombstone])
    })?;
    flags::rejudge(change, &touched)
}

/// The undeleted absence of an id within the caller's reach.
pub fn find(
    conn: &mut Conn,
    caller: &Caller,
    id: AbsenceId,
) -> Result<Versioned<Absence>, Problem> {
    let found = absences::current(conn, caller.tenant, id)?;
    let found = found
        .filter(|one| !one.version.deleted)
        .ok_or_else(Problem::not_found)?;
    if !reach::of(conn, caller)?.includes(found.content.athlete_id) {
        return Err(Problem::not_found());
    }
    Ok(found)
}

fn touched(absence: &Absence) -> DaySet {
    let mut touched = DaySet::default();
    touched.add(absence.athlete_id, absence.from_date);
    touched.add(absence.athlete_id, absence.to_date);
    touched
}

fn checked(change: &mut Change<'_>, input: &AbsenceInput) -> Result<Absence, Problem> {
    let naming = Naming {
        athlete_id: input.athlete_id.as_deref(),
        athlete_external_id: input.athlete_external_id.as_deref(),
    };
    let mut faults = Faults::default();
    let subject = People::subject_of(change, naming)?;
    let subject = faults.take(subject);
    let home = subject
        .as_ref()
        .map_or(TimeZone::UTC, |subject| subject.home.clone());
    let today = home.to_datetime(change.at()).date();
    let span = span(input, today, &mut faults);
    let role = change.caller.principal.role;
    let category = faults.take(category(input.category.as_deref(), role));
    let given_by = faults.take(fields::given_by(input.given_by.as_deref(), role));
    let absence = match (subject, span, category, given_by) {
        (Some(subject), Some((from_date, to_date)), Some(category), Some(given_by)) => {
            Some(Absence {
                absence_id: change.new_id(),
                athlete_id: subject.athlete_id,
                from_date,
                to_date,
                category,
                given_by,
            })
        }
        _ => None,
    };
    faults.settle(absence)
}

/// First and last day.
fn span(input: &AbsenceInput, today: Date, faults: &mut Faults) -> Option<(Date, Date)> {
    let from = faults.take(first_day(input.from.as_deref(), today));
    let to = faults.take(fields::date("/to", input.to.as_deref()));
    let (from, to) = from.zip(to)?;
    faults.take(fields::in_order("/to", from, to))?;
    let days = to.duration_since(from).as_hours() / 24 + 1;
    if days > MOST_DAYS {
        let fault = FieldProblem::new("/to", Code::RangeTooLong, to.to_string());
        faults.extend([fault.allowed(format!("at most {MOST_DAYS} days"))]);
        return None;
    }
    Some((from, to))
}

fn first_day(given: Option<&str>, today: Date) -> Result<Date, FieldProblem> {
    let from = fields::date("/from", given)?;
    let latest = today.saturating_add(Span::new().years(1));
    if from <= latest {
        return Ok(from);
    }
    Err(
        FieldProblem::new("/from", Code::OutOfRange, from.to_string())
            .allowed(format!("{latest} or earlier, a year ahead")),
    )
}

/// The category, where the role may enter it. A reason of health comes from the family or from a
/// clinician, never through staff or a program.
fn category(given: Option<&str>, role: Role) -> Result<AbsenceCategory, FieldProblem> {
    let may_say_unavailable =
        matches!(role, Role::Athlete | Role::Guardian | Role::AthleticTrainer);
    let may = |category: &AbsenceCategory| {
        may_say_unavailable || *category != AbsenceCategory::NotAvailable
    };
    let codes = || {
        let open = AbsenceCategory::ALL.iter().filter(|category| may(category));
        fields::list(open.map(|category| category.code()))
    };
    let parse = |text: &str| AbsenceCategory::parse(text).filter(may);
    fields::coded("/category", given, parse, codes)
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    fn spanned(from: &str, to: &str) -> Result<(Date, Date), Vec<(String, Code)>> {
        let input = AbsenceInput {
            from: Some(from.to_owned()),
            to: Some(to.to_owned()),
            ..AbsenceInput::default()
        };
        let mut faults = Faults::default();
        let span = span(&input, date(2026, 11, 9), &mut faults);
        let faults = faults.into_vec();
        let found = faults.into_iter().map(|fault| (fault.pointer, fault.code));
        span.ok_or_else(|| found.collect())
    }

    #[test]
    fn a_span_runs_from_its_first_to_its_last_day() {
        let day = date(2026, 10, 12);
        assert_eq!(spanned("2026-10-12", "2026-10-12"), Ok((day, day)));
        assert!(spanned("2025-11-01", "2026-11-05").is_ok(), "370 days");
        for (from, to, pointer, code) in [
            ("2026-10-12", "2026-10-11", "/to", Code::RangeReversed),
            ("2025-11-01", "2026-11-06", "/to", Code::RangeTooLong),
            ("2027-11-10", "2027-11-11", "/from", Code::OutOfRange),
            ("1026-10-12", "2026-10-11", "/from", Code::OutOfRange),
            ("2026-10-12", "2026-10-32", "/to", Code::InvalidDate),
        ] {
            let faults = spanned(from, to).unwrap_err();
            assert_eq!(faults, [(pointer.to_owned(), code)], "{from} {to}");
        }
        assert_eq!(spanned("soon", "later").unwrap_err().len(), 2);
    }

    #[test]
    fn unavailability_is_said_by_family_or_clinician() {
        let said = |role| category(Some("not_available"), role);
        for role in [Role::Athlete, Role::Guardian, Role::AthleticTrainer] {
            assert_eq!(said(role), Ok(AbsenceCategory::NotAvailable), "{role}");
        }
        for role in [Role::Integration, Role::Coach, Role::StrengthCoach] {
            let fault = said(role).unwrap_err();
            assert_eq!(fault.code, Code::UnknownValue, "{role}");
            assert_eq!(fault.allowed.as_deref(), Some("rest, holiday, exams, away"));
            assert_eq!(category(Some("exams"), role), Ok(AbsenceCategory::Exams));
        }
        assert_eq!(
            category(None, Role::Guardian).unwrap_err().code,
            Code::MissingField
        );
        assert_eq!(
            category(Some("flu"), Role::Guardian).unwrap_err().code,
            Code::UnknownValue
        );
    }
}
