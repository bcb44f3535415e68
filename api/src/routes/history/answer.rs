//! A history as it is answered.

use jiff::Timestamp;
use jiff::civil::Date;
use plimsoll_domain::{BodyArea, IsoWeek, Side};
use serde::Serialize;
use utoipa::ToSchema;

use super::clinical::{CurrentRestriction, RecordedDecision};
use super::not_known::{NotIncluded, NotKnown};
use super::signed_off::SignedOff;
use super::since_return::{BackShare, BeforeAbsence, ReturnStep};
use super::tests_of_sides::{HurtSide, TestedDay};
use super::weeks::WeekOfHistory;
use super::words;
use crate::auth::tenant::Caller;
use crate::error::Problem;
use crate::ids::{AthleteId, FlagId};
use crate::services::explain::Explanation;
use crate::services::history::History;
use crate::services::ratings::age_note;
use crate::store::FlagState;
use crate::store::absences::Absence;
use crate::store::flags::Judged;
use crate::store::pain_reports::PainReport;
use crate::web::figures::CAUTION;
use crate::web::finding::AbsenceSpan;

/// An athlete's history: what was logged, what is not known, what is back since an absence, and tests of both sides. Nothing in it
/// decides anything.
#[derive(Debug, Serialize, ToSchema)]
pub struct HistoryAnswer {
    /// Whose.
    pub athlete_id: AthleteId,
    /// The name shown.
    pub display_name: String,
    /// Who asked.
    pub asked_by: AskedBy,
    /// What for, as the audit list has it.
    #[schema(value_type = String, example = "history_before_clearance")]
    pub purpose: &'static str,
    /// First and last day.
    pub span: Span,
    /// The state of knowledge.
    #[schema(value_type = String, format = DateTime)]
    pub as_of: Timestamp,
    /// The day for which the restrictions are told.
    #[schema(value_type = String, format = Date)]
    pub today: Date,
    /// What clinicians limit on that day; empty where nothing is entered, which is no statement that nothing is the matter.
    pub restrictions: Vec<CurrentRestriction>,
    /// The club's policy on the last day; null where it had none.
    pub policy_version: Option<u32>,
    /// What is not known of the span.
    pub not_known: NotKnown,
    /// The absence the history is about: the newest of seven days or more; null where there is none.
    pub absence: Option<AbsenceSpan>,
    /// Every absence with a day in the span.
    pub absences: Vec<Away>,
    /// The load before the absence; null where the history is about none.
    pub pre_absence: Option<BeforeAbsence>,
    /// How much of it is back on the last day, in all and part by part.
    pub share_of_pre_absence: Vec<BackShare>,
    /// The weeks since the absence that are over, with their ceilings.
    pub since_return: Vec<ReturnStep>,
    /// Loads by ISO week, the first one first.
    pub weeks: Vec<WeekOfHistory>,
    /// Injuries that tests are read against.
    pub injuries: Vec<HurtSide>,
    /// Tests of the span, test by test, the newest day first.
    pub tests: Vec<TestedDay>,
    /// What of its trials a result stands for: mean or best.
    #[schema(value_type = String)]
    pub trials: &'static str,
    /// How many tests reach the usual pass mark, in words; null where no test has a figure.
    pub tests_note: Option<String>,
    /// What she said about pain, by day; empty where she said nothing, which is no statement that nothing hurts.
    pub pain_reports: Vec<SaidOfPain>,
    /// Techniques signed off up to the last day, by day; a sign-off clears nobody.
    pub sign_offs: Vec<SignedOff>,
    /// Flags of the span's weeks.
    pub flags: Vec<FlagOfHistory>,
    /// What clinicians decided, by the day they did; empty until one writes it.
    pub clearance_records: Vec<RecordedDecision>,
    /// The newest of those decisions; null until a clinician writes one.
    #[schema(value_type = Option<String>)]
    pub decision: Option<&'static str>,
    /// What may be looked for here and is not there.
    pub not_included: Vec<NotIncluded>,
    /// What the literature says beside the figures.
    pub evidence: &'static [&'static str],
    /// What the figures are, and are not.
    pub caution: &'static str,
    /// What kind of records the club says these are; local law decides what follows from it.
    pub record_note: &'static str,
    /// Said where she was below about twelve years on the last day.
    #[schema(value_type = Option<String>)]
    pub age_note: Option<&'static str>,
    /// Whose decision it is.
    pub note: &'static str,
    /// The arithmetic of the loads, where it is asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Explanation, required = false)]
    pub explained: Option<Explanation>,
}

/// Who asked.
#[derive(Debug, Serialize, ToSchema)]
pub struct AskedBy {
    /// In which role.
    #[schema(value_type = String, example = "athletic_trainer")]
    pub role: &'static str,
}

/// Some days, both ends included.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"from": "2026-04-06", "to": "2026-11-22"}))]
pub struct Span {
    /// First day.
    #[schema(value_type = String, format = Date)]
    pub from: Date,
    /// Last day.
    #[schema(value_type = String, format = Date)]
    pub to: Date,
}

/// An absence.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"from": "2026-10-05", "to": "2026-11-08", "category": "not_available"}))]
pub struct Away {
    /// First day.
    #[schema(value_type = String, format = Date)]
    pub from: Date,
    /// Last day.
    #[schema(value_type = String, format = Date)]
    pub to: Date,
    /// rest, holiday, exams, away or not_available.
    #[schema(value_type = String)]
    pub category: &'static str,
}

/// What she said about pain on a day.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"date": "2026-11-08", "hurts": true, "area": "knee", "side": "left"}))]
pub struct SaidOfPain {
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
}

/// A flag of a week.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"flag_id": "0199a1b2-8888-7e4f-8a5b-6c7d8e9f0a1b", "week": "2026-W47",
    "rule": "return_ceiling", "state": "acknowledged", "certainty": "certain", "action": "reduced"}))]
pub struct FlagOfHistory {
    /// Its id.
    pub flag_id: FlagId,
    /// The week; null where it cannot be told.
    pub week: Option<String>,
    /// The rule.
    pub rule: String,
    /// open, acknowledged or withdrawn.
    #[schema(value_type = String)]
    pub state: &'static str,
    /// certain, possible or not_computable.
    #[schema(value_type = String)]
    pub certainty: &'static str,
    /// What was done about it last.
    pub action: Option<String>,
}

impl HistoryAnswer {
    /// The answer of a history that was read for a purpose.
    pub fn new(
        history: &History,
        explained: Option<Explanation>,
        caller: &Caller,
        purpose: &'static str,
    ) -> Result<Self, Problem> {
        let span = history.span;
        let weeks = history.weeks.iter();
        let flags = history.flags.iter();
        let decided = history.clearances.iter();
        Ok(Self {
            athlete_id: history.athlete.athlete_id,
            display_name: history.athlete.display_name.clone(),
            asked_by: AskedBy {
                role: caller.principal.role.code(),
            },
            purpose,
            span: Span {
                from: span.from,
                to: span.to,
            },
            as_of: history.as_of,
            today: history.today,
            restrictions: CurrentRestriction::all(history),
            policy_version: history.policy_version,
            not_known: NotKnown::new(
                &history.total,
                history.athlete.joined_on,
                &history.not_shared,
            ),
            absence: span.absence.map(|(from, to)| AbsenceSpan {
                from,
                to,
                days: to.duration_since(from).as_hours() / 24 + 1,
            }),
            absences: history.absences.iter().map(Away::from).collect(),
            pre_absence: BeforeAbsence::of(&history.back),
            share_of_pre_absence: BackShare::all(&history.back),
            since_return: ReturnStep::all(history),
            weeks: weeks
                .map(|(week, sum)| WeekOfHistory::new(*week, sum))
                .collect(),
            injuries: history.tests.injuries.iter().map(HurtSide::from).collect(),
            tests: TestedDay::all(&history.tests),
            trials: history.tests.trials_by.code(),
            tests_note: words::at_pass_mark(history.tests.at_pass_mark),
            pain_reports: history.pain.iter().map(SaidOfPain::from).collect(),
            sign_offs: SignedOff::all(history)?,
            flags: flags
                .map(|flag| FlagOfHistory::new(flag, history))
                .collect(),
            clearance_records: decided.clone().map(RecordedDecision::from).collect(),
            decision: decided.last().map(|record| record.content.decision.code()),
            not_included: NotIncluded::all(history),
            evidence: words::EVIDENCE,
            caution: CAUTION,
            record_note: history.record_note,
            age_note: age_note(history.athlete.birth_date, span.to),
            note: words::NOTE,
            explained,
        })
    }
}

impl From<&Absence> for Away {
    fn from(absence: &Absence) -> Self {
        Self {
            from: absence.from_date,
            to: absence.to_date,
            category: absence.category.code(),
        }
    }
}

impl From<&PainReport> for SaidOfPain {
    fn from(report: &PainReport) -> Self {
        Self {
            date: report.felt_on,
            hurts: report.area.is_some(),
            area: report.area.map(BodyArea::code),
            side: report.side.map(Side::code),
        }
    }
}

impl FlagOfHistory {
    fn new(judged: &Judged, history: &History) -> Self {
        let (flag, version) = (&judged.flag, &judged.version);
        let done = history.acknowledgements.iter();
        let mut done = done.filter(|one| one.flag_id == flag.flag_id);
        let acknowledged = done.clone().any(|one| one.flag_version == version.version);
        Self {
            flag_id: flag.flag_id,
            week: IsoWeek::of(flag.monday).ok().map(|week| week.to_string()),
            rule: flag.rule.clone(),
            state: match (version.state, acknowledged) {
                (FlagState::Withdrawn, _) => "withdrawn",
                (FlagState::Raised, true) => "acknowledged",
                (FlagState::Raised, false) => "open",
            },
            certainty: version.certainty.code(),
            action: done.next_back().map(|one| one.action.clone()),
        }
    }
}
