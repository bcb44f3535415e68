//! `GET …/athletes/{athlete_id}/declared-history`.

use actix_web::{HttpResponse, get, web};
use plimsoll_domain::Load;
use serde::Deserialize;
use utoipa::IntoParams;

use crate::app::App;
use crate::auth::Scope;
use crate::auth::tenant::{Caller, ClubScope, right};
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{AthleteId, ClubId};
use crate::services::audit::Reading;
use crate::services::declared::{Against, DeclaredAnswer};
use crate::services::policy::Policies;
use crate::services::{reach, zones};
use crate::store::declared::{self, DeclaredHistory};
use crate::store::{Conn, Known, Versioned};
use crate::web::query::{Query, bad};
use crate::web::refusals::ReadRefusals;
use crate::web::reply::found;

type Needed = right::ReadDays;

/// What to set the declaration against.
#[derive(Debug, Clone, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct DeclaredQuery {
    /// The load of a week in AU: the ratio it would have after three usual weeks.
    #[param(value_type = Option<f64>, minimum = 0, maximum = 105_000, multiple_of = 0.5, example = 1500)]
    week_load_au: Option<String>,
}

/// Read declared history
///
/// What was declared of a usual week before joining, with the ranges that follow from it alone. They
/// are labelled as declared: nothing of it is logged, and nothing of it enters a figure. The read is
/// entered in the audit list first.
#[utoipa::path(
    tag = "Days",
    operation_id = "read_declared_history",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), DeclaredQuery),
    responses(
        (status = 200, description = "The declaration", body = DeclaredAnswer,
            headers(("ETag", description = "The version"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/athletes/{athlete_id}/declared-history")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId)>,
    query: Query<DeclaredQuery>,
) -> Result<HttpResponse, Problem> {
    let (_, athlete) = path.into_inner();
    let week = week_load(query.0.week_load_au.as_deref())?;
    let (now, caller) = (app.clock.now(), scope.caller.clone());
    let answer = app
        .store
        .read(scope.caller.tenant, move |conn| {
            reach::athlete(conn, &caller, athlete)?;
            let stored = declared::of_athlete(conn, caller.tenant, athlete, Known::Now)?;
            let stored = stored.ok_or_else(Problem::not_found)?;
            answered(conn, &caller, &stored, now, week)
        })
        .await?;
    let reading = Reading {
        athlete,
        action: "read_declared_history",
        purpose: None,
    };
    app.audit.record(&app, &scope.caller, reading).await?;
    Ok(found(answer.version, &answer))
}

/// The answer by the policy in force today, to a caller who may or may not see it.
pub fn answered(
    conn: &mut Conn,
    caller: &Caller,
    stored: &Versioned<DeclaredHistory>,
    now: jiff::Timestamp,
    week: Option<Load>,
) -> Result<DeclaredAnswer, Problem> {
    let policies = Policies::read(conn, caller.tenant, Known::Now)?;
    let today = zones::club_date(conn, caller.tenant, now)?;
    let sees_policy = caller.principal.role.allows(Scope::ReadPolicy);
    let against = Against {
        policy: policies.at(today).filter(|_| sees_policy),
        settings: policies.figures_at(today),
        week,
    };
    DeclaredAnswer::new(stored, against)
}

/// A week's load: a multiple of 0.5 AU that a week can hold.
fn week_load(given: Option<&str>) -> Result<Option<Load>, Problem> {
    let Some(text) = given else { return Ok(None) };
    let half_au = text.parse::<f64>().ok().map(|au| au * 2.0);
    let most = 7.0 * Load::DAY_MAX.to_au() * 2.0;
    let fits = half_au.filter(|half| half.fract() == 0.0 && (0.0..=most).contains(half));
    #[expect(
        clippy::cast_possible_truncation,
        reason = "whole and within a week's load"
    )]
    let load = fits.and_then(|half| Load::from_half_au(half as i64));
    load.map(Some).ok_or_else(|| {
        bad(FieldProblem::new("?week_load_au", Code::OutOfRange, text)
            .allowed("0 to 105000 in steps of 0.5"))
    })
}
