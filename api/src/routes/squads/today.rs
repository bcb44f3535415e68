//! `GET …/squads/{squad_id}/today`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use jiff::Timestamp;
use jiff::civil::Date;
use plimsoll_domain::Places;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::app::App;
use crate::auth::tenant::{Caller, ClubScope, right};
use crate::error::{Problem, ProblemBody};
use crate::ids::{AthleteId, ClubId, EventId, SquadId};
use crate::pages::today::{csv, page};
use crate::routes::weeks::entry::AuRange;
use crate::services::as_of;
use crate::services::availability::Ceiling;
use crate::services::events::answer::starts_at;
use crate::services::explain::Explanation;
use crate::services::today::{self, AthleteDay, SquadDay};
use crate::services::{reach, zones};
use crate::store::Conn;
use crate::store::events::Event;
use crate::web::figures::{CAUTION, LoadBounds};
use crate::web::query::Query;
use crate::web::refusals::ReadRefusals;
use crate::web::{accept, range, reply};

type Needed = right::ReadSquadDay;

/// Which state of knowledge.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct TodayQuery {
    /// The day that was today at this instant, by what had been received by then, with the policy and roster of then.
    #[param(value_type = Option<String>, format = DateTime)]
    as_of: Option<String>,
    /// true: each athlete with the arithmetic of what is done and of her ceiling, which is the days they look back to with the
    /// sessions and sources they are made of, and the policy.
    #[param(value_type = Option<bool>)]
    explain: Option<String>,
}

/// A squad's day.
#[derive(Debug, Serialize, ToSchema)]
pub struct TodayAnswer {
    /// The squad.
    pub squad_id: SquadId,
    /// Today in the club's zone, as of that instant.
    #[schema(value_type = String, format = Date)]
    pub date: Date,
    /// The state of knowledge.
    #[schema(value_type = String, format = DateTime)]
    pub as_of: Timestamp,
    /// What is planned for any of the athletes, by start, cancelled sessions included.
    pub sessions: Vec<TodaySession>,
    /// The squad's members of today, by name.
    pub athletes: Vec<TodayAthlete>,
    /// What a ceiling is not.
    pub note: &'static str,
    /// What the figures are, and are not.
    pub caution: &'static str,
}

/// A session planned for today.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"event_id": "0199a1b2-4444-7e4f-8a5b-6c7d8e9f0a1b",
    "starts_at": "2026-11-19T17:30:00+01:00", "minutes": 90, "setting": "club", "kind": "practice",
    "intended_rpe": 6.0, "status": "planned"}))]
pub struct TodaySession {
    /// The event.
    pub event_id: EventId,
    /// Start, with the offset of the place.
    #[schema(format = DateTime)]
    pub starts_at: String,
    /// Planned minutes.
    pub minutes: i32,
    /// Who runs it.
    #[schema(value_type = String)]
    pub setting: &'static str,
    /// What is done.
    #[schema(value_type = String)]
    pub kind: &'static str,
    /// How hard it is meant to be.
    pub intended_rpe: Option<f64>,
    /// planned, moved, cancelled or held.
    #[schema(value_type = String)]
    pub status: &'static str,
}

/// One athlete's day.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "display_name": "Ida",
    "availability": "limited", "set_by": "club_policy", "until": "2026-11-22",
    "limit": {"max_week_au": {"low": 1575.0, "high": 1575.0}, "binding": "policy", "from": "2026-11-16", "to": "2026-11-22",
        "done_au": {"point": 600.0, "low": 600.0, "high": 600.0}},
    "instructions": ["Week 2 after an absence of 35 days: at most 1575 AU from 2026-11-16 to 2026-11-22, 600 AU of it done."],
    "rest_declared": false, "load_au": {"point": 225.0, "low": 225.0, "high": 225.0}, "minutes": 45,
    "logged_sessions": 1, "unlogged_sessions": 0,
    "expected_at": [{"event_id": "0199a1b2-4444-7e4f-8a5b-6c7d8e9f0a1b", "attendance": null}], "age_note": null}))]
pub struct TodayAthlete {
    /// Who.
    pub athlete_id: AthleteId,
    /// The name shown.
    pub display_name: String,
    /// nothing_entered, limited, ask or not_available; by what is entered, and no statement about her health: nobody is cleared by it.
    #[schema(value_type = String)]
    pub availability: &'static str,
    /// The role that entered it, or club_policy for a ceiling after an absence; null where nothing is entered.
    #[schema(value_type = Option<String>)]
    pub set_by: Option<&'static str>,
    /// The last day of that; null where nothing is entered, or no last day is known.
    #[schema(value_type = Option<String>, format = Date)]
    pub until: Option<Date>,
    /// The ceiling after an absence; null without one.
    pub limit: Option<ReturnLimit>,
    /// What to do, a sentence each; never why.
    pub instructions: Vec<String>,
    /// Whether a day of rest is entered for today.
    pub rest_declared: bool,
    /// What is done today in all settings that are shared; null before the first day in the club.
    pub load_au: Option<LoadBounds>,
    /// Minutes of what is logged.
    pub minutes: u32,
    /// Sessions logged today.
    pub logged_sessions: u32,
    /// Sessions of today that are over and not logged.
    pub unlogged_sessions: u32,
    /// Where she is expected today.
    pub expected_at: Vec<ExpectedAt>,
    /// What her age says of the ratings; null from 12 years on, and where her birth date is not known.
    #[schema(value_type = Option<String>)]
    pub age_note: Option<&'static str>,
    /// The arithmetic, where it is asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Explanation, required = false)]
    pub explained: Option<Explanation>,
}

/// The ceiling of the running week of a return after an absence: the club's, which is no medical limit, or a clinician's where that
/// is lower.
#[derive(Debug, Serialize, ToSchema)]
pub struct ReturnLimit {
    /// The most for its seven days.
    pub max_week_au: AuRange,
    /// policy or clinician: whose limit is the lower one.
    #[schema(value_type = String)]
    pub binding: &'static str,
    /// First day.
    #[schema(value_type = String, format = Date)]
    pub from: Date,
    /// Last day.
    #[schema(value_type = String, format = Date)]
    pub to: Date,
    /// What is done of it.
    pub done_au: LoadBounds,
}

/// A session an athlete is expected at.
#[derive(Debug, Serialize, ToSchema)]
pub struct ExpectedAt {
    /// The event, one of the day's sessions.
    pub event_id: EventId,
    /// present, partial, absent or unknown where the attendance list names her.
    #[schema(value_type = Option<String>)]
    pub attendance: Option<&'static str>,
}

/// What a ceiling is not.
pub const NOTE: &str = "A ceiling is the club's limit after an absence, not a target and no medical limit. What a clinician says \
    counts first.";

/// Read a squad's day
///
/// For the coach before practice: who is available and under which limits, as instructions without reasons, what each athlete
/// has done today, and who is expected at what. By `Accept` also as a page to read and print, or as CSV: one row an athlete, a
/// session, and an athlete at a session; each without `explain`, with which the sessions of each athlete are shown, and each is entered
/// in the audit list first.
#[utoipa::path(
    tag = "Figures",
    operation_id = "read_squad_today",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("squad_id" = SquadId, Path), TodayQuery),
    responses(
        (status = 200, description = "The day", content(
            (TodayAnswer = "application/json"),
            (String = "text/csv"),
            (String = "text/html"),
        )),
        (status = 406, description = "The day is not to be had as what `Accept` asks for", body = ProblemBody,
            content_type = "application/problem+json"),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/squads/{squad_id}/today")]
pub async fn read(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    request: HttpRequest,
    path: web::Path<(ClubId, SquadId)>,
    query: Query<TodayQuery>,
) -> Result<HttpResponse, Problem> {
    let asked = range::as_of(query.0.as_of.as_deref())?;
    let explain = range::explain(query.0.explain.as_deref())?;
    let offers: &[&str] = match explain {
        true => &["application/json"],
        false => &["application/json", "text/csv", "text/html"],
    };
    let sent_as = accept::preferred(&request, offers)?;
    let (_, squad_id) = path.into_inner();
    let (caller, tenant) = (scope.caller.clone(), scope.caller.tenant);
    let (answer, beside) = as_of::read(&app, tenant, asked, move |conn, as_of| {
        let beside = page::Beside {
            squad_name: reach::squad(conn, &caller, squad_id)?.name,
            zone: zones::of_club(conn, tenant)?,
        };
        let day = today::read(conn, tenant, squad_id, &beside.zone, as_of)?;
        let mut answer = TodayAnswer::new(squad_id, as_of.at(), &day)?;
        if explain {
            answer.explain(conn, &caller, &day)?;
        }
        Ok((answer, beside))
    })
    .await?;
    let shown = answer.athletes.iter().map(|one| one.athlete_id);
    app.audit
        .record_shown(&app, &scope.caller, "read_squad_today", shown)
        .await?;
    let mut head = reply::represented(sent_as == "text/html");
    Ok(match sent_as {
        "text/html" => head.body(page::write(&answer, &beside)),
        "text/csv" => {
            let name = format!("squad-day-{}", answer.date);
            reply::csv(head, &name, csv::write(&answer)?)
        }
        _ => head.json(answer),
    })
}

impl TodayAnswer {
    fn new(squad_id: SquadId, as_of: Timestamp, day: &SquadDay) -> Result<Self, Problem> {
        let sessions = day.sessions.iter().map(TodaySession::new);
        let athletes = day.athletes.iter();
        Ok(Self {
            squad_id,
            date: day.date,
            as_of,
            sessions: sessions.collect::<Result<_, _>>()?,
            athletes: athletes
                .map(|one| TodayAthlete::new(one, &day.sessions))
                .collect(),
            note: NOTE,
            caution: CAUTION,
        })
    }

    /// Adds the arithmetic of each athlete's figures.
    fn explain(&mut self, conn: &mut Conn, caller: &Caller, day: &SquadDay) -> Result<(), Problem> {
        let shown = self.athletes.iter().map(|one| one.athlete_id).collect();
        let mut explained = day.read.explain(conn, caller, &shown)?;
        for athlete in &mut self.athletes {
            athlete.explained = explained.remove(&athlete.athlete_id);
        }
        Ok(())
    }
}

impl TodaySession {
    fn new(event: &Event) -> Result<Self, Problem> {
        Ok(Self {
            event_id: event.event_id,
            starts_at: starts_at(event)?,
            minutes: event.minutes,
            setting: event.setting.code(),
            kind: event.kind.code(),
            intended_rpe: event.intended_rpe_half.map(|half| f64::from(half) / 2.0),
            status: event.status.code(),
        })
    }
}

impl TodayAthlete {
    fn new(one: &AthleteDay, sessions: &[Event]) -> Self {
        let standing = &one.standing;
        let ceiling = standing.ceiling.as_ref();
        let ceiling = ceiling.and_then(|ceiling| ceiling.as_ref().ok());
        let expected = one.expected.iter();
        let done = one.done;
        Self {
            athlete_id: one.athlete_id,
            display_name: one.display_name.clone(),
            availability: standing.availability.code(),
            set_by: standing.set_by,
            until: standing.until,
            limit: ceiling.map(ReturnLimit::new),
            instructions: standing.instructions.clone(),
            rest_declared: one.rest_declared,
            load_au: done.map(|day| day.load().into()),
            minutes: done.map_or(0, |day| day.minutes()),
            logged_sessions: done.map_or(0, |day| day.sessions()),
            unlogged_sessions: done.map_or(0, |day| day.unlogged()),
            expected_at: expected
                .filter_map(|at| {
                    Some(ExpectedAt {
                        event_id: sessions.get(at.session)?.event_id,
                        attendance: at.attendance.map(|status| status.code()),
                    })
                })
                .collect(),
            age_note: one.age_note,
            explained: None,
        }
    }
}

impl ReturnLimit {
    /// The limit of a ceiling.
    pub fn new(ceiling: &Ceiling) -> Self {
        let week = &ceiling.week;
        let au = |value: plimsoll_domain::Fraction| value.round(Places::Four).to_f64();
        Self {
            max_week_au: AuRange {
                low: au(week.ceiling_au.low),
                high: au(week.ceiling_au.high),
            },
            binding: week.binding.code(),
            from: week.from,
            to: week.to,
            done_au: week.load.into(),
        }
    }
}
