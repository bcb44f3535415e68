//! Drafts of the policy: written by one person, approved by another.
//!
//! A draft alerts nobody and no figure looks at it. It can be rehearsed. Its approval makes the next
//! version of the policy, and the draft is gone.

use jiff::Timestamp;
use serde::Serialize;
use utoipa::ToSchema;

use super::adopt::{self, PolicyAnswer, Signatures};
use super::body::PolicyBody;
use crate::error::{Code, Problem};
use crate::ids::PolicyDraftId;
use crate::services::write::Change;
use crate::store::policy_drafts::{self, PolicyDraft};
use crate::store::{Conn, Tenant, policies};

/// A policy that nobody has approved yet.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct PolicyDraftAnswer {
    /// Its id.
    pub draft_id: PolicyDraftId,
    /// What it says.
    pub policy: PolicyBody,
    /// Who wrote it first. Neither this person nor the next may approve it.
    #[schema(example = "vera.holm")]
    pub written_by: String,
    /// When.
    #[schema(value_type = String, format = DateTime, example = "2026-11-09T17:04:11Z")]
    pub written_at: Timestamp,
    /// Who changed it last.
    #[schema(example = "vera.holm")]
    pub changed_by: String,
    /// When.
    #[schema(value_type = String, format = DateTime, example = "2026-11-09T17:04:11Z")]
    pub changed_at: Timestamp,
    /// 1, 2, 3, …; also the ETag.
    #[schema(example = 1)]
    pub version: i32,
}

impl PolicyDraftAnswer {
    /// The answer for a stored draft.
    pub fn new(draft: PolicyDraft) -> Result<Self, Problem> {
        Ok(Self {
            draft_id: draft.draft_id,
            policy: said(&draft)?,
            written_by: draft.written_by,
            written_at: draft.written_at,
            changed_by: draft.changed_by,
            changed_at: draft.changed_at,
            version: draft.version,
        })
    }
}

/// What a stored draft says.
pub fn said(draft: &PolicyDraft) -> Result<PolicyBody, Problem> {
    serde_json::from_value(draft.body.clone()).map_err(|error| Problem::internal(&error))
}

/// A draft of the club, or 404.
pub fn find(conn: &mut Conn, tenant: Tenant, id: PolicyDraftId) -> Result<PolicyDraft, Problem> {
    policy_drafts::find(conn, tenant, id)?.ok_or_else(Problem::not_found)
}

/// Stores a new draft.
///
/// # Errors
/// 422 with every fault that its approval would meet, save a date that has passed by then.
pub fn create(
    change: &mut Change<'_>,
    id: PolicyDraftId,
    policy: &PolicyBody,
) -> Result<PolicyDraftAnswer, Problem> {
    policy.check(1).map_err(Problem::invalid)?;
    let author = change.caller.principal.subject.clone();
    let draft = PolicyDraft {
        draft_id: id,
        body: serde_json::to_value(policy).map_err(|error| Problem::internal(&error))?,
        written_by: author.clone(),
        written_at: change.at(),
        changed_by: author,
        changed_at: change.at(),
        version: 1,
    };
    let tenant = change.tenant();
    policy_drafts::insert(change.conn, tenant, &draft)?;
    PolicyDraftAnswer::new(draft)
}

/// Gives a draft other content; the same content changes nothing, nor who changed it last.
///
/// # Errors
/// As [`create`].
pub fn replace(
    change: &mut Change<'_>,
    mut draft: PolicyDraft,
    policy: &PolicyBody,
) -> Result<PolicyDraftAnswer, Problem> {
    policy.check(1).map_err(Problem::invalid)?;
    if *policy == said(&draft)? {
        return PolicyDraftAnswer::new(draft);
    }
    draft.body = serde_json::to_value(policy).map_err(|error| Problem::internal(&error))?;
    draft
        .changed_by
        .clone_from(&change.caller.principal.subject);
    draft.changed_at = change.at();
    draft.version += 1;
    let tenant = change.tenant();
    policy_drafts::save(change.conn, tenant, &draft)?;
    PolicyDraftAnswer::new(draft)
}

/// Makes a draft the next version of the policy.
///
/// # Errors
/// 403 for whoever wrote it or changed it last; 422 as for a policy that is set, a date before today
/// among the faults once there is a first policy.
pub fn approve(change: &mut Change<'_>, draft: &PolicyDraft) -> Result<PolicyAnswer, Problem> {
    let approver = change.caller.principal.subject.clone();
    if approver == draft.written_by || approver == draft.changed_by {
        return Err(Problem::new(
            Code::OwnDraft,
            "You wrote or last changed this draft: another person approves it.",
        ));
    }
    let tenant = change.tenant();
    let latest = policies::latest(change.conn, tenant)?;
    let signatures = Signatures {
        author: &draft.changed_by,
        approver: Some(&approver),
    };
    let answer = adopt::adopt(change, &said(draft)?, latest, signatures)?;
    policy_drafts::remove(change.conn, tenant, draft.draft_id)?;
    Ok(answer)
}
