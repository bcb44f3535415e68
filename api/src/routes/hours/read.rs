//! `GET …/athletes/{athlete_id}/hours`.

use actix_web::http::header;
use actix_web::{HttpResponse, get, web};
use jiff::Timestamp;
use plimsoll_domain::age::completed_years;
use plimsoll_domain::{Bounds, Fraction, IsoWeek, OrganisedJudgement, Outcome, Places, Setting};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::app::App;
use crate::auth::Scope;
use crate::auth::tenant::{Caller, ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId};
use crate::services::as_of::{self, AsOf};
use crate::services::hours::{self, Reading, WeekHours};
use crate::services::{figures, reach, zones};
use crate::store::Conn;
use crate::web::figures::{CAUTION, Figure};
use crate::web::query::Query;
use crate::web::range;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadLoad;

/// Where the lines come from.
pub const NOTE: &str = "Hours by age and free days follow an official statement of the National Athletic Trainers' Association of 2019; \
    the line at 16 hours follows a cross-section of girls of 11 to 17 years (Loud et al. 2005, Pediatrics 115:e399). Neither is a \
    medical limit. Papers differ on whether PE counts, so both readings are told. Local school, federation and labour rules come first.";

/// Which week.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct HoursQuery {
    /// The ISO week; the running one unless given.
    #[param(example = "2026-W46")]
    week: Option<String>,
    /// What had been received by this instant, with the policy and roster of then.
    #[param(value_type = Option<String>, format = DateTime)]
    as_of: Option<String>,
}

/// The organised time of a week. The high ends take every planned session as held that nobody has answered, over or still to come.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({
    "athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "week": "2026-W46", "as_of": "2026-11-16T08:00:00Z", "policy_version": 1,
    "age": 14, "pe_counts": true,
    "with_pe": {"hours": {"point": 14.25, "low": 14.25, "high": 14.25}, "free_days": {"point": 0.0, "low": 0.0, "high": 0.0},
        "member_days": 7,
        "by_age": {"limit": 14.0, "beyond_by": {"point": 0.25, "low": 0.25, "high": 0.25}, "outcome": "certain", "reason": null,
            "within_policy": false, "enabled": true, "source_note": "club choice"},
        "fewest_free_days": {"limit": 1.0, "beyond_by": {"point": 1.0, "low": 1.0, "high": 1.0}, "outcome": "certain", "reason": null,
            "within_policy": false, "enabled": true, "source_note": "club choice"},
        "line": {"limit": 16.0, "beyond_by": {"point": -1.75, "low": -1.75, "high": -1.75}, "outcome": "not_raised"}},
    "without_pe": null,
    "games": [{"window": "24_hours", "games": {"point": 2.0, "low": 2.0, "high": 2.0}, "minutes": {"point": 135.0, "low": 135.0, "high": 135.0}}],
    "shares": [{"setting": "club", "pct": {"point": 100.0, "low": 100.0, "high": 100.0, "reason": null}}],
    "club_share_pct": {"point": 100.0, "low": 100.0, "high": 100.0, "reason": null},
    "settings_not_shared": 0, "note": "Hours by age and free days follow …", "caution": "These figures describe what was logged. …"}))]
pub struct HoursAnswer {
    /// The athlete.
    pub athlete_id: AthleteId,
    /// The week.
    #[schema(example = "2026-W46")]
    pub week: String,
    /// The state of knowledge.
    #[schema(value_type = String, format = DateTime)]
    pub as_of: Timestamp,
    /// The policy of its Sunday; null where the club has none.
    pub policy_version: Option<u32>,
    /// Completed years on its Monday; null where the birth date is not known.
    pub age: Option<u8>,
    /// Whether the policy counts PE as organised; null without a policy.
    pub pe_counts: Option<bool>,
    /// With PE counted as organised; null without a policy, and before the first day in the club.
    pub with_pe: Option<OrganisedTime>,
    /// Without it.
    pub without_pe: Option<OrganisedTime>,
    /// The most games, and the most minutes of games, in any window that ends with a game of the week. What others share may be games too.
    pub games: Vec<GamesInWindow>,
    /// The share of each setting in the week's load, in per cent.
    pub shares: Vec<ShareOfSetting>,
    /// The share that the club itself runs, which is all that its coaches see by themselves.
    pub club_share_pct: Figure,
    /// Organisations that share nothing: what they run can only add hours and take free days, and nothing is called within the policy.
    pub settings_not_shared: u32,
    /// Where the lines come from.
    pub note: &'static str,
    /// What the figures are, and are not.
    pub caution: &'static str,
}

/// Organised time in one reading of what counts.
#[derive(Debug, Serialize, ToSchema)]
pub struct OrganisedTime {
    /// Organised hours.
    pub hours: Ends,
    /// Days without an organised session.
    pub free_days: Ends,
    /// Days of the week that she is a member on; of fewer than seven, hours and free days are those of a part of the week.
    pub member_days: u8,
    /// Against the policy's hours for each year of age (rule `organised_hours`); null where it has no such rule. To staff only.
    pub by_age: Option<AgainstRule>,
    /// Against the fewest free days of the policy (rule `free_days`); null where it has no such rule. To staff only.
    pub fewest_free_days: Option<AgainstRule>,
    /// Against 16 hours at any age; to staff only.
    pub line: Option<AgainstLine>,
}

/// A figure as logged, between the least and the most it can be.
#[derive(Debug, Clone, Copy, Serialize, ToSchema)]
pub struct Ends {
    /// As logged.
    pub point: f64,
    /// The least it can be.
    pub low: f64,
    /// The most it can be.
    pub high: f64,
}

/// A figure against a rule of the policy.
#[derive(Debug, Serialize, ToSchema)]
pub struct AgainstRule {
    /// The limit, in hours or in days; null where it cannot be told.
    pub limit: Option<f64>,
    /// Hours above it, or days short of it; negative while within.
    pub beyond_by: Option<Ends>,
    /// certain, possible, not_raised or not_computable.
    #[schema(value_type = String)]
    pub outcome: &'static str,
    /// Why it is not computable.
    #[schema(value_type = Option<String>)]
    pub reason: Option<&'static str>,
    /// Whether the week may be called within the policy: never while an organisation shares nothing.
    pub within_policy: bool,
    /// Whether the rule is switched on.
    pub enabled: bool,
    /// Where the club has the limit from.
    pub source_note: String,
}

/// A figure against a line that is no rule of the policy.
#[derive(Debug, Serialize, ToSchema)]
pub struct AgainstLine {
    /// The line, in hours.
    pub limit: f64,
    /// Hours above it; negative while within.
    pub beyond_by: Ends,
    /// certain, possible, not_raised or not_computable.
    #[schema(value_type = String)]
    pub outcome: &'static str,
}

/// Games close together.
#[derive(Debug, Serialize, ToSchema)]
pub struct GamesInWindow {
    /// 24_hours, 48_hours, 72_hours or 7_days.
    #[schema(value_type = String)]
    pub window: &'static str,
    /// How many.
    pub games: Ends,
    /// Their minutes; the two may be those of different windows.
    pub minutes: Ends,
}

/// The share of a setting.
#[derive(Debug, Serialize, ToSchema)]
pub struct ShareOfSetting {
    /// Who ran the sessions.
    #[schema(value_type = String)]
    pub setting: &'static str,
    /// In per cent.
    pub pct: Figure,
}

/// Read organised hours
///
/// Organised hours against age and against 16 hours, free days, games close together, and who ran what share of the week's load, with
/// PE counted and without. The family sees hours and free days, and no limit. The read is entered in the audit list first.
#[utoipa::path(
    tag = "Figures",
    operation_id = "read_hours",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("athlete_id" = AthleteId, Path), HoursQuery),
    responses((status = 200, description = "The organised time", body = HoursAnswer), ReadRefusals)
)]
#[get("/v1/clubs/{club_id}/athletes/{athlete_id}/hours")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, AthleteId)>,
    query: Query<HoursQuery>,
) -> Result<HttpResponse, Problem> {
    let (_, athlete_id) = path.into_inner();
    let week = query.0.week.as_deref();
    let week = week.map(|text| range::week("?week", text)).transpose()?;
    let asked = range::as_of(query.0.as_of.as_deref())?;
    let (caller, tenant) = (scope.caller.clone(), scope.caller.tenant);
    let answer = as_of::read(&app, tenant, asked, move |conn, as_of| {
        answer(conn, &caller, (athlete_id, week), as_of)
    })
    .await?;
    app.audit
        .record_shown(&app, &scope.caller, "read_hours", [athlete_id])
        .await?;
    Ok(HttpResponse::Ok()
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .json(answer))
}

fn answer(
    conn: &mut Conn,
    caller: &Caller,
    (athlete_id, week): (AthleteId, Option<IsoWeek>),
    as_of: AsOf,
) -> Result<HoursAnswer, Problem> {
    let tenant = caller.tenant;
    let athlete = reach::athlete(conn, caller, athlete_id)?;
    let athlete = figures::as_known(conn, tenant, athlete, as_of.known)?.content;
    let week = match week {
        Some(week) => week,
        None => {
            let today = as_of.today(&zones::home(conn, tenant, &athlete)?);
            IsoWeek::of(today).map_err(|error| Problem::internal(&error))?
        }
    };
    let found = hours::read(conn, tenant, &athlete, week, as_of)?;
    let birth_date = athlete.birth_date;
    // The family sees hours and free days, and no limit to aim at.
    let sees_limits = caller.principal.role.allows(Scope::ReadPolicy);
    let reading = |of: fn(&WeekHours) -> Option<&Reading>| {
        of(&found).map(|one| time(&found, one, sees_limits))
    };
    let games = found.games.iter().map(|(window, games)| GamesInWindow {
        window: window.code(),
        games: games.games.into(),
        minutes: games.minutes.into(),
    });
    let shares = found.shares.iter().map(|share| ShareOfSetting {
        setting: share.setting.code(),
        pct: Figure::percent(share.share),
    });
    Ok(HoursAnswer {
        athlete_id,
        week: week.to_string(),
        as_of: as_of.at(),
        policy_version: found.policy.as_ref().map(|policy| policy.version),
        age: birth_date.and_then(|born| completed_years(born, week.monday())),
        pe_counts: found
            .policy
            .as_ref()
            .map(|policy| policy.organised_settings.contains(&Setting::Pe)),
        with_pe: reading(|found| Some(&found.readings.as_ref()?.with_pe)),
        without_pe: reading(|found| Some(&found.readings.as_ref()?.without_pe)),
        games: games.collect(),
        shares: shares.collect(),
        club_share_pct: Figure::percent(found.club_share),
        settings_not_shared: found.not_shared,
        note: NOTE,
        caution: CAUTION,
    })
}

fn time(found: &WeekHours, reading: &Reading, sees_limits: bool) -> OrganisedTime {
    let rule = |judgement: Option<OrganisedJudgement>| {
        let judgement = judgement.filter(|_| sees_limits)?;
        let rule = found.policy.as_ref()?.rule(judgement.rule)?;
        let (against, outcome) = (judgement.against.ok(), judgement.outcome());
        Some(AgainstRule {
            limit: against.map(|against| rounded(against.limit)),
            beyond_by: against.map(|against| against.beyond_by.into()),
            outcome: word(outcome),
            reason: match outcome {
                Outcome::NotComputable(reason) => Some(reason.code()),
                Outcome::Raised(_) | Outcome::NotRaised => None,
            },
            within_policy: judgement.is_within_policy(),
            enabled: rule.enabled,
            source_note: rule.source_note.clone(),
        })
    };
    OrganisedTime {
        hours: reading.week.hours().into(),
        free_days: reading.week.free_days.into(),
        member_days: reading.week.member_days,
        by_age: rule(reading.by_age),
        fewest_free_days: rule(reading.free_days),
        line: sees_limits.then(|| AgainstLine {
            limit: rounded(reading.line.limit),
            beyond_by: reading.line.beyond_by.into(),
            outcome: word(reading.line.outcome),
        }),
    }
}

fn word(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Raised(certainty) => certainty.code(),
        Outcome::NotRaised => "not_raised",
        Outcome::NotComputable(_) => "not_computable",
    }
}

/// Hours and days have four decimals, as ratios have.
fn rounded(value: Fraction) -> f64 {
    value.round(Places::Four).to_f64()
}

impl From<Bounds<Fraction>> for Ends {
    fn from(bounds: Bounds<Fraction>) -> Self {
        Self {
            point: rounded(bounds.point),
            low: rounded(bounds.low),
            high: rounded(bounds.high),
        }
    }
}

impl From<Bounds<u32>> for Ends {
    fn from(bounds: Bounds<u32>) -> Self {
        Self {
            point: bounds.point.into(),
            low: bounds.low.into(),
            high: bounds.high.into(),
        }
    }
}

impl From<Bounds<u8>> for Ends {
    fn from(bounds: Bounds<u8>) -> Self {
        bounds.map(u32::from).into()
    }
}
