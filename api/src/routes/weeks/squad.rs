//! `GET …/squads/{squad_id}/weeks/{week}`: the weekly list.

use actix_web::http::header;
use actix_web::{HttpResponse, get, web};
use jiff::Timestamp;
use jiff::civil::Date;
use plimsoll_domain::{Certainty, Entry, IsoWeek, Judgement, Policy};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{AthleteId, ClubId, FlagId, SquadId};
use crate::services::weekly_list::{self, SquadWeek, Wanted};
use crate::services::{reach, zones};
use crate::store::Known;
use crate::web::figures::{CAUTION, LoadBounds, RATIO_NOTE, Values};
use crate::web::finding::{AuBounds, HighestWeek, JudgedFigures, JudgedRatio};
use crate::web::query::Query;
use crate::web::range;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadWeeklyList;

/// Which state of knowledge.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct ListQuery {
    /// What had been received by this instant, with the policy and roster of then.
    #[param(value_type = Option<String>, format = DateTime)]
    as_of: Option<String>,
}

/// A squad's weekly list: only athletes who need a decision.
#[derive(Debug, Serialize, ToSchema)]
pub struct WeeklyListAnswer {
    /// The squad.
    pub squad_id: SquadId,
    /// The week, as 2026-W45.
    #[schema(example = "2026-W45")]
    pub week: String,
    /// Its Sunday, which ends every window.
    #[schema(value_type = String, format = Date)]
    pub date: Date,
    /// Whether the week is over; days still to come count as empty.
    pub complete: bool,
    /// The state of knowledge.
    #[schema(value_type = String, format = DateTime)]
    pub as_of: Timestamp,
    /// The policy it was judged by; null where the club has none.
    pub policy_version: Option<u32>,
    /// Certain first, then possible, nothing logged, not computable; most AU over the limit first.
    pub entries: Vec<WeeklyEntry>,
    /// Members of that week about whom nothing needs deciding.
    pub not_listed: usize,
    /// Members with expected sessions and nothing logged.
    pub nothing_logged: usize,
    /// Organisations whose sessions are not shared with the club.
    pub settings_not_shared: u32,
    /// Said where nothing could be judged.
    pub note: Option<&'static str>,
    /// What the figures are, and are not.
    pub caution: &'static str,
    /// What a ratio is, and is not.
    pub ratio_note: &'static str,
}

/// One athlete on the list.
#[derive(Debug, Serialize, ToSchema)]
pub struct WeeklyEntry {
    /// Who.
    pub athlete_id: AthleteId,
    /// The name shown.
    pub display_name: String,
    /// over_limit, own_highest, monotony, return_ceiling, nothing_logged or not_computable.
    #[schema(value_type = String, example = "over_limit")]
    pub finding: &'static str,
    /// certain, possible or not_computable.
    #[schema(value_type = String, example = "certain")]
    pub certainty: &'static str,
    /// The rule behind it.
    pub rule: Option<RuleSeen>,
    /// Load of the week.
    pub week_load_au: LoadBounds,
    /// The load that would just meet the limit.
    pub limit_au: Option<AuBounds>,
    /// How far the week is above it.
    pub over_by_au: Option<AuBounds>,
    /// The ratio at the end of the week.
    pub ratio: Option<JudgedRatio>,
    /// The monotony judged, sample divisor.
    pub monotony: Option<Values>,
    /// The highest earlier week it was compared with.
    pub own_highest: Option<HighestWeek>,
    /// Why nothing can be judged.
    #[schema(value_type = Option<String>)]
    pub reason: Option<&'static str>,
    /// The first date on which a ratio is possible, for a joiner.
    #[schema(value_type = Option<String>, format = Date)]
    pub first_ratio_date: Option<Date>,
    /// The week's load by setting, the heaviest first.
    pub made_up_of: Vec<SettingAu>,
    /// Sessions that were expected and not logged.
    pub missing: Vec<MissingSession>,
    /// Other rules raised for the same week.
    pub also: Vec<AlsoRaised>,
    /// The flag, once the week is closed.
    pub flag_id: Option<FlagId>,
    /// One plain sentence.
    pub sentence: String,
}

/// The rule behind an entry.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"code": "week_end_ratio", "policy_version": 1, "limit": 1.5,
    "source_note": "club choice"}))]
pub struct RuleSeen {
    /// Its code.
    #[schema(value_type = String)]
    pub code: &'static str,
    /// The policy it belongs to.
    pub policy_version: u32,
    /// Its limit.
    pub limit: f64,
    /// Where the limit comes from.
    pub source_note: String,
}

/// Load of one setting.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"setting": "school_team", "au": 1050.0}))]
pub struct SettingAu {
    /// Who ran the sessions.
    #[schema(value_type = String)]
    pub setting: &'static str,
    /// Their load in the week.
    pub au: f64,
}

/// A session that was expected and not logged.
#[derive(Debug, Serialize, ToSchema)]
pub struct MissingSession {
    /// The event.
    pub event_id: String,
    /// When it began.
    pub starts_at: String,
    /// Who ran it.
    pub setting: String,
    /// Above this load the finding is certain.
    pub settles_above_au: Option<f64>,
    /// Up to this load it is ruled out.
    pub rules_out_below_au: Option<f64>,
}

/// Another rule raised for the same week.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"rule": "own_highest_week", "certainty": "certain"}))]
pub struct AlsoRaised {
    /// Its code.
    #[schema(value_type = String)]
    pub rule: &'static str,
    /// certain or possible.
    #[schema(value_type = String)]
    pub certainty: &'static str,
}

/// Weekly list
///
/// Only the athletes of the squad about whom somebody has to decide something, in order, one sentence
/// each. A club without a policy gets no entries, and the note says so.
#[utoipa::path(
    tag = "Figures",
    operation_id = "read_weekly_list",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(
        ("club_id" = ClubId, Path), ("squad_id" = SquadId, Path),
        ("week" = String, Path, description = "ISO week", example = "2026-W45"), ListQuery,
    ),
    responses((status = 200, description = "The list", body = WeeklyListAnswer), ReadRefusals)
)]
#[get("/v1/clubs/{club_id}/squads/{squad_id}/weeks/{week}")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, SquadId, String)>,
    query: Query<ListQuery>,
) -> Result<HttpResponse, Problem> {
    let (_, squad_id, week) = path.into_inner();
    let week = range::week("?week", &week)?;
    let now = app.clock.now();
    let known = range::known(query.0.as_of.as_deref(), now)?;
    let answer = app
        .store
        .snapshot(move |conn| {
            let caller = &scope.caller;
            reach::squad(conn, caller, squad_id)?;
            let zone = zones::of_club(conn, caller.tenant)?;
            let today = weekly_list::today(&zone, known, now);
            begun(week, today)?;
            let wanted = Wanted {
                squad_id,
                week,
                known,
                now,
            };
            let squad_week = weekly_list::read(conn, caller.tenant, wanted)?;
            let as_of = if let Known::AsOf(at) = known { at } else { now };
            Ok::<_, Problem>(answer(squad_week, wanted, as_of, today > week.sunday()))
        })
        .await?;
    Ok(HttpResponse::Ok()
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .json(answer))
}

fn begun(week: IsoWeek, today: Date) -> Result<(), Problem> {
    if week.monday() <= today {
        return Ok(());
    }
    Err(Problem::field(
        FieldProblem::new("?week", Code::InFuture, week.to_string())
            .allowed(format!("a week that has begun by {today}")),
    ))
}

/// The answer of a list that was read.
fn answer(
    squad_week: SquadWeek,
    wanted: Wanted,
    as_of: Timestamp,
    complete: bool,
) -> WeeklyListAnswer {
    let SquadWeek {
        list,
        policy,
        flags,
    } = squad_week;
    let entries = list.entries.into_iter().map(|entry| {
        let rule = entry
            .judgement
            .map(|judgement| judgement.rule.code().to_owned());
        let flag = rule.and_then(|rule| flags.get(&(entry.key, rule)).copied());
        weekly_entry(entry, policy.as_ref(), flag)
    });
    WeeklyListAnswer {
        squad_id: wanted.squad_id,
        week: wanted.week.to_string(),
        date: wanted.week.sunday(),
        complete,
        as_of,
        entries: entries.collect(),
        policy_version: policy.as_ref().map(|policy| policy.version),
        not_listed: list.not_listed,
        nothing_logged: list.nothing_logged,
        settings_not_shared: 0,
        note: (!list.has_policy)
            .then_some("The club has no policy for this week, so nothing was judged."),
        caution: CAUTION,
        ratio_note: RATIO_NOTE,
    }
}

fn weekly_entry(
    entry: Entry<AthleteId>,
    policy: Option<&Policy>,
    flag_id: Option<FlagId>,
) -> WeeklyEntry {
    let figures = entry.judgement.as_ref().map(JudgedFigures::from);
    let rule = entry
        .judgement
        .and_then(|judgement| rule_seen(&judgement, policy?));
    let made_up_of = entry.made_up_of.iter();
    WeeklyEntry {
        athlete_id: entry.key,
        display_name: entry.display_name,
        finding: entry.finding.code(),
        certainty: entry.certainty.map_or("not_computable", Certainty::code),
        rule,
        week_load_au: entry.week_load.into(),
        limit_au: figures.as_ref().and_then(|figures| figures.limit_au),
        over_by_au: figures.as_ref().and_then(|figures| figures.over_by_au),
        ratio: figures.as_ref().and_then(|figures| figures.ratio),
        monotony: figures.as_ref().and_then(|figures| figures.monotony),
        own_highest: figures.and_then(|figures| figures.own_highest),
        reason: entry.reason.map(plimsoll_domain::Reason::code),
        first_ratio_date: entry.first_ratio_date,
        made_up_of: made_up_of
            .map(|part| SettingAu {
                setting: part.setting.code(),
                au: part.week.to_au(),
            })
            .collect(),
        missing: Vec::new(),
        also: entry.also.iter().filter_map(also_raised).collect(),
        flag_id,
        sentence: entry.sentence,
    }
}

fn rule_seen(judgement: &Judgement, policy: &Policy) -> Option<RuleSeen> {
    let rule = policy.rule(judgement.rule)?;
    Some(RuleSeen {
        code: rule.code.code(),
        policy_version: policy.version,
        limit: rule.limit.to_f64(),
        source_note: rule.source_note.clone(),
    })
}

fn also_raised(judgement: &Judgement) -> Option<AlsoRaised> {
    let certainty = judgement.certainty()?.code();
    Some(AlsoRaised {
        rule: judgement.rule.code(),
        certainty,
    })
}
