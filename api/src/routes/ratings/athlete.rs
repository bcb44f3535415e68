//! `GET …/athletes/{athlete_id}/ratings`.

use actix_web::http::header;
use actix_web::{HttpResponse, get, web};
use plimsoll_domain::{Habit, Places, Rated, Rpe, habits, rating};
use serde::Deserialize;
use utoipa::IntoParams;

use super::answer::{RatingGap, RatingsAnswer, SessionRating, four};
use crate::app::App;
use crate::auth::Role;
use crate::auth::tenant::{Caller, ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId};
use crate::services::as_of::{self, AsOf};
use crate::services::audit::Reading;
use crate::services::rated_sessions;
use crate::services::ratings::{age_note, habit_note};
use crate::services::{figures, reach, zones};
use crate::store::Conn;
use crate::web::figures::CAUTION;
use crate::web::query::Query;
use crate::web::range;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadLoad;

/// Weeks shown unless said otherwise.
const WEEKS: i64 = 8;

/// Which days are asked for.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct RatingsQuery {
    /// First date; 55 days before `to` unless given.
    #[param(value_type = Option<String>, format = Date, example = "2026-09-14")]
    from: Option<String>,
    /// Last date; today at home unless given.
    #[param(value_type = Option<String>, format = Date, example = "2026-11-08")]
    to: Option<String>,
    /// What had been received by this instant.
    #[param(value_type = Option<String>, format = DateTime)]
    as_of: Option<String>,
}

/// How hard sessions felt
///
/// The athlete's own ratings of some dates beside what the sessions were meant to be: how the ratings spread, the mean gap of five
/// sessions or more, and habits that leave little information in them. The list of sessions is the arithmetic, so there is no
/// `explain` here. What a guardian or a coach rated is left out. The read is entered in the audit list first.
#[utoipa::path(
    tag = "Figures",
    operation_id = "read_ratings",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), RatingsQuery),
    responses((status = 200, description = "The ratings", body = RatingsAnswer), ReadRefusals)
)]
#[get("/v1/clubs/{club_id}/athletes/{athlete_id}/ratings")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId)>,
    query: Query<RatingsQuery>,
) -> Result<HttpResponse, Problem> {
    let (_, athlete_id) = path.into_inner();
    let asked = range::as_of(query.0.as_of.as_deref())?;
    let (caller, tenant) = (scope.caller.clone(), scope.caller.tenant);
    let answer = as_of::read(&app, tenant, asked, move |conn, as_of| {
        answer(conn, &caller, athlete_id, &query.0, as_of)
    })
    .await?;
    let reading = Reading {
        athlete: athlete_id,
        action: "read_ratings",
        purpose: None,
    };
    app.audit.record(&app, &scope.caller, reading).await?;
    Ok(HttpResponse::Ok()
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .json(answer))
}

fn answer(
    conn: &mut Conn,
    caller: &Caller,
    athlete_id: AthleteId,
    query: &RatingsQuery,
    as_of: AsOf,
) -> Result<RatingsAnswer, Problem> {
    let (tenant, known) = (caller.tenant, as_of.known);
    let athlete = reach::athlete(conn, caller, athlete_id)?;
    let athlete = figures::as_known(conn, tenant, athlete, known)?.content;
    let today = as_of.today(&zones::home(conn, tenant, &athlete)?);
    let asked = (query.from.as_deref(), query.to.as_deref());
    let (from, to) = range::past_dates(asked, today, WEEKS)?;
    let sessions = rated_sessions::of_athlete(conn, tenant, athlete_id, (from, to), known)?;
    let rated: Vec<Rated> = sessions.iter().map(|one| one.rated).collect();
    let ratings: Vec<Rpe> = rated.iter().map(|one| one.rpe).collect();
    let spread = rating::spread(&ratings);
    let habits = match caller.principal.role {
        Role::Athlete | Role::Guardian => Vec::new(),
        _ => habits(&rated),
    };
    Ok(RatingsAnswer {
        athlete_id,
        from,
        to,
        as_of: as_of.at(),
        ratings: ratings.len(),
        distinct_ratings: rating::distinct(&ratings),
        mean_rpe: spread.map(|spread| spread.mean.round(Places::Four).to_f64()),
        standard_deviation_rpe: spread
            .and_then(|spread| spread.standard_deviation)
            .map(four),
        gap: RatingGap::of(&sessions),
        given_early: rated.iter().filter(|one| one.is_early()).count(),
        habits: habits.iter().map(|habit: &Habit| habit.code()).collect(),
        rating_note: habit_note(&habits),
        age_note: age_note(athlete.birth_date, to),
        sessions: sessions
            .iter()
            .map(SessionRating::new)
            .collect::<Result<_, _>>()?,
        caution: CAUTION,
    })
}
