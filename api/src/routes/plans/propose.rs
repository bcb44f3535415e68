//! `POST …/change-proposals`.

use actix_web::{Responder, post, web};
use jiff::civil::Date;
use plimsoll_domain::IsoWeek;
use plimsoll_domain::plan::Plan;
use serde::Deserialize;
use serde_json::Number;
use utoipa::ToSchema;

use super::proposal::ChangeProposal;
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{AthleteId, ClubId};
use crate::services::fields::{self, Faults};
use crate::services::plans::changes::{BuildUpAsked, MoveAsked, OthersAsked, Wanted};
use crate::services::plans::input::{HistoryInput, LimitInput, PlanInput};
use crate::services::plans::stored::StoredPlan;
use crate::services::plans::{self, Asked, Given};
use crate::web::refusals::QuestionRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::CheckPlans;

/// Most days that a move may reach.
const MOST_DAYS: i64 = 14;

/// A plan to be changed, what it follows, and what is wanted beside the cuts of each week.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "plan": {"first_week": "2026-W45", "weeks": 1, "sessions": [
        {"name": "strength", "date": "2026-11-03", "setting": "prescribed_home", "kind": "strength", "minutes": 60, "intended_rpe": 5},
        {"name": "practice", "date": "2026-11-05", "setting": "club", "kind": "practice", "minutes": 90, "intended_rpe": 6}],
        "calendar": [{"date": "2026-11-07", "setting": "club", "kind": "game", "minutes": 195, "intended_rpe": 8}]},
    "history": {"week_loads_au": [950, 1000, 1400]}, "week": "2026-W45"}))]
pub struct ChangeProposalInput {
    /// The plan; what stands in its calendar is kept.
    plan: PlanInput,
    /// A history that is typed; or `athlete_id`.
    history: Option<HistoryInput>,
    /// The athlete whose logged history counts. The plan begins in the week after the one that runs, or earlier.
    #[schema(value_type = Option<AthleteId>)]
    athlete_id: Option<String>,
    /// A limit on the ratio instead of the policy's.
    limit: Option<LimitInput>,
    /// What had been received by this instant, with the policy, roster and programmes of then.
    #[schema(format = DateTime)]
    as_of: Option<String>,
    /// The week of the plan within which sessions are to be shortened.
    #[schema(example = "2026-W45")]
    week: Option<String>,
    /// The first date of that week that is still to come; its Monday unless given. Where it is given no session is moved from or to a date
    /// before it.
    #[schema(value_type = Option<String>, format = Date)]
    from: Option<String>,
    /// Where cuts do not suffice, how much more load the weeks before would take. That adds load: it is offered where it is asked for, and
    /// to some athletes never.
    build_up: Option<BuildUpInput>,
    /// Also the best move of one session by at most so many days.
    #[schema(value_type = Option<i32>, minimum = 1, maximum = 14)]
    move_within_days: Option<Number>,
    /// Also how many games fit, in weeks where cuts do not suffice.
    fewer_games: Option<bool>,
}

/// To whom a build-up may be offered.
#[derive(Debug, Clone, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"from_age": 16}))]
pub struct BuildUpInput {
    /// The least age in completed years, as the club has decided.
    #[schema(required = true, value_type = i32, minimum = 5, maximum = 100)]
    from_age: Option<Number>,
}

/// Propose changes of a plan
///
/// The smallest cuts that bring each week within the club's limit on the ratio, what is fixed being kept; and, of a week that is named,
/// which sessions to shorten, the least that does in steps of five minutes. A build-up, a move and fewer games are told where they are
/// asked for. A proposal is arithmetic for the coach who decides, and predicts nothing. Nothing is stored. For coaches alone; where an
/// athlete's history is read, that is entered in the audit list first.
#[utoipa::path(
    tag = "Plans",
    operation_id = "propose_changes",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path)),
    request_body = ChangeProposalInput,
    responses((status = 200, description = "The changes", body = ChangeProposal), QuestionRefusals)
)]
#[post("/v1/clubs/{club_id}/change-proposals")]
pub async fn propose(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    request: WriteRequest,
) -> Result<impl Responder, Problem> {
    let input: ChangeProposalInput = request.json()?;
    let named = (&input.plan, input.as_of.as_deref());
    let stored = StoredPlan::read(&app, &scope.caller, named).await?;
    let mut faults = Faults::default();
    let asked = Asked::check(input.given(stored.as_ref()), &mut faults);
    let plan = asked.as_ref().map(|asked| &asked.plan.plan);
    let wanted = input.wanted(plan, &mut faults);
    let (asked, wanted) = faults.settle(asked.zip(wanted))?;
    let ready = plans::ready(&app, &scope.caller, asked, "propose_changes").await?;
    plans::worked_out(move || {
        let athlete = ready.athletes.first().ok_or_else(Problem::not_found)?;
        let changes = ready.changes(athlete, &wanted)?;
        Reply::json(200, &ChangeProposal::of(&ready, athlete, &changes))
    })
    .await
}

impl ChangeProposalInput {
    fn given<'a>(&'a self, stored: Option<&'a StoredPlan>) -> Given<'a> {
        Given {
            plan: &self.plan,
            stored,
            history: self.history.as_ref(),
            athlete_id: self.athlete_id.as_deref(),
            squad_id: None,
            limit: self.limit.as_ref(),
            as_of: self.as_of.as_deref(),
        }
    }

    /// What is wanted beside the cuts of each week; the week is looked for where the plan can be read.
    fn wanted(&self, plan: Option<&Plan>, faults: &mut Faults) -> Option<Wanted> {
        let week = self.week.as_deref();
        let week = week.map(|week| faults.take(in_plan(week, plan)));
        let from = faults.take(self.from(week.flatten()));
        let to_come = from.flatten().filter(|_| self.from.is_some());
        let build_up = self.build_up.as_ref();
        let build_up = build_up.map(|asked| {
            let pointer = "/build_up/from_age";
            let age = faults.take(number(pointer, asked.from_age.as_ref(), (5, 100)))?;
            Some(BuildUpAsked { from_age: age })
        });
        let days = self.move_within_days.as_ref();
        let days =
            days.map(|days| faults.take(number("/move_within_days", Some(days), (1, MOST_DAYS))));
        let others = OthersAsked {
            build_up: build_up.map_or(Some(None), |asked| asked.map(Some))?,
            moved: days.map_or(Some(None), |days| {
                days.map(|days| {
                    Some(MoveAsked {
                        days,
                        from: to_come,
                    })
                })
            })?,
            fewer_games: self.fewer_games.unwrap_or(false),
        };
        let week = week.map_or(Some(None), |week| week.map(Some))?;
        Some(Wanted {
            week: week.zip(from?),
            others,
        })
    }

    /// The first date that is still to come; `None` without a week.
    fn from(&self, week: Option<IsoWeek>) -> Result<Option<Date>, FieldProblem> {
        let monday = week.map(IsoWeek::monday);
        let Some(given) = self.from.as_deref() else {
            return Ok(monday);
        };
        let date = fields::date("/from", Some(given))?;
        let Some(week) = week else {
            let fault = FieldProblem::missing("/week", "the week that the date is of");
            return self.week.as_ref().map_or(Err(fault), |_| Ok(None));
        };
        if (week.monday()..=week.sunday()).contains(&date) {
            return Ok(Some(date));
        }
        let fault = FieldProblem::new("/from", Code::OutOfRange, given);
        Err(fault.allowed(format!("{} to {}", week.monday(), week.sunday())))
    }
}

/// A week of the plan.
fn in_plan(given: &str, plan: Option<&Plan>) -> Result<IsoWeek, FieldProblem> {
    let week = fields::week("/week", given)?;
    let Some(plan) = plan else { return Ok(week) };
    let last = plan.weeks().last().unwrap_or(plan.first());
    if (plan.first()..=last).contains(&week) {
        return Ok(week);
    }
    let fault = FieldProblem::new("/week", Code::OutOfRange, week.to_string());
    Err(fault.allowed(format!("{} to {last}", plan.first())))
}

/// A whole number within a range.
fn number(
    pointer: &str,
    given: Option<&Number>,
    (least, most): (i64, i64),
) -> Result<u8, FieldProblem> {
    let allowed = format!("whole number from {least} to {most}");
    let given = given.ok_or_else(|| FieldProblem::missing(pointer, &allowed))?;
    let inside = fields::whole(given).filter(|number| (least..=most).contains(number));
    inside
        .and_then(|number| u8::try_from(number).ok())
        .ok_or_else(|| FieldProblem::new(pointer, Code::OutOfRange, given.clone()).allowed(allowed))
}
