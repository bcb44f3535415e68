//! `GET …/athletes/{athlete_id}/availability`.

use actix_web::http::header;
use actix_web::{HttpResponse, get, web};
use jiff::Timestamp;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::app::App;
use crate::auth::Scope;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId};
use crate::routes::squads::today::{NOTE, ReturnLimit};
use crate::services::as_of;
use crate::services::audit::Reading;
use crate::services::availability::Standing;
use crate::services::{reach, today};
use crate::web::figures::CAUTION;
use crate::web::query::Query;
use crate::web::range;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadAvailability;

/// Which date.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct AvailabilityQuery {
    /// The date; today in the club's zone unless given.
    #[param(value_type = Option<String>, format = Date)]
    date: Option<String>,
    /// What had been received by this instant, with the policy of then.
    #[param(value_type = Option<String>, format = DateTime)]
    as_of: Option<String>,
}

/// How far an athlete takes part on a date.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "date": "2026-11-10",
    "as_of": "2026-11-10T15:00:00Z", "availability": "limited", "set_by": "athletic_trainer",
    "until": "2026-11-12", "limit": null,
    "instructions": ["Limited: max 60 min; no jump throws to 2026-11-12."],
    "note": "A ceiling is the club's limit after an absence, not a target and no medical limit.",
    "caution": "These figures describe what was logged."}))]
pub struct AvailabilityAnswer {
    /// Who.
    pub athlete_id: AthleteId,
    /// The date.
    #[schema(value_type = String, format = Date)]
    pub date: Date,
    /// The state of knowledge.
    #[schema(value_type = String, format = DateTime)]
    pub as_of: Timestamp,
    /// nothing_entered, limited, ask or not_available; by what is entered, and no statement about her
    /// health: nobody is cleared by it.
    #[schema(value_type = String)]
    pub availability: &'static str,
    /// The role that entered it, or club_policy for a ceiling after an absence; null where nothing is
    /// entered.
    #[schema(value_type = Option<String>)]
    pub set_by: Option<&'static str>,
    /// The last day of it; null where nothing is entered, or no last day is known.
    #[schema(value_type = Option<String>, format = Date)]
    pub until: Option<Date>,
    /// The ceiling after an absence; null without one, and for callers who may not see the club's limits.
    pub limit: Option<ReturnLimit>,
    /// What to do, a sentence each; never why.
    pub instructions: Vec<String>,
    /// What a ceiling is not.
    pub note: &'static str,
    /// What the figures are, and are not.
    pub caution: &'static str,
}

/// Read how far an athlete takes part
///
/// On one date, as instructions without reasons: absences, restrictions, and for staff the ceiling after an
/// absence. The read is entered in the audit list before it is answered. What is entered needs no arithmetic, and the ceiling's is told
/// by `read_weeks` with `explain`, so there is no `explain` here.
#[utoipa::path(
    tag = "Figures",
    operation_id = "read_availability",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), AvailabilityQuery),
    responses(
        (status = 200, description = "What is entered", body = AvailabilityAnswer),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/athletes/{athlete_id}/availability")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId)>,
    query: Query<AvailabilityQuery>,
) -> Result<HttpResponse, Problem> {
    let (_, athlete_id) = path.into_inner();
    let date = query.0.date.as_deref();
    let date = date.map(|text| range::date("?date", text)).transpose()?;
    let (caller, tenant) = (scope.caller.clone(), scope.caller.tenant);
    let asked = range::as_of(query.0.as_of.as_deref())?;
    let (at, (date, standing)) = as_of::read(&app, tenant, asked, move |conn, as_of| {
        reach::athlete(conn, &caller, athlete_id)?;
        let seen = (as_of, caller.principal.may(Scope::ReadPolicy));
        let standing = today::of_one(conn, tenant, athlete_id, date, seen)?;
        Ok((as_of.at(), standing))
    })
    .await?;
    let reading = Reading {
        athlete: athlete_id,
        action: "read_availability",
        purpose: None,
    };
    app.audit.record(&app, &scope.caller, reading).await?;
    Ok(HttpResponse::Ok()
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .json(AvailabilityAnswer::new(athlete_id, date, at, standing)))
}

impl AvailabilityAnswer {
    fn new(athlete_id: AthleteId, date: Date, as_of: Timestamp, standing: Standing) -> Self {
        let ceiling = standing.ceiling.as_ref();
        let ceiling = ceiling.and_then(|ceiling| ceiling.as_ref().ok());
        Self {
            athlete_id,
            date,
            as_of,
            availability: standing.availability.code(),
            set_by: standing.set_by,
            until: standing.until,
            limit: ceiling.map(ReturnLimit::new),
            instructions: standing.instructions,
            note: NOTE,
            caution: CAUTION,
        }
    }
}
