//! `PUT …/mail-settings`.

use actix_web::{put, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::mail_settings::{self, MailSettingsAnswer, MailSettingsInput};
use crate::services::write;
use crate::store::mail;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::ManageNotices;

/// Set how mail looks and when it goes out
///
/// What is due in quiet hours waits till their end. What is on its way takes the new settings.
#[utoipa::path(
    tag = "Notices",
    operation_id = "put_mail_settings",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), WriteParams, MatchHeader),
    request_body = MailSettingsInput,
    responses(
        (status = 200, description = "As they now are", body = MailSettingsAnswer,
            headers(("ETag", description = "The version"))),
        WriteRefusals,
    )
)]
#[put("/v1/clubs/{club_id}/mail-settings")]
pub async fn put(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let sent = request.clone();
    write::run(&app, scope.caller, &request, move |change| {
        let tenant = change.tenant();
        let before = mail::settings(change.conn, tenant)?;
        let version = before.version;
        sent.put_precondition(version)?;
        let input: MailSettingsInput = sent.json()?;
        let answer = mail_settings::set(change, &before, &input)?;
        sent.after_put(version, answer.version)?;
        Reply::ok(answer.version, &answer)
    })
    .await
}
