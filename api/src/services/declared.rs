//! What a joiner says of the time before: a range, labelled as declared, never mixed into a figure.

use jiff::Timestamp;
use plimsoll_domain::{
    DeclaredHistory as Declared, FigureSettings, Fraction, Load, Places, Policy, RatioKind, Rpe,
    RuleCode,
};
use serde::{Deserialize, Serialize};
use serde_json::Number;
use utoipa::ToSchema;

use super::fields::{self, Faults};
use super::write::Change;
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::AthleteId;
use crate::store::declared::{self, DeclaredHistory};
use crate::store::{self, Known, Versioned};

/// What every answer about it says.
pub const LABEL: &str = "declared, not logged";

/// A range of whole minutes.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MinutesRange {
    /// The least.
    #[schema(required = true, value_type = i32, minimum = 0, maximum = 3000)]
    pub low: Option<Number>,
    /// The most.
    #[schema(required = true, value_type = i32, minimum = 0, maximum = 3000)]
    pub high: Option<Number>,
}

/// A range of ratings.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RpeRange {
    /// The lowest.
    #[schema(required = true, value_type = f64, minimum = 0, maximum = 10, multiple_of = 0.5)]
    pub low: Option<Number>,
    /// The highest.
    #[schema(required = true, value_type = f64, minimum = 0, maximum = 10, multiple_of = 0.5)]
    pub high: Option<Number>,
}

/// A usual week before joining: always a range.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "weekly_minutes": {"low": 240, "high": 360}, "rpe": {"low": 4, "high": 6},
    "given_by": "guardian"}))]
pub struct DeclaredInput {
    /// Minutes of a usual week, all settings together.
    #[schema(value_type = MinutesRange)]
    pub weekly_minutes: Option<MinutesRange>,
    /// Usual session RPE.
    #[schema(value_type = RpeRange)]
    pub rpe: Option<RpeRange>,
    /// Who said so: athlete, guardian or coach; assumed from the acting role.
    pub given_by: Option<String>,
}

/// A range of numbers.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, ToSchema)]
#[schema(example = json!({"low": 960.0, "high": 2160.0}))]
pub struct Range {
    /// The least.
    pub low: f64,
    /// The most.
    pub high: f64,
}

/// The ratio a week would have after three usual weeks.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
#[schema(example = json!({"kind": "coupled", "week_load_au": 1500.0, "low": 0.7519, "high": 1.3699,
    "reason": null}))]
pub struct DeclaredRatio {
    /// coupled or uncoupled.
    #[schema(value_type = String)]
    pub kind: &'static str,
    /// The week asked about.
    pub week_load_au: f64,
    /// The least it would be.
    pub low: Option<f64>,
    /// The most it would be.
    pub high: Option<f64>,
    /// Why there is none.
    #[schema(value_type = Option<String>)]
    pub reason: Option<&'static str>,
}

/// What was declared, and what follows from it alone.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b",
    "weekly_minutes": {"low": 240.0, "high": 360.0}, "rpe": {"low": 4.0, "high": 6.0},
    "given_by": "guardian", "received_at": "2026-09-01T18:02:11Z", "version": 1,
    "label": "declared, not logged", "weekly_load_au": {"low": 960.0, "high": 2160.0},
    "limit_au": {"low": 1728.0, "high": 3888.0}, "ratio": null}))]
pub struct DeclaredAnswer {
    /// Whose it is.
    pub athlete_id: AthleteId,
    /// Minutes of a usual week.
    pub weekly_minutes: Range,
    /// Usual session RPE.
    pub rpe: Range,
    /// Who said so.
    #[schema(value_type = String)]
    pub given_by: &'static str,
    /// When it was received.
    #[schema(value_type = String, format = DateTime)]
    pub received_at: Timestamp,
    /// 1, 2, 3, …; also the ETag.
    pub version: i32,
    /// What the figures below are.
    pub label: &'static str,
    /// Load of a usual week.
    pub weekly_load_au: Range,
    /// The load that would just meet the club's limit on the ratio after three usual weeks; null without
    /// such a rule, and for those who may not see the policy.
    pub limit_au: Option<Range>,
    /// The ratio of the week asked about after three usual weeks.
    pub ratio: Option<DeclaredRatio>,
}

/// By what a declaration is set against a week.
#[derive(Debug, Clone, Copy)]
pub struct Against<'a> {
    /// The policy in force, for callers who may see it.
    pub policy: Option<&'a Policy>,
    /// What figures are computed with.
    pub settings: FigureSettings,
    /// The load of the week asked about.
    pub week: Option<Load>,
}

impl DeclaredAnswer {
    /// The answer for a stored version.
    pub fn new(stored: &Versioned<DeclaredHistory>, against: Against<'_>) -> Result<Self, Problem> {
        let content = &stored.content;
        let declared = as_declared(content)?;
        let (low, high) = declared.week();
        let rule = against.policy.and_then(|policy| {
            let rule = policy.rule(RuleCode::WeekEndRatio)?;
            rule.enabled.then_some(rule)
        });
        let kind = rule.and_then(|rule| rule.ratio_kind);
        let limit = rule
            .zip(kind)
            .and_then(|(rule, kind)| declared.limit_au(kind, rule.limit));
        let rpe = |half: i32| f64::from(half) / 2.0;
        Ok(Self {
            athlete_id: content.athlete_id,
            weekly_minutes: Range {
                low: content.weekly_minutes_low.into(),
                high: content.weekly_minutes_high.into(),
            },
            rpe: Range {
                low: rpe(content.rpe_half_low),
                high: rpe(content.rpe_half_high),
            },
            given_by: content.given_by.code(),
            received_at: stored.version.received_at,
            version: stored.version.number,
            label: LABEL,
            weekly_load_au: Range {
                low: low.to_au(),
                high: high.to_au(),
            },
            limit_au: limit.map(rounded),
            ratio: against.week.map(|week| {
                let kind = kind.unwrap_or(RatioKind::Coupled);
                ratio(&declared, kind, week, &against.settings)
            }),
        })
    }
}

fn ratio(
    declared: &Declared,
    kind: RatioKind,
    week: Load,
    settings: &FigureSettings,
) -> DeclaredRatio {
    let found = declared.ratio(kind, week, settings.chronic_floor);
    let range = found.ok().map(rounded);
    DeclaredRatio {
        kind: kind.code(),
        week_load_au: week.to_au(),
        low: range.map(|range| range.low),
        high: range.map(|range| range.high),
        reason: found.err().map(plimsoll_domain::Reason::code),
    }
}

fn rounded((low, high): (Fraction, Fraction)) -> Range {
    let four = |value: Fraction| value.round(Places::Four).to_f64();
    Range {
        low: four(low),
        high: four(high),
    }
}

/// Stores what is declared for an athlete: for the first time, anew, or unchanged. Says whether it is
/// there for the first time.
pub fn enter(
    change: &mut Change<'_>,
    athlete_id: AthleteId,
    input: &DeclaredInput,
) -> Result<(Versioned<DeclaredHistory>, bool), Problem> {
    let wanted = checked(change, athlete_id, input)?;
    let tenant = change.tenant();
    let known = declared::of_athlete(change.conn, tenant, athlete_id, Known::Now)?;
    let new = known.is_none();
    match known {
        None => change.store_with(|conn, tenant, moment, author| {
            declared::insert(conn, tenant, moment, author, &[wanted])
        })?,
        Some(known) => {
            let content = DeclaredHistory {
                declared_id: known.content.declared_id,
                ..wanted
            };
            if content == known.content {
                return Ok((known, false));
            }
            let next = store::Change {
                replaces: known.version.number,
                content,
                deleted: false,
            };
            change.store_with(|conn, tenant, moment, author| {
                declared::supersede(conn, tenant, moment, author, &[next])
            })?;
        }
    }
    let stored = declared::of_athlete(change.conn, tenant, athlete_id, Known::Now)?;
    Ok((stored.ok_or_else(Problem::not_found)?, new))
}

/// Takes it back.
pub fn remove(change: &mut Change<'_>, current: Versioned<DeclaredHistory>) -> Result<(), Problem> {
    let tombstone = store::Change::tombstone(current);
    Ok(change.store_with(|conn, tenant, moment, author| {
        declared::supersede(conn, tenant, moment, author, &[tombstone])
    })?)
}

fn checked(
    change: &mut Change<'_>,
    athlete_id: AthleteId,
    input: &DeclaredInput,
) -> Result<DeclaredHistory, Problem> {
    let mut faults = Faults::default();
    let minutes = minutes(input.weekly_minutes.as_ref(), &mut faults);
    let rpe = rpe(input.rpe.as_ref(), &mut faults);
    let role = change.caller.principal.role;
    let given_by = faults.take(fields::given_by(input.given_by.as_deref(), role));
    let declared_id = change.new_id();
    let made = (|| {
        let (minutes, rpe) = (minutes?, rpe?);
        Some(DeclaredHistory {
            declared_id,
            athlete_id,
            weekly_minutes_low: minutes.0.into(),
            weekly_minutes_high: minutes.1.into(),
            rpe_half_low: rpe.0.half_steps().into(),
            rpe_half_high: rpe.1.half_steps().into(),
            given_by: given_by?,
        })
    })();
    faults.settle(made)
}

fn minutes(given: Option<&MinutesRange>, faults: &mut Faults) -> Option<(u16, u16)> {
    let Some(given) = given else {
        faults.extend([FieldProblem::missing("/weekly_minutes", "low and high")]);
        return None;
    };
    let low = faults.take(weekly("/weekly_minutes/low", given.low.as_ref()));
    let high = faults.take(weekly("/weekly_minutes/high", given.high.as_ref()));
    let (low, high) = low.zip(high)?;
    in_order("/weekly_minutes/high", low, high, faults)
}

fn weekly(pointer: &str, given: Option<&Number>) -> Result<u16, FieldProblem> {
    let allowed = format!("whole number from 0 to {}", Declared::MAX_MINUTES);
    let given = given.ok_or_else(|| FieldProblem::missing(pointer, allowed.clone()))?;
    let minutes = fields::whole(given).and_then(|minutes| u16::try_from(minutes).ok());
    minutes
        .filter(|minutes| *minutes <= Declared::MAX_MINUTES)
        .ok_or_else(|| FieldProblem::new(pointer, Code::OutOfRange, given.clone()).allowed(allowed))
}

fn rpe(given: Option<&RpeRange>, faults: &mut Faults) -> Option<(Rpe, Rpe)> {
    let Some(given) = given else {
        faults.extend([FieldProblem::missing("/rpe", "low and high")]);
        return None;
    };
    let low = faults.take(fields::rpe("/rpe/low", given.low.as_ref()));
    let high = faults.take(fields::rpe("/rpe/high", given.high.as_ref()));
    let (low, high) = low.zip(high)?;
    in_order("/rpe/high", low, high, faults)
}

fn in_order<T: PartialOrd>(pointer: &str, low: T, high: T, faults: &mut Faults) -> Option<(T, T)> {
    if low <= high {
        return Some((low, high));
    }
    let fault = FieldProblem {
        given: None,
        ..FieldProblem::new(pointer, Code::RangeReversed, ())
    };
    faults.extend([fault.allowed("no less than low")]);
    None
}

/// A stored declaration was checked before it was stored; one that no longer passes is a defect.
fn as_declared(content: &DeclaredHistory) -> Result<Declared, Problem> {
    let minutes = |minutes: i32| u16::try_from(minutes).ok();
    let rpe = |half: i32| Rpe::from_half_steps(u8::try_from(half).ok()?).ok();
    let read = || {
        Declared::new(
            (
                minutes(content.weekly_minutes_low)?,
                minutes(content.weekly_minutes_high)?,
            ),
            (rpe(content.rpe_half_low)?, rpe(content.rpe_half_high)?),
        )
    };
    read().ok_or_else(|| Problem::internal(&"a stored declaration is out of range"))
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    fn faults_of(body: serde_json::Value) -> Vec<(String, Code)> {
        let input: DeclaredInput = serde_json::from_value(body).unwrap();
        let mut faults = Faults::default();
        minutes(input.weekly_minutes.as_ref(), &mut faults);
        rpe(input.rpe.as_ref(), &mut faults);
        let faults = faults.into_vec().into_iter();
        faults.map(|fault| (fault.pointer, fault.code)).collect()
    }

    #[test]
    fn every_fault_of_a_range_is_named() {
        let good =
            json!({"weekly_minutes": {"low": 0, "high": 3000}, "rpe": {"low": 4, "high": 4}});
        assert_eq!(faults_of(good), []);
        let found =
            faults_of(json!({"weekly_minutes": {"low": 3001}, "rpe": {"low": 6, "high": 5.5}}));
        let found: Vec<_> = found
            .iter()
            .map(|(at, code)| (at.as_str(), *code))
            .collect();
        assert_eq!(
            found,
            [
                ("/weekly_minutes/low", Code::OutOfRange),
                ("/weekly_minutes/high", Code::MissingField),
                ("/rpe/high", Code::RangeReversed),
            ]
        );
        assert_eq!(faults_of(json!({})).len(), 2);
    }
}
