//! `GET …/squads/{squad_id}/weeks/{week}`: the weekly list.

use std::collections::BTreeMap;

use actix_web::{HttpRequest, HttpResponse, get, web};
use jiff::Timestamp;
use jiff::civil::Date;
use plimsoll_domain::IsoWeek;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use super::ahead::AheadEntry;
use super::closed::CorrectionNote;
use super::entry::{Beside, WeeklyEntry};
use crate::app::App;
use crate::auth::list_scope::ListScope;
use crate::auth::tenant::{Caller, right};
use crate::error::{Code, FieldProblem, Problem, ProblemBody};
use crate::ids::{AthleteId, ClubId, SquadId};
use crate::pages::paper::Paper;
use crate::pages::weekly_list::done::Form;
use crate::pages::weekly_list::{csv, page, sheet};
use crate::services::as_of;
use crate::services::explain::Explanation;
use crate::services::page_link::ListId;
use crate::services::weekly_list::{self, SquadWeek, Wanted};
use crate::services::{reach, zones};
use crate::store::{Conn, Known, Tenant};
use crate::web::figures::{CAUTION, RATIO_NOTE};
use crate::web::page_problem::PageProblem;
use crate::web::refusals::PageRefusals;
use crate::web::representation::{self, Representation};
use crate::web::{query, range, reply};

type Needed = right::ReadWeeklyList;

/// Which state of knowledge.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct ListQuery {
    /// What had been received by this instant, with the policy and roster of then.
    #[param(value_type = Option<String>, format = DateTime)]
    as_of: Option<String>,
    /// true: each entry with its arithmetic, which is the days its figures look back to with the
    /// sessions and sources they are made of, and the policy.
    #[param(value_type = Option<bool>)]
    explain: Option<String>,
    /// Of the PDF: a4, as long as nothing else is said, or letter.
    #[param(example = "letter")]
    paper: Option<String>,
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
    /// When the week was closed; null while it is not.
    #[schema(value_type = Option<String>, format = DateTime)]
    pub closed_at: Option<Timestamp>,
    /// Whether it was closed after its time; null while it is not closed.
    pub late: Option<bool>,
    /// When a flag of the squad was last judged otherwise than at the close; null while none is.
    #[schema(value_type = Option<String>, format = DateTime)]
    pub corrected_at: Option<Timestamp>,
    /// What was corrected since the close; null while nothing is. The list as it was closed is read
    /// with `as_of` = `closed_at`.
    pub correction: Option<CorrectionNote>,
    /// The state of knowledge.
    #[schema(value_type = String, format = DateTime)]
    pub as_of: Timestamp,
    /// The policy it was judged by; null where the club has none.
    pub policy_version: Option<u32>,
    /// Certain first, then possible, nothing logged, not computable; most AU over the limit first.
    pub entries: Vec<WeeklyEntry>,
    /// Who will, or may, be over a limit in the week after, if what is planned happens; null where
    /// that week is not the running one.
    pub ahead: Option<Vec<AheadEntry>>,
    /// Members of that week about whom nothing needs deciding.
    pub not_listed: usize,
    /// Members with expected sessions and nothing logged.
    pub nothing_logged: usize,
    /// One line for the squad, where more than half of the sessions expected of it are not logged.
    pub mostly_unlogged: Option<MostlyUnlogged>,
    /// Organisations that members' families have named and that share nothing with the club.
    pub settings_not_shared: usize,
    /// Said where nothing could be judged.
    pub note: Option<&'static str>,
    /// What the figures are, and are not.
    pub caution: &'static str,
    /// What a ratio is, and is not.
    pub ratio_note: &'static str,
}

/// Most of what was expected of a squad is not logged: that is for the squad as a whole to hear.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"expected_sessions": 40, "unlogged_sessions": 23, "athletes": [],
    "sentence": "Of 40 sessions expected in the week 23 are not logged, and 2 athletes logged \
        nothing: ask the squad as a whole."}))]
pub struct MostlyUnlogged {
    /// Sessions expected in the week, of all members.
    pub expected_sessions: u32,
    /// Those that are not logged.
    pub unlogged_sessions: u32,
    /// More than three athletes who logged nothing: they have no entries of their own.
    pub athletes: Vec<AthleteId>,
    /// One plain sentence.
    pub sentence: String,
}

/// Weekly list
///
/// Only the athletes of the squad about whom somebody has to decide something, in order, one sentence
/// each. A club without a policy gets no entries, and the note says so. With `explain` the sessions of
/// each athlete on the list are shown, and each is entered in the audit list first.
///
/// By `Accept` the same list as a page to read and print, with a plot of each listed athlete's last weeks
/// (entered in the audit list first), as CSV, one row an entry, an athlete of the week ahead and a corrected flag, or, where the
/// program was built with it, as PDF with all that is on the page; each without `explain`. A browser that opened a link to the list (`open_page`) reads it by its cookie.
#[utoipa::path(
    tag = "Figures",
    operation_id = "read_weekly_list",
    security(("bearer" = []), ("list_cookie" = [])),
    extensions(("x-roles" = json!(Needed::roles()))),
    params(
        ("club_id" = ClubId, Path), ("squad_id" = SquadId, Path),
        ("week" = String, Path, description = "ISO week", example = "2026-W45"), ListQuery,
    ),
    responses(
        (status = 200, description = "The list", content(
            (WeeklyListAnswer = "application/json"),
            (String = "text/csv"),
            (String = "text/html"),
            (String = "application/pdf"),
        )),
        (status = 406, description = "The list is not to be had as what `Accept` asks for", content(
            (ProblemBody = "application/problem+json"),
            (String = "text/html"),
        )),
        PageRefusals
    )
)]
#[get("/v1/clubs/{club_id}/squads/{squad_id}/weeks/{week}")]
pub async fn read(
    app: web::Data<App>,
    scope: ListScope,
    request: HttpRequest,
    path: web::Path<(ClubId, SquadId, String)>,
) -> Result<HttpResponse, PageProblem> {
    let (_, squad_id, week) = path.into_inner();
    let sent = send(&app, scope, &request, squad_id, &week).await;
    sent.map_err(|problem| PageProblem::to(&request, problem))
}

async fn send(
    app: &App,
    scope: ListScope,
    request: &HttpRequest,
    squad_id: SquadId,
    week: &str,
) -> Result<HttpResponse, Problem> {
    let query: ListQuery = query::parse(request.query_string())?;
    let week = range::week("?week", week)?;
    let asked = range::as_of(query.as_of.as_deref())?;
    let explain = range::explain(query.explain.as_deref())?;
    let representation = match explain {
        true => Representation::json_alone(request)?,
        false => Representation::of(request)?,
    };
    let paper = representation::paper(query.paper.as_deref())?;
    let (caller, tenant) = (scope.caller.clone(), scope.caller.tenant);
    let work = move |conn: &mut Conn, as_of| {
        let wanted = Wanted {
            squad_id,
            week,
            as_of,
        };
        let (answer, beside) = answer(conn, &caller, wanted, explain, representation)?;
        Ok((answer, beside, wanted))
    };
    let (answer, beside, wanted) = as_of::read(app, tenant, asked, work).await?;
    let beside = page::Beside {
        form: form(app, &scope, &answer, wanted),
        neighbours: neighbours(&scope, &answer, wanted),
        ..beside
    };
    let shown = answer.entries.iter().map(|one| one.athlete_id);
    app.audit
        .record_shown(app, &scope.caller, "read_weekly_list", shown)
        .await?;
    represent(representation, &answer, &beside, paper).await
}

/// Whether it shows the weeks of whom it lists.
fn shows_weeks(representation: Representation) -> bool {
    matches!(representation, Representation::Page | Representation::Sheet)
}

/// The list as what was asked for.
async fn represent(
    representation: Representation,
    answer: &WeeklyListAnswer,
    beside: &page::Beside,
    paper: Paper,
) -> Result<HttpResponse, Problem> {
    let mut head = reply::represented(representation == Representation::Page);
    let name = format!("weekly-list-{}", answer.week);
    Ok(match representation {
        Representation::Json => head.json(answer),
        Representation::Csv => reply::csv(head, &name, csv::write(answer)?),
        Representation::Page => head.body(page::write(answer, beside)),
        Representation::Sheet => {
            reply::sheet(head, &name, sheet::sheet(answer, beside), paper).await?
        }
    })
}

/// The form for what was done, for who opened the list as it now stands by a link.
fn form(app: &App, scope: &ListScope, answer: &WeeklyListAnswer, wanted: Wanted) -> Option<Form> {
    let link = scope
        .link
        .as_ref()
        .filter(|_| wanted.as_of.known == Known::Now)?;
    let list = ListId {
        club: scope.caller.tenant.club_id(),
        squad: answer.squad_id,
        week: wanted.week,
    };
    Some(Form {
        path: format!("{}/acknowledgements", list.path()),
        token: app.links.form_token(link),
    })
}

/// The weeks beside this one, as they now stand, for who has a token: a link opens one list alone.
fn neighbours(
    scope: &ListScope,
    answer: &WeeklyListAnswer,
    wanted: Wanted,
) -> Option<(IsoWeek, Option<IsoWeek>)> {
    if scope.link.is_some() || wanted.as_of.known != Known::Now {
        return None;
    }
    // What has not begun has no list.
    let after = wanted.week.next().filter(|_| answer.complete);
    Some((wanted.week.previous()?, after))
}

/// Reads and judges the week, and explains its entries where that is asked for.
fn answer(
    conn: &mut Conn,
    caller: &Caller,
    wanted: Wanted,
    explain: bool,
    representation: Representation,
) -> Result<(WeeklyListAnswer, page::Beside), Problem> {
    let squad = reach::squad(conn, caller, wanted.squad_id)?;
    let zone = zones::of_club(conn, caller.tenant)?;
    let today = wanted.as_of.today(&zone);
    begun(wanted.week, today)?;
    let squad_week = weekly_list::read(conn, caller.tenant, wanted)?;
    let explained = if explain {
        squad_week.explain(conn, caller)?
    } else {
        BTreeMap::new()
    };
    let complete = today > wanted.week.sunday();
    let beside = page::Beside {
        squad_name: squad.name,
        zone,
        members: match shows_weeks(representation) {
            true => squad_week.members(wanted.week),
            false => BTreeMap::new(),
        },
        form: None,
        neighbours: None,
    };
    Ok((listed(squad_week, explained, wanted, complete), beside))
}

/// The list as it is answered, for what tells of it elsewhere.
pub(crate) fn answer_of(
    conn: &mut Conn,
    tenant: Tenant,
    wanted: Wanted,
) -> Result<WeeklyListAnswer, Problem> {
    let zone = zones::of_club(conn, tenant)?;
    let complete = wanted.as_of.today(&zone) > wanted.week.sunday();
    let squad_week = weekly_list::read(conn, tenant, wanted)?;
    Ok(listed(squad_week, BTreeMap::new(), wanted, complete))
}

pub(super) fn begun(week: IsoWeek, today: Date) -> Result<(), Problem> {
    if week.monday() <= today {
        return Ok(());
    }
    Err(Problem::field(
        FieldProblem::new("?week", Code::InFuture, week.to_string())
            .allowed(format!("a week that has begun by {today}")),
    ))
}

/// The answer of a list that was read.
fn listed(
    squad_week: SquadWeek,
    explained: BTreeMap<AthleteId, Explanation>,
    wanted: Wanted,
    complete: bool,
) -> WeeklyListAnswer {
    let closed = squad_week.closed.as_ref().map(|closed| &closed.week);
    let (closed_at, late) = (
        closed.map(|week| week.closed_at),
        closed.map(|week| week.late),
    );
    let correction = CorrectionNote::of(&squad_week);
    let ahead = AheadEntry::all(&squad_week);
    let settings_not_shared = squad_week.not_shared();
    let (list, mut beside) = Beside::split(squad_week, explained);
    WeeklyListAnswer {
        closed_at,
        late,
        corrected_at: correction.as_ref().map(|note| note.at),
        correction,
        ahead,
        squad_id: wanted.squad_id,
        week: wanted.week.to_string(),
        date: wanted.week.sunday(),
        complete,
        as_of: wanted.as_of.at(),
        policy_version: beside.policy_version(),
        entries: list
            .entries
            .into_iter()
            .map(|entry| beside.entry(entry))
            .collect(),
        not_listed: list.not_listed,
        nothing_logged: list.nothing_logged,
        mostly_unlogged: list.mostly_unlogged.map(Into::into),
        settings_not_shared,
        note: (!list.has_policy)
            .then_some("The club has no policy for this week, so nothing was judged."),
        caution: CAUTION,
        ratio_note: RATIO_NOTE,
    }
}

impl From<plimsoll_domain::MostlyUnlogged<AthleteId>> for MostlyUnlogged {
    fn from(line: plimsoll_domain::MostlyUnlogged<AthleteId>) -> Self {
        Self {
            expected_sessions: line.expected,
            unlogged_sessions: line.unlogged,
            athletes: line.athletes,
            sentence: line.sentence,
        }
    }
}
