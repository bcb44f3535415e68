//! `GET …/squads/{squad_id}/ratings`: do sessions feel as meant?

use actix_web::http::header;
use actix_web::{HttpResponse, get, web};
use jiff::Timestamp;
use jiff::civil::Date;
use plimsoll_domain::rating::Compared;
use plimsoll_domain::{Fraction, Places, Reason, Rpe, rating};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::app::App;
use crate::auth::tenant::{Caller, ClubScope, right};
use crate::error::Problem;
use crate::ids::{ClubId, EventId, SquadId};
use crate::services::as_of::{self, AsOf};
use crate::services::events::answer::starts_at;
use crate::services::rated_sessions::{self, RatedEvent};
use crate::services::{reach, zones};
use crate::store::Conn;
use crate::web::figures::CAUTION;
use crate::web::query::Query;
use crate::web::range;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadWeeklyList;

/// Weeks shown unless said otherwise.
const WEEKS: i64 = 2;

/// Which days are asked for.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct SquadRatingsQuery {
    /// First date; 13 days before `to` unless given.
    #[param(value_type = Option<String>, format = Date, example = "2026-10-26")]
    from: Option<String>,
    /// Last date; today in the club's zone unless given.
    #[param(value_type = Option<String>, format = Date, example = "2026-11-08")]
    to: Option<String>,
    /// What had been received by this instant, with the roster of then.
    #[param(value_type = Option<String>, format = DateTime)]
    as_of: Option<String>,
}

/// How hard a squad's sessions felt, session by session.
#[derive(Debug, Serialize, ToSchema)]
pub struct SquadRatingsAnswer {
    /// The squad.
    pub squad_id: SquadId,
    /// First date asked for.
    #[schema(value_type = String, format = Date)]
    pub from: Date,
    /// Last date asked for.
    #[schema(value_type = String, format = Date)]
    pub to: Date,
    /// The state of knowledge.
    #[schema(value_type = String, format = DateTime)]
    pub as_of: Timestamp,
    /// The planned sessions that a member rated, by start.
    pub sessions: Vec<RatedSquadSession>,
    /// Said where somebody who rated is below about twelve years.
    #[schema(value_type = Option<String>)]
    pub age_note: Option<&'static str>,
    /// What the figures are, and are not.
    pub caution: &'static str,
}

/// A planned session, and how hard it felt.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"event_id": "0199a1b2-4444-7e4f-8a5b-6c7d8e9f0a1b",
    "starts_at": "2026-11-03T17:30:00+01:00", "date": "2026-11-03", "setting": "club", "kind": "practice", "minutes": 90,
    "ratings": 6, "intended_rpe": 6.0, "mean_rpe": 7.5, "gap_rpe": 1.5, "standard_deviation_rpe": 0.8367, "reason": null}))]
pub struct RatedSquadSession {
    /// The event.
    pub event_id: EventId,
    /// Start, with the offset of the place.
    #[schema(format = DateTime)]
    pub starts_at: String,
    /// The date it belongs to.
    #[schema(value_type = String, format = Date)]
    pub date: Date,
    /// Who runs it.
    #[schema(value_type = String)]
    pub setting: &'static str,
    /// What is done.
    #[schema(value_type = String)]
    pub kind: &'static str,
    /// Planned minutes.
    pub minutes: i32,
    /// How many members rated it themselves.
    pub ratings: usize,
    /// How hard it was meant to be.
    pub intended_rpe: Option<f64>,
    /// How hard it felt, on the mean.
    pub mean_rpe: Option<f64>,
    /// Reported minus intended, on the mean.
    pub gap_rpe: Option<f64>,
    /// How far the ratings spread, divisor n-1; the gaps spread as they do.
    pub standard_deviation_rpe: Option<f64>,
    /// Why something is null: fewer_than_5_ratings or nothing_intended.
    #[schema(value_type = Option<String>)]
    pub reason: Option<&'static str>,
}

/// Whether a squad's sessions feel as meant
///
/// Each planned session that members of the squad rated, with the mean and the spread of five ratings or more and how far they lie
/// from what was intended. Only ratings that athletes gave themselves; one by one they stand in `read_ratings`, so there is no `explain`
/// here. Whoever may read it may read each rating by itself too, so it
/// tells no more of one athlete than those do; it is no figure of the squad that a consent is asked for.
#[utoipa::path(
    tag = "Figures",
    operation_id = "read_squad_ratings",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("squad_id" = SquadId, Path), SquadRatingsQuery),
    responses((status = 200, description = "The sessions", body = SquadRatingsAnswer), ReadRefusals)
)]
#[get("/v1/clubs/{club_id}/squads/{squad_id}/ratings")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, SquadId)>,
    query: Query<SquadRatingsQuery>,
) -> Result<HttpResponse, Problem> {
    let (_, squad_id) = path.into_inner();
    let asked = range::as_of(query.0.as_of.as_deref())?;
    let caller = scope.caller;
    let answer = as_of::read(&app, caller.tenant, asked, move |conn, as_of| {
        answer(conn, &caller, squad_id, &query.0, as_of)
    })
    .await?;
    Ok(HttpResponse::Ok()
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .json(answer))
}

fn answer(
    conn: &mut Conn,
    caller: &Caller,
    squad_id: SquadId,
    query: &SquadRatingsQuery,
    as_of: AsOf,
) -> Result<SquadRatingsAnswer, Problem> {
    let tenant = caller.tenant;
    reach::squad(conn, caller, squad_id)?;
    let today = as_of.today(&zones::of_club(conn, tenant)?);
    let asked = (query.from.as_deref(), query.to.as_deref());
    let (from, to) = range::past_dates(asked, today, WEEKS)?;
    let rated = rated_sessions::of_squad(conn, tenant, squad_id, (from, to), as_of.known)?;
    let sessions = rated.events.iter().map(RatedSquadSession::new);
    Ok(SquadRatingsAnswer {
        squad_id,
        from,
        to,
        as_of: as_of.at(),
        sessions: sessions.collect::<Result<_, _>>()?,
        age_note: rated.age_note,
        caution: CAUTION,
    })
}

/// Where nobody said how hard a session was to be.
const NOTHING_INTENDED: &str = "nothing_intended";

impl RatedSquadSession {
    fn new(rated: &RatedEvent) -> Result<Self, Problem> {
        let event = &rated.event;
        let ratings = &rated.ratings;
        let enough = ratings.len() >= rating::LEAST_PAIRS;
        let felt = enough.then(|| rating::spread(ratings)).flatten();
        let gap = rated.intended.and_then(|intended| {
            let compared = ratings.iter().map(|reported| Compared {
                intended,
                reported: *reported,
            });
            rating::gap(&compared.collect::<Vec<_>>()).ok()
        });
        let four = |value: Fraction| value.round(Places::Four).to_f64();
        let deviation = felt.and_then(|felt| felt.standard_deviation);
        Ok(Self {
            event_id: event.event_id,
            starts_at: starts_at(event)?,
            date: event.load_date,
            setting: event.setting.code(),
            kind: event.kind.code(),
            minutes: event.minutes,
            ratings: ratings.len(),
            intended_rpe: rated.intended.map(Rpe::to_f64),
            mean_rpe: felt.map(|felt| four(felt.mean)),
            gap_rpe: gap.map(|gap| four(gap.mean)),
            standard_deviation_rpe: deviation.map(|root| root.round(Places::Four).to_f64()),
            reason: match felt {
                None => Some(Reason::FewerThan5Ratings.code()),
                Some(_) => rated.intended.is_none().then_some(NOTHING_INTENDED),
            },
        })
    }
}
