//! `GET …/squads/{squad_id}/weeks/{week}/summary`: a squad's closed week as one.

use actix_web::http::header;
use actix_web::{HttpResponse, get, web};
use jiff::Timestamp;
use jiff::civil::Date;
use plimsoll_domain::squad_figures::SquadFigures;
use plimsoll_domain::{Fraction, IsoWeek, Places};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, SquadId};
use crate::services::as_of;
use crate::services::reach;
use crate::services::squad_summary::{self, NoFigures, SquadSummary};
use crate::web::figures::CAUTION;
use crate::web::query::Query;
use crate::web::range;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadWeeklyList;

/// Which state of knowledge.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct SummaryQuery {
    /// Whether the week was closed by this instant. Consent counts as it stands now.
    #[param(value_type = Option<String>, format = DateTime)]
    as_of: Option<String>,
}

/// A squad's closed week as one: loads of its members' weeks, in AU. Frozen at the close.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({
    "squad_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "week": "2026-W45", "date": "2026-11-08",
    "as_of": "2026-11-09T08:00:00Z",
    "closed_at": "2026-11-09T06:00:00Z", "contributors": 6, "mean_au": 1541.67, "lower_quartile_au": 1485.0,
    "median_au": 1525.0, "upper_quartile_au": 1602.5, "reason": null, "caution": "…"}))]
pub struct SquadSummaryAnswer {
    /// The squad.
    pub squad_id: SquadId,
    /// The week.
    pub week: String,
    /// Its Sunday.
    #[schema(value_type = String, format = Date)]
    pub date: Date,
    /// The state of knowledge.
    #[schema(value_type = String, format = DateTime)]
    pub as_of: Timestamp,
    /// When the week was closed; null where it was not by then.
    #[schema(value_type = Option<String>, format = DateTime)]
    pub closed_at: Option<Timestamp>,
    /// How many members contribute; null where there are no figures.
    pub contributors: Option<usize>,
    /// The mean of their week loads.
    pub mean_au: Option<f64>,
    /// A quarter of the way from the least to the greatest.
    pub lower_quartile_au: Option<f64>,
    /// The middle.
    pub median_au: Option<f64>,
    /// Three quarters of the way.
    pub upper_quartile_au: Option<f64>,
    /// Why there are no figures: week_not_closed, fewer_than_5_contributors, consent_changed or records_erased.
    #[schema(value_type = Option<String>)]
    pub reason: Option<&'static str>,
    /// What the figures are, and are not.
    pub caution: &'static str,
}

/// Squad's closed week as one
///
/// Mean, median and quartiles of the members' week loads, as far as every day of their week was known at the close. They are told for
/// at least five contributors, stay as they were at the close whatever is corrected later, and are withheld, never computed anew, once
/// somebody who contributed no longer consents or records of the squad were erased: two figures of nearly the same group would tell one child's load. So `as_of` says
/// whether the week was closed by then, and the figures are those of the close or none: what was withdrawn since is withheld from
/// a past instant too. They are no one athlete's, and their arithmetic would tell each member's load: there is no `explain` here.
#[utoipa::path(
    tag = "Figures",
    operation_id = "read_squad_summary",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(
        ("club_id" = ClubId, Path), ("squad_id" = SquadId, Path),
        ("week" = String, Path, description = "ISO week", example = "2026-W45"), SummaryQuery,
    ),
    responses((status = 200, description = "The week", body = SquadSummaryAnswer), ReadRefusals)
)]
#[get("/v1/clubs/{club_id}/squads/{squad_id}/weeks/{week}/summary")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, SquadId, String)>,
    query: Query<SummaryQuery>,
) -> Result<HttpResponse, Problem> {
    let (_, squad_id, week) = path.into_inner();
    let week = range::week("?week", &week)?;
    let asked = range::as_of(query.0.as_of.as_deref())?;
    let caller = scope.caller.clone();
    let (as_of, summary) = as_of::read(&app, caller.tenant, asked, move |conn, as_of| {
        reach::squad(conn, &caller, squad_id)?;
        let summary = squad_summary::read(conn, caller.tenant, (squad_id, week), as_of)?;
        Ok((as_of.at(), summary))
    })
    .await?;
    let shown = summary.contributors.iter().copied();
    app.audit
        .record_shown(&app, &scope.caller, "read_squad_summary", shown)
        .await?;
    Ok(HttpResponse::Ok()
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .json(answer((squad_id, week), as_of, &summary)))
}

fn answer(
    (squad_id, week): (SquadId, IsoWeek),
    as_of: Timestamp,
    summary: &SquadSummary,
) -> SquadSummaryAnswer {
    let figures = summary.figures.ok();
    let rounded = |figure: fn(&SquadFigures) -> Fraction| {
        let figure = figures.as_ref().map(figure);
        figure.map(|figure| figure.round(Places::Two).to_f64())
    };
    SquadSummaryAnswer {
        squad_id,
        week: week.to_string(),
        date: week.sunday(),
        as_of,
        closed_at: summary.closed_at,
        contributors: figures.map(|figures| figures.contributors),
        mean_au: rounded(|figures| figures.mean),
        lower_quartile_au: rounded(|figures| figures.lower_quartile),
        median_au: rounded(|figures| figures.median),
        upper_quartile_au: rounded(|figures| figures.upper_quartile),
        reason: summary.figures.err().map(NoFigures::code),
        caution: CAUTION,
    }
}
