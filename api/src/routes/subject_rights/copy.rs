//! `GET …/athletes/{athlete_id}/copy`: all that the club keeps of an athlete.

use actix_web::{HttpRequest, HttpResponse, get, web};
use serde::Deserialize;
use utoipa::IntoParams;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::{Problem, ProblemBody};
use crate::ids::{AthleteId, ClubId};
use crate::pages::athlete_copy;
use crate::services::audit::Reading;
use crate::services::subject_copy::{self, AthleteCopy};
use crate::web::query::{self, Query};
use crate::web::refusals::ReadRefusals;
use crate::web::{accept, reply};

type Needed = right::ReadCopies;

/// What a copy may be asked for.
const PURPOSES: [&str; 3] = ["asked_by_athlete", "asked_by_guardian", "leaving"];

/// What for.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct CopyQuery {
    /// What for: asked_by_athlete, asked_by_guardian or leaving. It is kept in the audit list.
    #[param(value_type = String, required = true, example = "asked_by_guardian")]
    purpose: Option<String>,
}

/// Athlete's complete copy
///
/// All that the club keeps of the athlete, table by table: each version of each record, findings and what was done about them, consents,
/// and who read what of her and when. Other people are told by their role. What is left out is listed with its reason. It is read in one
/// snapshot, and the read is entered in the audit list with its purpose before it is answered.
///
/// By `Accept` also as CSV: one line a value, with table, number of the record, and column.
#[utoipa::path(
    tag = "People",
    operation_id = "read_athlete_copy",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), CopyQuery),
    responses(
        (status = 200, description = "The copy", content(
            (AthleteCopy = "application/json"),
            (String = "text/csv"),
        )),
        (status = 406, description = "The copy is not to be had as what `Accept` asks for", body = ProblemBody,
            content_type = "application/problem+json"),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/athletes/{athlete_id}/copy")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    request: HttpRequest,
    path: web::Path<(ClubId, AthleteId)>,
    query: Query<CopyQuery>,
) -> Result<HttpResponse, Problem> {
    let (_, athlete) = path.into_inner();
    let purpose = query::one_of("?purpose", query.0.purpose.as_deref(), &PURPOSES)?;
    let sent_as = accept::preferred(&request, &["application/json", "text/csv"])?;
    let (tenant, asked_for) = (scope.caller.tenant, (purpose, app.clock.now()));
    let copy = app
        .store
        .read(tenant, move |conn| {
            subject_copy::read(conn, tenant, athlete, asked_for)
        })
        .await?;
    let reading = Reading {
        athlete,
        action: "read_athlete_copy",
        purpose: Some(purpose),
    };
    app.audit.record(&app, &scope.caller, reading).await?;
    represent(sent_as, &copy)
}

fn represent(sent_as: &str, copy: &AthleteCopy) -> Result<HttpResponse, Problem> {
    let mut head = reply::represented(false);
    Ok(match sent_as {
        "text/csv" => reply::csv(head, "athlete-copy", athlete_copy::write(copy)?),
        _ => head.json(copy),
    })
}
