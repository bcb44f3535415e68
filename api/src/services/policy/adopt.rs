//! Adopting a policy: checked, appended as a version, and followed through to what it changes.

use jiff::Timestamp;
use jiff::civil::Date;
use plimsoll_domain as domain;
use serde::Serialize;
use serde_json::Number;
use utoipa::ToSchema;

use super::body::{PolicyBody, RuleBody};
use super::{Policies, parse};
use crate::error::{Code, FieldProblem, Problem};
use crate::services::sessions::recount::recount;
use crate::services::write::Change;
use crate::services::{flags, zones};
use crate::store::policies::{self, NewPolicy, Policy};
use crate::store::{Author, DaySet, Known, sessions};

/// A policy version: the policy as it was sent, and when and by whom. Its fields are those of
/// [`PolicyBody`] once more, since a schema that takes no other fields cannot be part of a larger one.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct PolicyAnswer {
    /// First date it applies to.
    #[schema(format = Date, example = "2026-08-03")]
    pub effective_from: String,
    /// The person who answers for it.
    #[schema(example = "M. Lindholt, head of youth")]
    pub approved_by: String,
    /// Where it comes from as a whole.
    pub source_note: String,
    /// Settings that count as organised.
    pub organised_settings: Vec<String>,
    /// What a day is on which nothing was expected and nothing said.
    #[schema(example = "assumed_rest")]
    pub nothing_said: String,
    /// Where the load of a session over midnight goes.
    #[schema(example = "start_date")]
    pub midnight: String,
    /// Mean week of the three prior weeks below which no ratio is given, in AU.
    #[schema(value_type = f64, example = 250)]
    pub chronic_floor_au: Number,
    /// Whether the next change takes two persons.
    #[schema(example = "not_required")]
    pub second_approver: String,
    /// The rules.
    pub rules: Vec<RuleBody>,
    /// 1, 2, 3, …; also the ETag.
    #[schema(example = 1)]
    pub version: i32,
    /// When it was received.
    #[schema(value_type = String, format = DateTime, example = "2026-08-01T17:04:11Z")]
    pub received_at: Timestamp,
    /// Who sent it, or who changed it last while it was a draft.
    #[schema(example = "vera.holm")]
    pub author: String,
    /// The second person who approved it; null where it was set without one.
    #[schema(example = "ida.lind")]
    pub approver: Option<String>,
}

impl PolicyAnswer {
    /// The answer for a stored version.
    pub fn new(row: Policy) -> Result<Self, Problem> {
        let body: PolicyBody =
            serde_json::from_value(row.body).map_err(|error| Problem::internal(&error))?;
        Ok(Self {
            effective_from: body.effective_from,
            approved_by: body.approved_by,
            source_note: body.source_note,
            organised_settings: body.organised_settings,
            nothing_said: body.nothing_said,
            midnight: body.midnight,
            chronic_floor_au: body.chronic_floor_au,
            second_approver: body.second_approver,
            rules: body.rules,
            version: row.version,
            received_at: row.received_at,
            author: row.author,
            approver: row.approver,
        })
    }
}

/// Who stands behind a version.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Signatures<'a> {
    /// Who sent it, or who changed it last while it was a draft.
    pub author: &'a str,
    /// The second person, where it was approved.
    pub approver: Option<&'a str>,
}

/// Appends a policy as the next version; the content of the latest again changes nothing.
///
/// # Errors
/// 422 with every fault. The first policy may be effective from any date, a later one not from
/// before today in the club's zone. 409 without a second person where the latest asks for one.
pub fn adopt(
    change: &mut Change<'_>,
    body: &PolicyBody,
    latest: Option<Policy>,
    signatures: Signatures<'_>,
) -> Result<PolicyAnswer, Problem> {
    let last = latest.as_ref().map_or(0, |latest| latest.version);
    let version = u32::try_from(last + 1).map_err(|error| Problem::internal(&error))?;
    let checked = body.check(version);
    if let Some(latest) = latest {
        if let Ok(policy) = &checked
            && says_the_same(&latest, policy)?
        {
            return PolicyAnswer::new(latest);
        }
        require_approver(&latest, signatures)?;
        if let Some(early) = in_past(change, body)? {
            let faults = checked.err().into_iter().flatten();
            return Err(Problem::invalid(faults.chain([early]).collect()));
        }
    }
    let policy = checked.map_err(Problem::invalid)?;
    append(change, body, &policy, signatures)
}

/// The latest version decides, whether or not it is in force yet: so nobody gets out of it alone.
fn require_approver(latest: &Policy, signatures: Signatures<'_>) -> Result<(), Problem> {
    let asked = parse(latest)?.second_approver == domain::SecondApprover::Required;
    if asked && signatures.approver.is_none() {
        return Err(Problem::new(
            Code::SecondApproverRequired,
            "The club's policy takes two persons: write a draft, and let another person approve it.",
        ));
    }
    Ok(())
}

/// Whether a policy differs from the latest in nothing but its version. Compared as understood:
/// `1.5` and `1.50` are one limit.
fn says_the_same(latest: &Policy, next: &domain::Policy) -> Result<bool, Problem> {
    let latest = parse(latest)?.into_draft();
    let version = latest.version;
    let next = domain::PolicyDraft {
        version,
        ..next.clone().into_draft()
    };
    Ok(latest == next)
}

fn in_past(change: &mut Change<'_>, body: &PolicyBody) -> Result<Option<FieldProblem>, Problem> {
    let (tenant, at) = (change.tenant(), change.at());
    let today = zones::club_date(change.conn, tenant, at)?;
    let from = &body.effective_from;
    let early = from.parse().is_ok_and(|from: Date| from < today);
    Ok(early.then(|| {
        FieldProblem::new("/effective_from", Code::PolicyInPast, from.as_str())
            .allowed(format!("{today} or later"))
    }))
}

fn append(
    change: &mut Change<'_>,
    body: &PolicyBody,
    policy: &domain::Policy,
    signatures: Signatures<'_>,
) -> Result<PolicyAnswer, Problem> {
    let tenant = change.tenant();
    let before = Policies::read(change.conn, tenant, Known::Now)?;
    let new = NewPolicy {
        effective_from: policy.effective_from,
        approved_by: policy.approved_by.clone(),
        source_note: policy.source_note.clone(),
        body: serde_json::to_value(body).map_err(|error| Problem::internal(&error))?,
        approver: signatures.approver.map(str::to_owned),
    };
    let row = change.store_with(|conn, tenant, moment, sender| {
        let author = Author {
            subject: signatures.author,
            ..sender
        };
        policies::append(conn, tenant, moment, author, &new)
    })?;
    recount_midnights(change, &before, &new)?;
    flags::judge_since(change, new.effective_from)?;
    PolicyAnswer::new(row)
}

/// Counts anew the days of sessions over midnight that go elsewhere now.
fn recount_midnights(
    change: &mut Change<'_>,
    before: &Policies,
    new: &NewPolicy,
) -> Result<(), Problem> {
    let tenant = change.tenant();
    let after = Policies::read(change.conn, tenant, Known::Now)?;
    let mut touched = DaySet::default();
    for (athlete, date) in sessions::crossing_midnight(change.conn, tenant, new.effective_from)? {
        if before.splits_at_midnight(date) != after.splits_at_midnight(date) {
            touched.add(athlete, date);
        }
    }
    recount(change, &touched)?;
    flags::rejudge(change, &touched)
}
