//! `GET …/athletes/{athlete_id}/weeks`: one entry a week.

use actix_web::http::header;
use actix_web::{HttpResponse, get, web};
use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use super::week::{Week, entry};
use crate::app::App;
use crate::auth::Role;
use crate::auth::tenant::{Caller, ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId};
use crate::services::as_of::{self, AsOf};
use crate::services::audit::Reading;
use crate::services::explain::{Explanation, explain};
use crate::services::figures::{self, Asked};
use crate::services::flags::looks_back_to;
use crate::services::policy::Policies;
use crate::services::ratings::{self, OwnRatings};
use crate::services::{reach, returns, zones};
use crate::store::{Conn, Who, flags};
use crate::web::figures::{CAUTION, RATIO_NOTE};
use crate::web::query::Query;
use crate::web::range;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadLoad;

/// Which weeks are asked for.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct WeeksQuery {
    /// First ISO week; 7 weeks before `to` unless given.
    #[param(example = "2026-W30")]
    from: Option<String>,
    /// Last ISO week; the last that is over unless given.
    #[param(example = "2026-W45")]
    to: Option<String>,
    /// What had been received by this instant, with the policy of then.
    #[param(value_type = Option<String>, format = DateTime)]
    as_of: Option<String>,
    /// true: with the arithmetic, which is the days the weeks look back to with the sessions and sources
    /// they are made of, and the policy.
    #[param(value_type = Option<bool>)]
    explain: Option<String>,
}

/// An athlete's figures week by week.
#[derive(Debug, Serialize, ToSchema)]
pub struct WeeksAnswer {
    /// Whose.
    pub athlete_id: AthleteId,
    /// First week asked for.
    #[schema(example = "2026-W30")]
    pub from: String,
    /// Last week asked for.
    #[schema(example = "2026-W45")]
    pub to: String,
    /// The state of knowledge.
    #[schema(value_type = String, format = DateTime)]
    pub as_of: Timestamp,
    /// What a ratio is, and is not.
    pub ratio_note: &'static str,
    /// What the figures are, and are not.
    pub caution: &'static str,
    /// Said where the ratings up to the last week may carry little information; to staff only.
    pub rating_note: Option<String>,
    /// Said where she was below about twelve years in the last week.
    #[schema(value_type = Option<String>)]
    pub age_note: Option<&'static str>,
    /// One entry a week that is over; weeks before the first membership date are left out.
    pub weeks: Vec<Week>,
    /// The arithmetic, where it is asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Explanation, required = false)]
    pub explained: Option<Explanation>,
}

/// Load by week
///
/// Load, ratio at the end of the week, monotony, training strain, change, hours, free days, shares by
/// setting and flags. The read is entered in the audit list first.
#[utoipa::path(
    tag = "Figures",
    operation_id = "read_weeks",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), WeeksQuery),
    responses((status = 200, description = "One entry a week", body = WeeksAnswer), ReadRefusals)
)]
#[get("/v1/clubs/{club_id}/athletes/{athlete_id}/weeks")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId)>,
    query: Query<WeeksQuery>,
) -> Result<HttpResponse, Problem> {
    let (_, athlete_id) = path.into_inner();
    let asked = range::as_of(query.0.as_of.as_deref())?;
    let wanted = Wanted {
        athlete_id,
        explain: range::explain(query.0.explain.as_deref())?,
        query: query.0,
    };
    let (caller, tenant) = (scope.caller.clone(), scope.caller.tenant);
    let answer = as_of::read(&app, tenant, asked, move |conn, as_of| {
        wanted.answer(conn, &caller, as_of)
    })
    .await?;
    let reading = Reading {
        athlete: athlete_id,
        action: "read_weeks",
        purpose: None,
    };
    app.audit.record(&app, &scope.caller, reading).await?;
    Ok(HttpResponse::Ok()
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .json(answer))
}

/// What a call asks for.
struct Wanted {
    athlete_id: AthleteId,
    query: WeeksQuery,
    explain: bool,
}

impl Wanted {
    fn answer(
        &self,
        conn: &mut Conn,
        caller: &Caller,
        as_of: AsOf,
    ) -> Result<WeeksAnswer, Problem> {
        let (tenant, known) = (caller.tenant, as_of.known);
        let athlete = reach::athlete(conn, caller, self.athlete_id)?;
        let athlete = figures::as_known(conn, tenant, athlete, known)?;
        let home = zones::home(conn, tenant, &athlete.content)?;
        let today = as_of.today(&home);
        let asked = (self.query.from.as_deref(), self.query.to.as_deref());
        let (from, to) = range::past_weeks(asked, today)?;
        let policies = Policies::read(conn, tenant, known)?;
        let who = [self.athlete_id];
        let who = Who::Athletes(&who);
        let asked = Asked {
            first: returns::reads_from(conn, tenant, who, (from, to), known)?,
            last: to.sunday().min(today.yesterday().unwrap_or(today)),
            settings: None,
            known,
            now: as_of.now,
        };
        let born = athlete.content.birth_date;
        let days = figures::days_of_one(conn, tenant, athlete, &asked, &policies)?;
        let raised = flags::in_weeks(conn, tenant, who, from.monday(), to.monday(), known)?;
        let weeks = from.through(to);
        let weeks = weeks.filter_map(|week| entry(&days, week, &policies, &raised).transpose());
        let rated = (looks_back_to(to), asked.last);
        let ratings = ratings::read(conn, tenant, who, rated, known)?;
        let explained = if self.explain {
            Some(explain(conn, caller, &days, &asked, &policies)?)
        } else {
            None
        };
        let answer = WeeksAnswer {
            athlete_id: self.athlete_id,
            from: from.to_string(),
            to: to.to_string(),
            as_of: as_of.at(),
            ratio_note: RATIO_NOTE,
            caution: CAUTION,
            rating_note: ratings.get(&self.athlete_id).and_then(OwnRatings::note),
            age_note: ratings::age_note(born, to.sunday()),
            weeks: weeks.collect::<Result<_, _>>()?,
            explained,
        };
        Ok(match caller.principal.role {
            Role::Athlete | Role::Guardian => for_the_family(answer),
            _ => answer,
        })
    }
}

/// The family sees the loads, not a ceiling to aim at nor a remark on how ratings are given.
fn for_the_family(mut answer: WeeksAnswer) -> WeeksAnswer {
    answer.rating_note = None;
    for week in &mut answer.weeks {
        week.since_return = None;
    }
    answer
}
