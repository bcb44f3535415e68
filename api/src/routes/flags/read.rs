//! `GET …/flags/{flag_id}`.

use actix_web::http::header;
use actix_web::{HttpResponse, get, web};

use super::answer::{FlagAnswer, Judgement};
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, FlagId};
use crate::services::audit::Reading;
use crate::services::reach;
use crate::store::flags;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadFlags;

/// Read a flag
///
/// With every judgement it ever had: raised, withdrawn, raised again. The read is entered in the audit
/// list first.
#[utoipa::path(
    tag = "Figures",
    operation_id = "read_flag",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("flag_id" = FlagId, Path)),
    responses((status = 200, description = "The flag", body = FlagAnswer), ReadRefusals)
)]
#[get("/v1/clubs/{club_id}/flags/{flag_id}")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, FlagId)>,
) -> Result<HttpResponse, Problem> {
    let (_, flag_id) = path.into_inner();
    let caller = scope.caller.clone();
    let (athlete, answer) = app
        .store
        .read(caller.tenant, move |conn| {
            let found = flags::current(conn, caller.tenant, flag_id)?;
            let found = found.ok_or_else(Problem::not_found)?;
            let athlete = found.flag.athlete_id;
            if !reach::of(conn, &caller)?.includes(athlete) {
                return Err(Problem::not_found());
            }
            let versions = flags::history(conn, caller.tenant, flag_id)?;
            let acknowledgements = flags::acknowledgements(conn, caller.tenant, &[flag_id])?;
            let answer = FlagAnswer::new(found, &acknowledgements)?;
            let versions = Some(versions.into_iter().map(Judgement::from).collect());
            Ok((athlete, FlagAnswer { versions, ..answer }))
        })
        .await?;
    let reading = Reading {
        athlete,
        action: "read_flag",
        purpose: None,
    };
    app.audit.record(&app, &scope.caller, reading).await?;
    Ok(HttpResponse::Ok()
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .json(answer))
}
