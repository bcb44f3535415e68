//! Naming the organisations that an athlete trains with elsewhere, and the codes by which they share.

use jiff::{SignedDuration, Timestamp};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::SharingCode;
use crate::error::{Code, Problem};
use crate::ids::{AthleteId, LinkId};
use crate::services::consents::speaker;
use crate::services::fields;
use crate::services::write::Change;
use crate::store::sharing_links::{self, SharingLink};
use crate::store::{Conn, Tenant};

/// How long a code is good.
const GOOD: SignedDuration = SignedDuration::from_hours(7 * 24);

/// An organisation that an athlete trains with elsewhere.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"organisation": "Fjordby Gymnastics"}))]
pub struct SharingCodeInput {
    /// What her family calls it, 1 to 200 characters. This club knows it by that alone.
    #[schema(value_type = String, min_length = 1, max_length = 200)]
    pub organisation: Option<String>,
}

/// A code, told once.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "link": {
        "link_id": "0199a1b2-9292-7e4f-8a5b-6c7d8e9f0a1b", "athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b",
        "organisation": "Fjordby Gymnastics", "state": "not_shared", "made_at": "2026-11-09T07:00:00Z",
        "linked_at": null, "ended_at": null, "version": 1},
    "sharing_code": "AZmhsnw9fk…", "code_until": "2026-11-16T07:00:00Z"}))]
pub struct SharingCodeAnswer {
    /// The link that it is for.
    pub link: SharingLinkAnswer,
    /// The code, for the consent in the club that is to share. It is good once.
    pub sharing_code: String,
    /// From when on it is good for nothing.
    #[schema(value_type = String, format = DateTime)]
    pub code_until: Timestamp,
}

/// What ties an athlete to an organisation that she trains with elsewhere.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
#[schema(example = json!({
    "link_id": "0199a1b2-9292-7e4f-8a5b-6c7d8e9f0a1b", "athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b",
    "organisation": "Fjordby Gymnastics", "state": "shared", "made_at": "2026-11-09T07:00:00Z",
    "linked_at": "2026-11-09T18:30:00Z", "ended_at": null, "version": 2}))]
pub struct SharingLinkAnswer {
    /// Its id.
    pub link_id: LinkId,
    /// Whose it is.
    pub athlete_id: AthleteId,
    /// The organisation, as her family calls it.
    pub organisation: String,
    /// not_shared, shared, ended or left.
    #[schema(value_type = String)]
    pub state: &'static str,
    /// When it was named.
    #[schema(value_type = String, format = DateTime)]
    pub made_at: Timestamp,
    /// When it began to share.
    #[schema(value_type = Option<String>, format = DateTime)]
    pub linked_at: Option<Timestamp>,
    /// When it ceased to.
    #[schema(value_type = Option<String>, format = DateTime)]
    pub ended_at: Option<Timestamp>,
    /// 1, 2, 3, …; also the ETag.
    pub version: i32,
}

impl From<SharingLink> for SharingLinkAnswer {
    fn from(link: SharingLink) -> Self {
        Self {
            state: state(&link),
            link_id: link.link_id,
            athlete_id: link.athlete_id,
            organisation: link.organisation.into_inner(),
            made_at: link.made_at,
            linked_at: link.linked_at,
            ended_at: link.ended_at,
            version: link.version,
        }
    }
}

fn state(link: &SharingLink) -> &'static str {
    match link {
        SharingLink {
            left_at: Some(_), ..
        } => "left",
        SharingLink {
            ended_at: Some(_), ..
        } => "ended",
        SharingLink {
            linked_at: Some(_), ..
        } => "shared",
        _ => "not_shared",
    }
}

/// Names an organisation, and makes the code by which it may share.
///
/// # Errors
/// 403 for whoever does not decide; 404; 422.
pub fn name(
    change: &mut Change<'_>,
    athlete_id: AthleteId,
    input: impl FnOnce() -> Result<SharingCodeInput, Problem>,
) -> Result<SharingCodeAnswer, Problem> {
    speaker(change, athlete_id)?;
    let organisation = fields::line("/organisation", input()?.organisation.as_deref());
    let organisation = organisation.map_err(Problem::field)?;
    let (tenant, at) = (change.tenant(), change.at());
    let code = SharingCode::new(tenant.club_id(), change.new_id(), change.ids.bytes());
    let link = SharingLink {
        link_id: code.link,
        athlete_id,
        organisation: organisation.into(),
        code_hash: code.hash(),
        code_until: at + GOOD,
        made_at: at,
        linked_at: None,
        linked_seq: None,
        ended_at: None,
        left_at: None,
        version: 1,
    };
    sharing_links::insert(change.conn, tenant, &link)?;
    Ok(SharingCodeAnswer {
        sharing_code: code.text(),
        code_until: link.code_until,
        link: link.into(),
    })
}

/// Takes an organisation off the list: she no longer trains there.
///
/// # Errors
/// 403 for whoever does not decide; 409 while it shares.
pub fn leave(change: &mut Change<'_>, link: SharingLink) -> Result<(), Problem> {
    speaker(change, link.athlete_id)?;
    if state(&link) == "shared" {
        let detail = "Withdraw the consent in the club that shares first.";
        return Err(Problem::new(Code::StillShared, detail));
    }
    let left = SharingLink {
        left_at: Some(change.at()),
        ..link
    };
    let tenant = change.tenant();
    Ok(sharing_links::update(change.conn, tenant, left)?)
}

/// The link of an id, of this athlete, that she has not left.
///
/// # Errors
/// 404.
pub fn find(
    conn: &mut Conn,
    tenant: Tenant,
    (athlete_id, link_id): (AthleteId, LinkId),
) -> Result<SharingLink, Problem> {
    let found = sharing_links::find(conn, tenant, link_id)?;
    let found = found.filter(|link| link.athlete_id == athlete_id && link.left_at.is_none());
    found.ok_or_else(Problem::not_found)
}
