//! The arithmetic of figures: the days they are made of, each with its sessions, what counts of each and
//! where it comes from, and the policy.
//!
//! Counted from the record itself, not from stored totals.

mod formulas;

pub use formulas::Formula;

use std::collections::{BTreeMap, BTreeSet};

use formulas::formulas;
use jiff::civil::Date;
use plimsoll_domain::{Absence, DayTotal, Minutes, Setting};
use serde::Serialize;
use utoipa::ToSchema;

use super::contradictions::Reported;
use super::day_totals::{Counted, Share, shares};
use super::figures::{Asked, AthleteDays, at_most, load};
use super::policy::body::PolicyBody;
use super::policy::{Part, Policies};
use super::schedule::record::Record;
use super::schedule::standing::SessionStanding;
use crate::auth::Scope;
use crate::auth::tenant::Caller;
use crate::error::Problem;
use crate::ids::{AthleteId, EventId, SessionId};
use crate::store::Conn;
use crate::store::expected::ExpectedSession;
use crate::web::figures::LoadBounds;

/// The arithmetic behind an answer.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Explanation {
    /// The first membership date.
    #[schema(value_type = String, format = Date)]
    pub member_since: Date,
    /// Which policy was in force when.
    pub policies: Vec<PolicyInForce>,
    /// How each figure follows from the days.
    #[schema(value_type = Vec<Formula>)]
    pub formulas: Vec<Formula>,
    /// Every date the figures look back to.
    pub days: Vec<ExplainedDay>,
}

/// The policy of some dates.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct PolicyInForce {
    /// First date.
    #[schema(value_type = String, format = Date)]
    pub from: Date,
    /// Last date.
    #[schema(value_type = String, format = Date)]
    pub to: Date,
    /// Its version; null where the club had none.
    pub policy_version: Option<u32>,
    /// Its rules and choices; null for callers who may not see the policy.
    #[schema(value_type = Option<PolicyBody>)]
    pub policy: Option<PolicyBody>,
}

/// A date, and what its load is made of.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "date": "2026-11-03", "state": "partly_reported", "in_absence": false, "in_long_absence": false,
    "load_au": {"point": 552.5, "low": 450.0, "high": 1035.0},
    "sessions": [{
        "session_id": "0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b", "setting": "club",
        "event_id": "0199a1b2-4444-7e4f-8a5b-6c7d8e9f0a1b",
        "kind": "practice", "rpe": 6.5, "minutes": 85, "minutes_from": "attendance",
        "planned_minutes": 90, "attended_minutes": 85,
        "load_au": {"point": 552.5, "low": 450.0, "high": 585.0}, "counts_in_low": true,
        "reports": [{"session_id": "0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b", "source": "club-app",
            "given_by": "athlete", "rpe": 6.5, "minutes": 75, "rpe_counts": true}]}],
    "unlogged": [{"event_id": "0199a1b2-5555-7e4f-8a5b-6c7d8e9f0a1b",
        "setting": "prescribed_home", "kind": "strength", "minutes": 45, "at_most_au": 450.0}], "shared": []}))]
pub struct ExplainedDay {
    /// The date.
    #[schema(value_type = String, format = Date)]
    pub date: Date,
    /// What is known about the day.
    #[schema(value_type = String)]
    pub state: &'static str,
    /// Whether it lies within an absence, whatever was reported on it.
    pub in_absence: bool,
    /// Whether that absence is of 14 days or more, so that no ratio is given while the 28 days hold one of it.
    pub in_long_absence: bool,
    /// Its load with the bounds.
    pub load_au: LoadBounds,
    /// The sessions that count on it.
    pub sessions: Vec<ExplainedSession>,
    /// What other organisations share of the date.
    pub shared: Vec<ExplainedShared>,
    /// Planned sessions that are over and not answered.
    pub unlogged: Vec<ExplainedUnlogged>,
}

/// What another organisation shares of a date.
#[derive(Debug, Clone, Copy, Serialize, ToSchema)]
#[schema(example = json!({"minutes": 90, "load_au": 450.0}))]
pub struct ExplainedShared {
    /// Minutes.
    pub minutes: i32,
    /// Load; it belongs to the day's lower bound as far as it is more than what she reports of a second club herself.
    pub load_au: f64,
}

/// A session, and what counts of it on the date.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct ExplainedSession {
    /// The report whose rating counts.
    pub session_id: SessionId,
    /// The planned session it is.
    pub event_id: Option<EventId>,
    /// Who ran it.
    #[schema(value_type = String)]
    pub setting: &'static str,
    /// What was done.
    #[schema(value_type = String)]
    pub kind: &'static str,
    /// Session RPE that counts.
    pub rpe: f64,
    /// Minutes that count on this date.
    pub minutes: u16,
    /// Where the minutes come from: report, schedule or attendance.
    #[schema(value_type = String)]
    pub minutes_from: &'static str,
    /// Planned minutes; null where nothing was planned, or it was called off.
    pub planned_minutes: Option<u16>,
    /// Minutes on the attendance list.
    pub attended_minutes: Option<u16>,
    /// RPE x minutes, and the range its sources dispute.
    pub load_au: LoadBounds,
    /// Whether it belongs to the day's lower bound: not where it overlaps a heavier session.
    pub counts_in_low: bool,
    /// What was reported of it.
    pub reports: Vec<Reported>,
}

/// A planned session that is not answered.
#[derive(Debug, Clone, Copy, Serialize, ToSchema)]
pub struct ExplainedUnlogged {
    /// The planned session.
    pub event_id: EventId,
    /// Who runs it.
    #[schema(value_type = String)]
    pub setting: &'static str,
    /// What is done.
    #[schema(value_type = String)]
    pub kind: &'static str,
    /// Minutes it can have lasted.
    pub minutes: i32,
    /// The most it can have been: session RPE 10 for those minutes.
    pub at_most_au: f64,
}

/// Explains the figures made of an athlete's days. `asked` is what the days were read by.
pub fn explain(
    conn: &mut Conn,
    caller: &Caller,
    days: &AthleteDays,
    asked: &Asked,
    policies: &Policies,
) -> Result<Explanation, Problem> {
    let athletes = [days.athlete.athlete_id];
    let dates = (asked.first, asked.last);
    let record = Record::read(conn, caller.tenant, &athletes, dates, asked.known)?;
    explanation(caller, days, &record.sessions()?, asked, policies)
}

/// What figures of several athletes were made of.
#[derive(Debug)]
pub struct Read {
    /// What was asked of the record.
    pub asked: Asked,
    /// The policies they were judged by.
    pub policies: Policies,
    /// The days of each.
    pub days: Vec<AthleteDays>,
}

impl Read {
    /// The arithmetic of the figures of some of the athletes.
    pub fn explain(
        &self,
        conn: &mut Conn,
        caller: &Caller,
        shown: &BTreeSet<AthleteId>,
    ) -> Result<BTreeMap<AthleteId, Explanation>, Problem> {
        let days = self.days.iter();
        let days = days.filter(|days| shown.contains(&days.athlete.athlete_id));
        explain_each(conn, caller, days, &self.asked, &self.policies)
    }
}

/// Explains the figures of several athletes, whose record is read at once.
fn explain_each<'a>(
    conn: &mut Conn,
    caller: &Caller,
    days: impl Iterator<Item = &'a AthleteDays> + Clone,
    asked: &Asked,
    policies: &Policies,
) -> Result<BTreeMap<AthleteId, Explanation>, Problem> {
    let id = |days: &AthleteDays| days.athlete.athlete_id;
    let athletes: Vec<AthleteId> = days.clone().map(id).collect();
    let dates = (asked.first, asked.last);
    let record = Record::read(conn, caller.tenant, &athletes, dates, asked.known)?;
    let sessions = record.sessions()?;
    let explained = days.map(|days| {
        let explanation = explanation(caller, days, &sessions, asked, policies)?;
        Ok((id(days), explanation))
    });
    explained.collect()
}

fn explanation(
    caller: &Caller,
    days: &AthleteDays,
    sessions: &BTreeMap<AthleteId, Vec<SessionStanding<'_>>>,
    asked: &Asked,
    policies: &Policies,
) -> Result<Explanation, Problem> {
    let of_athlete = sessions.get(&days.athlete.athlete_id);
    let of_athlete = of_athlete.map_or(&[][..], Vec::as_slice);
    let of_date = sessions_by_date(of_athlete, asked, policies)?;
    Ok(Explanation {
        member_since: days.athlete.joined_on,
        policies: policies_in_force(caller, asked, policies),
        formulas: formulas(),
        days: explained_days(days, asked, of_date)?,
    })
}

fn policies_in_force(caller: &Caller, asked: &Asked, policies: &Policies) -> Vec<PolicyInForce> {
    let readable = caller.principal.role.allows(Scope::ReadPolicy);
    let in_force = |part: Part| {
        let policy = policies.at(part.from);
        PolicyInForce {
            from: part.from,
            to: part.to,
            policy_version: policy.map(|policy| policy.version),
            policy: policy
                .filter(|_| readable)
                .map(|policy| PolicyBody::of(policy)),
        }
    };
    let parts = policies.parts(asked.first, asked.last).into_iter();
    parts.map(in_force).collect()
}

/// What other organisations share of a date, where it counts.
fn shared_on(
    days: &AthleteDays,
    asked: &Asked,
    date: Date,
) -> Result<Vec<ExplainedShared>, Problem> {
    let shared = days.elsewhere.shared.iter();
    let on_date = shared.filter(|one| one.date == date && asked.wants(Setting::SecondClub));
    let explained = on_date.map(|one| {
        Ok(ExplainedShared {
            minutes: one.minutes,
            load_au: load(one.load_half)?.to_au(),
        })
    });
    explained.collect()
}

fn explained_days(
    days: &AthleteDays,
    asked: &Asked,
    mut of_date: BTreeMap<Date, Vec<ExplainedSession>>,
) -> Result<Vec<ExplainedDay>, Problem> {
    let Some(series) = &days.series else {
        return Ok(Vec::new());
    };
    let dates = std::iter::successors(Some(series.first()), |date| date.tomorrow().ok());
    let explained = |(date, day): (Date, &DayTotal)| {
        let unlogged = days.unlogged.iter().filter(|one| one.load_date == date);
        Ok(ExplainedDay {
            date,
            state: day.state().code(),
            in_absence: day.absence() != Absence::None,
            in_long_absence: day.absence() == Absence::Long,
            load_au: day.load().into(),
            sessions: of_date.remove(&date).unwrap_or_default(),
            shared: shared_on(days, asked, date)?,
            unlogged: unlogged
                .map(unlogged_session)
                .collect::<Result<_, Problem>>()?,
        })
    };
    dates.zip(series.days()).map(explained).collect()
}

/// The sessions that count, by the dates their load falls on.
fn sessions_by_date(
    sessions: &[SessionStanding<'_>],
    asked: &Asked,
    policies: &Policies,
) -> Result<BTreeMap<Date, Vec<ExplainedSession>>, Problem> {
    let counting = sessions
        .iter()
        .filter_map(|one| Some((one, one.as_counted()?)));
    let (standing, counted): (Vec<&SessionStanding<'_>>, Vec<Counted>) = counting.unzip();
    let mut of_date: BTreeMap<Date, Vec<ExplainedSession>> = BTreeMap::new();
    for share in shares(&counted, |date| policies.splits_at_midnight(date)) {
        if asked.wants(counted[share.session].setting) {
            let session =
                explained_session(standing[share.session], &counted[share.session], share)?;
            of_date.entry(share.date).or_default().extend(session);
        }
    }
    Ok(of_date)
}

fn explained_session(
    standing: &SessionStanding<'_>,
    counted: &Counted,
    share: Share,
) -> Result<Option<ExplainedSession>, Problem> {
    let (Some(leading), Some(counts)) = (standing.leading(), standing.counted) else {
        return Ok(None);
    };
    let reports = standing.reports.iter();
    Ok(Some(ExplainedSession {
        session_id: leading.session_id,
        event_id: standing.planned.map(|plan| plan.event.event_id),
        setting: counted.setting.code(),
        kind: leading.kind.code(),
        rpe: counted.rpe.to_f64(),
        minutes: share.minutes.get(),
        minutes_from: counts.from.code(),
        planned_minutes: standing.planned_minutes().map(Minutes::get),
        attended_minutes: standing.attended_minutes().map(Minutes::get),
        load_au: share.load.into(),
        counts_in_low: share.counts_in_low,
        reports: reports
            .map(|report| Reported::new(report, Some(leading.session_id)))
            .collect::<Result<_, Problem>>()?,
    }))
}

fn unlogged_session(one: &ExpectedSession) -> Result<ExplainedUnlogged, Problem> {
    Ok(ExplainedUnlogged {
        event_id: one.event_id,
        setting: one.setting.code(),
        kind: one.kind.code(),
        minutes: one.minutes,
        at_most_au: at_most(one)?.to_au(),
    })
}
