//! Data that flowed without consent: the list that has to be empty.
//!
//! What flowed is taken from the audit list and from the copies that are there, not from the checks that should have stopped it, so
//! that a check that is missing shows. A history without tests is entered under a name of its own.

use std::collections::BTreeSet;

use jiff::{SignedDuration, Timestamp};
use plimsoll_domain::consent::{DataClass, Standing};
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::gate::{self, Gate, Said};
use super::input::recipient_of;
use crate::auth::Role;
use crate::error::{Code, Problem};
use crate::ids::{AthleteId, AuditId};
use crate::services::sharing;
use crate::store::audit::AuditRead;
use crate::store::{Conn, ConsentRecipient, Tenant, Who, consented_reads};

/// How many days back flows are looked at.
const DAYS: i64 = 31;
/// What was being read when consent ended is no gap: withdrawing works within a minute.
const UNDER_WAY: SignedDuration = SignedDuration::from_secs(60);
/// Reads looked at in one go.
const BATCH: i64 = 2_000;

/// Reads that show data of a class, by the action in the audit list.
const FLOWS: &[(&str, DataClass)] = &[
    ("list_test_results", DataClass::Tests),
    ("read_test_result", DataClass::Tests),
    ("read_history", DataClass::Tests),
    ("read_history_without_pain", DataClass::Tests),
    ("read_history", DataClass::Pain),
    ("read_history_without_tests", DataClass::Pain),
    ("list_pain_reports", DataClass::Pain),
    ("read_pain_report", DataClass::Pain),
    ("list_questions_about_pain", DataClass::Pain),
    ("read_question_about_pain", DataClass::Pain),
    ("read_squad_summary", DataClass::SquadFigures),
];

/// What flowed without consent.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({"as_of": "2026-11-09T07:00:00Z", "days": 31, "flows": 12, "gaps": []}))]
pub struct ConsentGaps {
    /// The state of knowledge.
    #[schema(value_type = String, format = DateTime)]
    pub as_of: Timestamp,
    /// How many days before that were looked at.
    pub days: i64,
    /// How many flows of data that consent may be about there were.
    pub flows: usize,
    /// Those without consent. It has to be empty.
    pub gaps: Vec<ConsentGap>,
}

/// A flow without consent.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "at": "2026-11-08T17:05:00Z", "athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "data_class": "tests",
    "recipient_role": "athletic_trainer", "action": "read_test_result", "code": "consent_withdrawn",
    "request_id": "0199a1b2-9999-7e4f-8a5b-6c7d8e9f0a1b"}))]
pub struct ConsentGap {
    /// When.
    #[schema(value_type = String, format = DateTime)]
    pub at: Timestamp,
    /// Whose data.
    pub athlete_id: AthleteId,
    /// Of which class.
    #[schema(value_type = String)]
    pub data_class: &'static str,
    /// To whom; null for another club.
    #[schema(value_type = Option<String>)]
    pub recipient_role: Option<&'static str>,
    /// By which operation.
    pub action: String,
    /// Why it should not have: consent_missing or consent_withdrawn.
    #[schema(value_type = String)]
    pub code: &'static str,
    /// The request, as in the audit list; null for what goes on by itself.
    pub request_id: Option<String>,
}

/// Looks at every flow of the last 31 days.
pub fn read(conn: &mut Conn, tenant: Tenant, clock: Timestamp) -> Result<ConsentGaps, Problem> {
    let as_of = gate::instant(conn, tenant, clock)?;
    let from = as_of - SignedDuration::from_hours(24 * DAYS);
    let classes: BTreeSet<DataClass> = FLOWS.iter().map(|(_, class)| *class).collect();
    let said = Said::read(conn, tenant, Who::WholeClub)?;
    let gates: Vec<Gate> = classes.into_iter().map(|class| said.of(class)).collect();
    let actions: BTreeSet<&str> = FLOWS.iter().map(|(action, _)| *action).collect();
    let actions: Vec<&str> = actions.into_iter().collect();
    let (mut flows, mut gaps) = (0, Vec::new());
    let mut after = first_id(from)?;
    loop {
        let reads = consented_reads::page(conn, tenant, &actions, (from, after), BATCH)?;
        let Some(last) = reads.last() else { break };
        after = last.audit_id;
        flows += reads.len();
        for read in &reads {
            gaps.extend(gates.iter().filter_map(|gate| gap(gate, read)));
        }
    }
    let shared = sharing::flows(conn, tenant)?;
    flows += shared.len();
    gaps.extend(shared.into_iter().filter_map(|flow| unshared(&flow, as_of)));
    Ok(ConsentGaps {
        as_of,
        days: DAYS,
        flows,
        gaps,
    })
}

/// Totals that go to another club, or lie here as copies, where no consent stands behind them.
fn unshared(flow: &sharing::Flow, at: Timestamp) -> Option<ConsentGap> {
    let code = match flow.standing(at) {
        Standing::InForce => return None,
        Standing::Withdrawn => Code::ConsentWithdrawn,
        Standing::NeverGiven | Standing::ToCome | Standing::Ended => Code::ConsentMissing,
    };
    Some(ConsentGap {
        at,
        athlete_id: flow.athlete_id,
        data_class: DataClass::DayTotals.code(),
        recipient_role: None,
        action: "share_day_totals".to_owned(),
        code: code.code(),
        request_id: None,
    })
}

/// The flow, where no consent stood behind it.
fn gap(gate: &Gate, read: &AuditRead) -> Option<ConsentGap> {
    let athlete_id = read.athlete_id?;
    if Role::parse(&read.acting_role).is_some_and(Role::is_family) {
        return None;
    }
    FLOWS
        .contains(&(read.action.as_str(), gate.class()))
        .then_some(())?;
    let code = gate.refuses(athlete_id, read.at)?;
    gate.refuses(athlete_id, read.at - UNDER_WAY)?;
    Some(ConsentGap {
        at: read.at,
        athlete_id,
        data_class: gate.class().code(),
        recipient_role: recipient_of(gate.class()).map(ConsentRecipient::code),
        action: read.action.clone(),
        code: code.code(),
        request_id: Some(read.request_id.clone()),
    })
}

/// The least id that can have been made then: an id of version 7 begins with its milliseconds.
fn first_id(at: Timestamp) -> Result<AuditId, Problem> {
    let milliseconds = u128::try_from(at.as_millisecond());
    let milliseconds = milliseconds.map_err(|error| Problem::internal(&error))?;
    Ok(Uuid::from_u128(milliseconds << 80).into())
}
