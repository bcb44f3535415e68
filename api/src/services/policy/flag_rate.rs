//! How many new findings the policy brings: the flags of the weeks closed last, beside the budget.
//!
//! A new finding is a flag that was raised: one athlete, rule and week, counted once, also where it was
//! withdrawn later, since the coach had read it by then.

use std::collections::BTreeMap;

use plimsoll_domain::rehearsal::{BUDGET, a_week_per_15_athletes};
use plimsoll_domain::{IsoWeek, Places};
use serde::Serialize;
use utoipa::ToSchema;

use super::Policies;
use crate::error::Problem;
use crate::store::{Conn, Known, Tenant, Who, athletes, flags, weeks, withheld_weeks};

/// Weeks looked at.
const WEEKS: i64 = 8;

const NOTE: &str = "New findings are flags raised for an athlete, rule and week, withdrawn ones included. The budget is common \
    practice, no source: above it nobody reads the list to its end. A limit is changed for its reasons, not to meet the budget.";

/// How many new findings the policy brought.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"athlete_weeks": 224, "new_findings": 45, "a_week_per_15_athletes": 3.0134,
    "budget_a_week_per_15_athletes": 3, "over_budget": true,
    "rules": [{"code": "week_end_ratio", "new_findings": 45, "a_week_per_15_athletes": 3.0134}],
    "weeks": [{"week": "2026-W45", "athletes": 28, "new_findings": 6, "a_week_per_15_athletes": 3.2143}],
    "withheld_weeks": [],
    "note": "New findings are flags raised for an athlete, rule and week, withdrawn ones included."}))]
pub struct FlagRateAnswer {
    /// Weeks of athletes that were judged.
    pub athlete_weeks: u32,
    /// Flags raised in them.
    pub new_findings: u32,
    /// New findings in a week of a squad of 15; null where no week was judged.
    pub a_week_per_15_athletes: Option<f64>,
    /// What they should not exceed over a season.
    pub budget_a_week_per_15_athletes: u32,
    /// Whether they do; null where no week was judged.
    pub over_budget: Option<bool>,
    /// By rule, those that raised any.
    pub rules: Vec<RuleRate>,
    /// By week, the newest first: at most the last eight that are closed and had a policy.
    pub weeks: Vec<WeekRate>,
    /// Of these weeks those that are counted nowhere here, since records of an athlete were erased: the difference would be hers.
    pub withheld_weeks: Vec<String>,
    /// What is counted.
    pub note: &'static str,
}

/// New findings of one rule.
#[derive(Debug, Serialize, ToSchema)]
pub struct RuleRate {
    /// The rule.
    pub code: String,
    /// Flags raised.
    pub new_findings: u32,
    /// In a week of a squad of 15.
    pub a_week_per_15_athletes: Option<f64>,
}

/// New findings of one week.
#[derive(Debug, Serialize, ToSchema)]
pub struct WeekRate {
    /// The week.
    #[schema(example = "2026-W45")]
    pub week: String,
    /// Athletes judged.
    pub athletes: u32,
    /// Flags raised.
    pub new_findings: u32,
    /// In a squad of 15.
    pub a_week_per_15_athletes: Option<f64>,
}

/// Counts the new findings of the weeks closed last: one query a table.
pub fn read(conn: &mut Conn, tenant: Tenant) -> Result<FlagRateAnswer, Problem> {
    let policies = Policies::read(conn, tenant, Known::Now)?;
    let mut judged = Vec::new();
    for closed in weeks::newest(conn, tenant, WEEKS)? {
        let week = IsoWeek::of(closed.monday).map_err(|error| Problem::internal(&error))?;
        if policies.at(week.sunday()).is_some() {
            judged.push(week);
        }
    }
    let withheld = withheld(conn, tenant, &mut judged)?;
    let (Some(last), Some(first)) = (judged.first(), judged.last()) else {
        return answer(&[], &withheld);
    };
    let raised = flags::raised_in_weeks(conn, tenant, first.monday(), last.monday())?;
    let everybody = athletes::known(conn, tenant, Who::WholeClub, Known::Now)?;
    let of_week = |week: &IsoWeek| {
        let members = everybody.iter();
        let members = members.filter(|one| one.content.joined_on <= week.sunday());
        let raised = raised
            .iter()
            .filter(|(monday, ..)| *monday == week.monday());
        let by_rule = raised.map(|(_, rule, count)| (rule.as_str(), *count));
        Week {
            week: *week,
            athletes: members.count(),
            by_rule: by_rule.collect(),
        }
    };
    answer(&judged.iter().map(of_week).collect::<Vec<_>>(), &withheld)
}

/// Takes out the weeks from which an athlete's records were erased since: the difference to what was told before would be hers.
fn withheld(
    conn: &mut Conn,
    tenant: Tenant,
    judged: &mut Vec<IsoWeek>,
) -> Result<Vec<IsoWeek>, Problem> {
    let (Some(last), Some(first)) = (judged.first(), judged.last()) else {
        return Ok(Vec::new());
    };
    let mondays = withheld_weeks::of_club(conn, tenant, first.monday(), last.monday())?;
    let is_withheld = |week: &mut IsoWeek| mondays.contains(&week.monday());
    Ok(judged.extract_if(.., is_withheld).collect())
}

/// What was raised in one week.
struct Week<'a> {
    week: IsoWeek,
    athletes: usize,
    by_rule: BTreeMap<&'a str, i64>,
}

fn answer(weeks: &[Week<'_>], withheld: &[IsoWeek]) -> Result<FlagRateAnswer, Problem> {
    let athlete_weeks = number(weeks.iter().map(|week| week.athletes).sum::<usize>())?;
    let mut by_rule: BTreeMap<&str, i64> = BTreeMap::new();
    for (rule, count) in weeks.iter().flat_map(|week| &week.by_rule) {
        *by_rule.entry(rule).or_default() += count;
    }
    let rules = by_rule.iter().map(|(rule, count)| {
        let new_findings = number(*count)?;
        Ok(RuleRate {
            code: (*rule).to_owned(),
            new_findings,
            a_week_per_15_athletes: rate(new_findings, athlete_weeks),
        })
    });
    let by_week = weeks.iter().map(|week| {
        let (athletes, found) = (
            number(week.athletes)?,
            number(week.by_rule.values().sum::<i64>())?,
        );
        Ok(WeekRate {
            week: week.week.to_string(),
            athletes,
            new_findings: found,
            a_week_per_15_athletes: rate(found, athletes),
        })
    });
    let new_findings = number(by_rule.values().sum::<i64>())?;
    let budget = plimsoll_domain::Fraction::whole(i64::from(BUDGET));
    Ok(FlagRateAnswer {
        athlete_weeks,
        new_findings,
        a_week_per_15_athletes: rate(new_findings, athlete_weeks),
        budget_a_week_per_15_athletes: BUDGET,
        over_budget: a_week_per_15_athletes(new_findings, athlete_weeks).map(|rate| rate > budget),
        rules: rules.collect::<Result<_, Problem>>()?,
        weeks: by_week.collect::<Result<_, Problem>>()?,
        withheld_weeks: withheld.iter().map(ToString::to_string).collect(),
        note: NOTE,
    })
}

fn rate(findings: u32, athlete_weeks: u32) -> Option<f64> {
    let rate = a_week_per_15_athletes(findings, athlete_weeks)?;
    Some(rate.round(Places::Four).to_f64())
}

fn number<T: TryInto<u32, Error: std::fmt::Display>>(count: T) -> Result<u32, Problem> {
    count.try_into().map_err(|error| Problem::internal(&error))
}
