//! `POST …/revocations`.

use actix_web::{post, web};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::answer::RevocationAnswer;
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{ClubId, RevocationId};
use crate::services::{text, write};
use crate::store::RevocationKind;
use crate::store::revocations::{self, NewRevocation};
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::RevokeTokens;

/// What is no longer accepted, and why.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"subject": "coach-3", "reason": "telephone lost"}))]
pub struct RevocationInput {
    /// One token, by its id (`jti`).
    token_id: Option<String>,
    /// Every token of a subject, until the revocation is lifted.
    subject: Option<String>,
    /// 1 to 280 characters.
    #[schema(value_type = String)]
    reason: Option<String>,
}

/// Revoke a token or a subject
///
/// Refused from now on by this process and within a minute by every other. Exactly one of `token_id`
/// and `subject`.
#[utoipa::path(
    tag = "Clubs",
    operation_id = "revoke",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), WriteParams, KeyHeader),
    request_body = RevocationInput,
    responses((status = 201, description = "Revoked", body = RevocationAnswer), WriteRefusals)
)]
#[post("/v1/clubs/{club_id}/revocations")]
pub async fn revoke(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let input: RevocationInput = request.json()?;
    let (kind, value, reason) = input.check()?;
    let reply = write::run(&app, scope.caller, &request, move |change| {
        let revocation_id: RevocationId = change.new_id();
        let new = NewRevocation {
            revocation_id,
            kind,
            value,
            reason,
        };
        let row = change.store_with(|conn, tenant, moment, author| {
            revocations::insert(conn, tenant, moment, author, new)
        })?;
        Reply::json(201, &RevocationAnswer::from(row))
    })
    .await?;
    app.revocations.refresh(&app.store).await?;
    Ok(reply)
}

impl RevocationInput {
    fn check(self) -> Result<(RevocationKind, String, String), Problem> {
        let mut faults = Vec::new();
        let reason = self.reason.unwrap_or_default();
        faults.extend(text::note("/reason", &reason, 280).err());
        let (pointer, kind, value) = match (self.token_id, self.subject) {
            (Some(token), None) => ("/token_id", RevocationKind::Token, token),
            (None, Some(subject)) => ("/subject", RevocationKind::Subject, subject),
            (None, None) => {
                let missing = FieldProblem::missing("/subject", "one of token_id and subject");
                faults.push(missing);
                return Err(Problem::invalid(faults));
            }
            (Some(_), Some(subject)) => {
                let twice = FieldProblem::new("/subject", Code::AmbiguousPerson, subject);
                faults.push(twice.allowed("one of token_id and subject"));
                return Err(Problem::invalid(faults));
            }
        };
        faults.extend(text::line(pointer, &value, 255).err());
        if faults.is_empty() {
            Ok((kind, value, reason))
        } else {
            Err(Problem::invalid(faults))
        }
    }
}
