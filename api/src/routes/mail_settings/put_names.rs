//! `PUT …/mail-names`.

use actix_web::{put, web};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::services::mail_settings::{self, MailNamesAnswer, MailNamesInput};
use crate::services::write;
use crate::store::mail;
use crate::web::params::{MatchHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::NameInMail;

/// Allow or forbid mail that names athletes
///
/// Allowed, mail repeats the sentences of the list with names and figures, to mailboxes that nobody here controls. Each such
/// mail is entered in the audit list for each athlete it names, and so is this change.
#[utoipa::path(
    tag = "Notices",
    operation_id = "put_mail_names",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), WriteParams, MatchHeader),
    request_body = MailNamesInput,
    responses(
        (status = 200, description = "As it now is", body = MailNamesAnswer,
            headers(("ETag", description = "The version"))),
        WriteRefusals,
    )
)]
#[put("/v1/clubs/{club_id}/mail-names")]
pub async fn put(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    request: WriteRequest,
) -> Result<Reply, Problem> {
    let sent = request.clone();
    if !request.dry_run {
        let action = "put_mail_names";
        app.audit.record_change(&app, &scope.caller, action).await?;
    }
    write::run(&app, scope.caller, &request, move |change| {
        let tenant = change.tenant();
        let before = mail::names(change.conn, tenant)?;
        sent.put_precondition(before.version)?;
        let input: MailNamesInput = sent.json()?;
        let answer = mail_settings::set_names(change, before, &input)?;
        sent.after_put(before.version, answer.version)?;
        Reply::ok(answer.version, &answer)
    })
    .await
}
