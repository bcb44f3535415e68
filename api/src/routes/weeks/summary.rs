//! `GET …/squads/{squad_id}/weeks/{week}/summary`: a squad's closed week as one.

use actix_web::http::header;
use actix_web::{HttpResponse, get, web};
use jiff::Timestamp;
use jiff::civil::Date;
use plimsoll_domain::squad_figures::SquadFigures;
use plimsoll_domain::{Fraction, IsoWeek, Places};
use serde::Serialize;
use utoipa::ToSchema;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, SquadId};
use crate::services::reach;
use crate::services::squad_summary::{self, NoFigures, SquadSummary};
use crate::web::figures::CAUTION;
use crate::web::range;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadWeeklyList;

/// A squad's closed week as one: loads of its members' weeks, in AU. Frozen at the close.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({
    "squad_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "week": "2026-W45", "date": "2026-11-08",
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
    /// When the week was closed; null while it is not.
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
    /// Why there are no figures: week_not_closed, fewer_than_5_contributors or consent_changed.
    #[schema(value_type = Option<String>)]
    pub reason: Option<&'static str>,
    /// What the figures are, and are not.
    pub caution: &'static str,
}

/// Squad's closed week as one
///
/// Mean, median and quartiles of the members' week loads, as far as every day of their week was known at the close. They are told for
/// at least five contributors, stay as they were at the close whatever is corrected later, and are withheld, never computed anew, once
/// somebody who contributed no longer consents: two figures of nearly the same group would tell one child's load. So there is no
/// `as_of` here.
#[utoipa::path(
    tag = "Figures",
    operation_id = "read_squad_summary",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(
        ("club_id" = ClubId, Path), ("squad_id" = SquadId, Path),
        ("week" = String, Path, description = "ISO week", example = "2026-W45"),
    ),
    responses((status = 200, description = "The week", body = SquadSummaryAnswer), ReadRefusals)
)]
#[get("/v1/clubs/{club_id}/squads/{squad_id}/weeks/{week}/summary")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, SquadId, String)>,
) -> Result<HttpResponse, Problem> {
    let (_, squad_id, week) = path.into_inner();
    let week = range::week("?week", &week)?;
    let (caller, clock) = (scope.caller, app.clock.now());
    let summary = app
        .store
        .snapshot(move |conn| {
            reach::squad(conn, &caller, squad_id)?;
            squad_summary::read(conn, caller.tenant, (squad_id, week), clock)
        })
        .await?;
    Ok(HttpResponse::Ok()
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .json(answer(squad_id, week, &summary)))
}

fn answer(squad_id: SquadId, week: IsoWeek, summary: &SquadSummary) -> SquadSummaryAnswer {
    let figures = summary.figures.ok();
    let rounded = |figure: fn(&SquadFigures) -> Fraction| {
        let figure = figures.as_ref().map(figure);
        figure.map(|figure| figure.round(Places::Two).to_f64())
    };
    SquadSummaryAnswer {
        squad_id,
        week: week.to_string(),
        date: week.sunday(),
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
