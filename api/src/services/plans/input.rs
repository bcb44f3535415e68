//! A plan as it is sent, and what it is judged after.

use plimsoll_domain::plan::Plan;
use serde::Deserialize;
use serde_json::Number;
use utoipa::ToSchema;

use crate::services::contacts::LandingsInput;
use crate::services::programmes::NamedProgramme;
use crate::services::warm_ups::WarmUpBody;
use crate::web::object;

/// Most entries of each list of sessions.
pub const MOST_ENTRIES: usize = 1_000;
/// Most weeks of one entry.
pub const MOST_WEEKS: usize = Plan::MAX_WEEKS as usize;
/// Most weeks of a typed history: as far as an own highest week looks back.
pub const MOST_TYPED_WEEKS: usize = 26;
/// Most sessions that they may come to when those of several weeks are counted in each.
pub const MOST_SESSIONS: usize = 3_000;

/// A plan of whole weeks: a stored programme, sessions, or both. Sessions that recur stand once, with the numbers of their weeks.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"first_week": "2026-W32", "weeks": 2,
    "sessions": [
        {"name": "team practice", "weekday": "monday", "in_weeks": [1, 2], "start": "17:30", "setting": "club", "kind": "practice",
         "minutes": 90, "intended_rpe": 5},
        {"date": "2026-08-04", "setting": "prescribed_home", "kind": "strength", "minutes": 45, "intended_rpe": 5, "least_minutes": 20}],
    "calendar": [
        {"name": "cup game", "date": "2026-08-15", "setting": "club", "kind": "game", "minutes": 60, "intended_rpe": 8}]}))]
pub struct PlanInput {
    /// Its first ISO week.
    #[schema(example = "2026-W32")]
    pub first_week: String,
    /// How many weeks it has; as many as the programme unless given.
    #[schema(value_type = Option<i32>, minimum = 1, maximum = 60)]
    pub weeks: Option<Number>,
    /// A stored programme, from its first week on; its sessions may be changed, and need minutes and an intended RPE.
    pub programme: Option<NamedProgramme>,
    /// What is planned beside it and may be changed; needed where no programme is named.
    #[serde(
        default,
        deserialize_with = "object::some_list_at_most::<MOST_ENTRIES, _, _>"
    )]
    #[schema(value_type = Option<Vec<PlanSessionInput>>, max_items = 1000)]
    pub sessions: Option<Vec<PlanSessionInput>>,
    /// What is fixed and may be neither cut nor moved, such as games and try-outs.
    #[serde(
        default,
        deserialize_with = "object::list_at_most::<MOST_ENTRIES, _, _>"
    )]
    #[schema(max_items = 1000)]
    pub calendar: Vec<PlanSessionInput>,
}

/// A planned session: on a date, or on a weekday of some weeks of the plan.
#[derive(Debug, Clone, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"weekday": "monday", "in_weeks": [1, 2], "start": "17:30", "setting": "club", "kind": "practice",
    "minutes": 90, "intended_rpe": 5}))]
pub struct PlanSessionInput {
    /// What to call it in answers, 1 to 200 characters.
    #[schema(min_length = 1, max_length = 200)]
    pub name: Option<String>,
    /// Its date; or `weekday` and `in_weeks`.
    #[schema(value_type = Option<String>, format = Date)]
    pub date: Option<String>,
    /// monday, tuesday, wednesday, thursday, friday, saturday or sunday.
    pub weekday: Option<String>,
    /// Numbers of weeks of the plan, the first being 1.
    #[serde(default, deserialize_with = "object::some_at_most::<MOST_WEEKS, _, _>")]
    #[schema(value_type = Option<Vec<i32>>, max_items = 60)]
    pub in_weeks: Option<Vec<Number>>,
    /// When it starts, HH:MM; without it, before all others of the day.
    pub start: Option<String>,
    /// Who runs it: club, school_team, pe, second_club, prescribed_home, private, free.
    #[schema(value_type = String)]
    pub setting: Option<String>,
    /// What is done: practice, game, strength, conditioning, rehabilitation, other.
    #[schema(value_type = String)]
    pub kind: Option<String>,
    /// Planned minutes, whole, 1 to 600.
    #[schema(required = true, value_type = i32, minimum = 1, maximum = 600)]
    pub minutes: Option<Number>,
    /// How hard it is meant to be: session RPE, 0 to 10 in steps of 0.5.
    #[schema(required = true, value_type = f64, minimum = 0, maximum = 10, multiple_of = 0.5)]
    pub intended_rpe: Option<Number>,
    /// Its planned landings; left out where they are not said, as those of games. Of `loaded` and `hands` none is planned unless given.
    pub landings: Option<LandingsInput>,
    /// Its neuromuscular warm-up; left out where it is not said whether it has one.
    pub warm_up: Option<WarmUpBody>,
    /// The least that is kept where it is shortened; without it, it may be left out.
    #[schema(value_type = Option<i32>, minimum = 1, maximum = 600)]
    pub least_minutes: Option<Number>,
}

/// A history that is typed: loads of the weeks, or of the days, up to the Sunday before the plan. An empty list says that nothing is
/// known.
#[derive(Debug, Clone, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"week_loads_au": [550, 550, 550, 550], "birth_date": "2010-03-14"}))]
pub struct HistoryInput {
    /// Loads of whole weeks, the latest last; each is taken as spread evenly over its days.
    #[schema(value_type = Option<Vec<f64>>, max_items = 26)]
    pub week_loads_au: Option<Vec<Option<Number>>>,
    /// Loads of days, the latest last; 0 for a day without training.
    #[schema(value_type = Option<Vec<f64>>, max_items = 182)]
    pub day_loads_au: Option<Vec<Option<Number>>>,
    /// What limits on hours go by.
    #[schema(value_type = Option<String>, format = Date)]
    pub birth_date: Option<String>,
}

/// A limit on the ratio instead of the policy's; the other rules of the policy stay.
#[derive(Debug, Clone, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"ratio_kind": "coupled", "limit": 1.3}))]
pub struct LimitInput {
    /// coupled or uncoupled.
    #[schema(value_type = String)]
    pub ratio_kind: Option<String>,
    /// The limit, above 1, at most four decimals; a coupled one is below 4.
    #[schema(required = true, value_type = f64, minimum = 1, maximum = 100)]
    pub limit: Option<Number>,
}

/// How many weeks a plan may have, as a refusal says it.
pub fn allowed_weeks() -> String {
    format!("whole number from 1 to {}", Plan::MAX_WEEKS)
}
