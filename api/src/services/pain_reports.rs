//! What athletes say about pain: whether something hurts, and where. It goes to those her family lets read it, and calls nobody.

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use plimsoll_domain::{BodyArea, Side};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::fields::{self, Faults};
use super::people::{Naming, People};
use super::reach;
use super::test_results::{past_date, side};
use super::write::Change;
use crate::auth::tenant::Caller;
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{AthleteId, PainReportId};
use crate::store::pain_reports::{self, PainReport};
use crate::store::{self, Conn, Known, Versioned, Who};

/// Said with every report. Common practice, no source.
pub const NOTE: &str = "This is not an emergency channel: nobody is called. Stop, and tell an adult who is there. After a knock \
    to the head, with fainting, breathlessness out of proportion, heat illness or swelling, training ends and a clinician is asked under \
    local rules; in an emergency call the local emergency number.";

/// What was said about pain on a day: whether something hurts, and where. Exactly one of `athlete_id` and `athlete_external_id`.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "athlete_external_id": "P-07", "date": "2026-11-08", "hurts": true, "area": "knee", "side": "left"}))]
pub struct PainReportInput {
    /// The athlete, by our id.
    #[schema(format = Uuid)]
    pub athlete_id: Option<String>,
    /// The athlete, by the club's id.
    pub athlete_external_id: Option<String>,
    /// Which day, not after today.
    #[schema(value_type = String, format = Date)]
    pub date: Option<String>,
    /// Whether something hurts.
    #[schema(value_type = bool)]
    pub hurts: Option<bool>,
    /// Where, when something does: head, neck, shoulder, upper_arm, elbow, forearm, wrist, hand, chest, belly, back, hip, thigh, knee,
    /// lower_leg, ankle, foot or elsewhere.
    pub area: Option<String>,
    /// left, right or both, where it can be said.
    pub side: Option<String>,
}

/// A report as it is answered.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "pain_report_id": "0199a1b2-7777-7e4f-8a5b-6c7d8e9f0a1b",
    "athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "date": "2026-11-08", "hurts": true, "area": "knee", "side": "left",
    "received_at": "2026-11-08T19:12:00Z", "version": 1, "note": NOTE}))]
pub struct PainReportAnswer {
    /// Its id.
    pub pain_report_id: PainReportId,
    /// Whose it is.
    pub athlete_id: AthleteId,
    /// Which day.
    #[schema(value_type = String, format = Date)]
    pub date: Date,
    /// Whether something hurt.
    pub hurts: bool,
    /// Where; null where nothing did.
    #[schema(value_type = Option<String>)]
    pub area: Option<&'static str>,
    /// left, right or both; null where it was not said.
    #[schema(value_type = Option<String>)]
    pub side: Option<&'static str>,
    /// When it was received.
    #[schema(value_type = String, format = DateTime)]
    pub received_at: Timestamp,
    /// 1, 2, 3, …; also the ETag.
    pub version: i32,
    /// What a report is not, and what to do.
    pub note: &'static str,
}

impl From<Versioned<PainReport>> for PainReportAnswer {
    fn from(stored: Versioned<PainReport>) -> Self {
        let Versioned { content, version } = stored;
        Self {
            pain_report_id: content.pain_report_id,
            athlete_id: content.athlete_id,
            date: content.felt_on,
            hurts: content.area.is_some(),
            area: content.area.map(BodyArea::code),
            side: content.side.map(Side::code),
            received_at: version.received_at,
            version: version.number,
            note: NOTE,
        }
    }
}

/// Stores a report, unless the same was said of that day already: then the one that is there is answered. Says whether it is new.
pub fn enter(
    change: &mut Change<'_>,
    input: &PainReportInput,
) -> Result<(PainReportAnswer, bool), Problem> {
    let report = checked(change, input)?;
    let (tenant, athlete) = (change.tenant(), [report.athlete_id]);
    let (who, day) = (Who::Athletes(&athlete), (report.felt_on, report.felt_on));
    let known = pain_reports::in_dates(change.conn, tenant, who, day, Known::Now)?;
    let said = |one: &PainReport| (one.area, one.side);
    let same = known
        .into_iter()
        .find(|one| said(&one.content) == said(&report));
    if let Some(same) = same {
        return Ok((same.into(), false));
    }
    let id = report.pain_report_id;
    change.store_with(|conn, tenant, moment, author| {
        pain_reports::insert(conn, tenant, moment, author, &[report])
    })?;
    let stored = find(change.conn, change.caller, id)?;
    Ok((stored.into(), true))
}

/// Takes a report back.
pub fn remove(change: &mut Change<'_>, current: Versioned<PainReport>) -> Result<(), Problem> {
    let tombstone = store::Change::tombstone(current);
    Ok(change.store_with(|conn, tenant, moment, author| {
        pain_reports::supersede(conn, tenant, moment, author, &[tombstone])
    })?)
}

/// The undeleted report of an id within the caller's reach.
pub fn find(
    conn: &mut Conn,
    caller: &Caller,
    id: PainReportId,
) -> Result<Versioned<PainReport>, Problem> {
    let found = pain_reports::current(conn, caller.tenant, id)?;
    let found = found
        .filter(|one| !one.version.deleted)
        .ok_or_else(Problem::not_found)?;
    if !reach::of(conn, caller)?.includes(found.content.athlete_id) {
        return Err(Problem::not_found());
    }
    Ok(found)
}

fn checked(change: &mut Change<'_>, input: &PainReportInput) -> Result<PainReport, Problem> {
    let naming = Naming {
        athlete_id: input.athlete_id.as_deref(),
        athlete_external_id: input.athlete_external_id.as_deref(),
    };
    let mut faults = Faults::default();
    let subject = faults.take(People::subject_of(change, naming)?);
    let home = subject
        .as_ref()
        .map_or(TimeZone::UTC, |subject| subject.home.clone());
    let today = home.to_datetime(change.at()).date();
    let felt_on = faults.take(past_date("/date", input.date.as_deref(), today));
    let place = place(input, &mut faults);
    let report = subject
        .zip(felt_on)
        .zip(place)
        .map(|((subject, felt_on), (area, side))| PainReport {
            pain_report_id: change.new_id(),
            athlete_id: subject.athlete_id,
            felt_on,
            area,
            side,
        });
    faults.settle(report)
}

/// Where it hurts, when something does; nowhere when nothing does.
fn place(input: &PainReportInput, faults: &mut Faults) -> Option<(Option<BodyArea>, Option<Side>)> {
    let missing = || FieldProblem::missing("/hurts", "true or false");
    if faults.take(input.hurts.ok_or_else(missing))? {
        let area = faults.take(area(input.area.as_deref()));
        let side = faults.take(fields::optional(
            "/side",
            input.side.as_deref(),
            |_, given| side(given),
        ));
        return Some((Some(area?), side?));
    }
    for (pointer, given) in [("/area", &input.area), ("/side", &input.side)] {
        if let Some(given) = given {
            let fault = FieldProblem::new(pointer, Code::UnknownValue, given.as_str());
            faults.extend([fault.allowed("null where nothing hurts")]);
        }
    }
    Some((None, None))
}

fn area(given: Option<&str>) -> Result<BodyArea, FieldProblem> {
    let codes = || fields::list(BodyArea::ALL.iter().map(|area| area.code()));
    fields::coded("/area", given, BodyArea::parse, codes)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn placed(
        hurts: Option<bool>,
        area: Option<&str>,
        side: Option<&str>,
    ) -> Result<String, Vec<String>> {
        let input = PainReportInput {
            hurts,
            area: area.map(str::to_owned),
            side: side.map(str::to_owned),
            ..PainReportInput::default()
        };
        let mut faults = Faults::default();
        let placed = place(&input, &mut faults);
        let faults = faults.into_vec().into_iter();
        let faults: Vec<String> = faults
            .map(|fault| format!("{} {}", fault.pointer, fault.code.code()))
            .collect();
        match faults.is_empty() {
            true => Ok(format!("{placed:?}")),
            false => Err(faults),
        }
    }

    #[test]
    fn what_hurts_has_a_place_and_what_does_not_has_none() {
        let refused = |fault: &str| Err(vec![fault.to_owned()]);
        assert_eq!(
            placed(Some(true), Some("knee"), Some("left")),
            Ok("Some((Some(Knee), Some(Left)))".to_owned())
        );
        assert_eq!(
            placed(Some(true), Some("belly"), None),
            Ok("Some((Some(Belly), None))".to_owned())
        );
        assert_eq!(
            placed(Some(false), None, None),
            Ok("Some((None, None))".to_owned())
        );
        assert_eq!(
            placed(None, Some("knee"), None),
            refused("/hurts missing_field")
        );
        assert_eq!(
            placed(Some(true), None, None),
            refused("/area missing_field")
        );
        assert_eq!(
            placed(Some(true), Some("torn ligament"), None),
            refused("/area unknown_value")
        );
        assert_eq!(
            placed(Some(true), Some("knee"), Some("inner")),
            refused("/side unknown_value")
        );
        assert_eq!(
            placed(Some(false), Some("knee"), None),
            refused("/area unknown_value")
        );
    }
}
