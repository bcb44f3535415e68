//! Whose records are due: those of athletes who have left, whose terms are over and of which there still are rows.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;
use jiff::civil::Date;
use plimsoll_domain::RecordClass::{self, Consents, Identity};
use plimsoll_domain::retention::{Hold, Night, Over, erased, left_on};

use super::holds::{self, rule};
use crate::error::Problem;
use crate::ids::AthleteId;
use crate::store::retention::holds::RetentionHold;
use crate::store::{
    Conn, Known, Tenant, Who, consents, memberships, second_copies, subject_records,
};

/// An athlete with records whose terms are over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Leaver {
    /// Who.
    pub athlete_id: AthleteId,
    /// The last day of her last membership.
    pub left_on: Date,
    /// The classes, in the order in which they go.
    pub over: Vec<Over>,
    /// The holds that stand.
    pub holds: Vec<RetentionHold>,
    /// Those of the classes that go on that night; none while she is held.
    pub goes: Vec<RecordClass>,
}

/// The night before, with the instant of its run.
pub type Before<'a> = Option<(Night<'a>, Timestamp)>;

/// Everybody of a club with records that are due on a night, held or not, by id: one query a table.
pub fn leavers(
    conn: &mut Conn,
    tenant: Tenant,
    (tonight, before): (Night<'_>, Before<'_>),
) -> Result<Vec<Leaver>, Problem> {
    if tonight.terms.is_empty() {
        return Ok(Vec::new());
    }
    let mut over: BTreeMap<AthleteId, (Date, Vec<Over>)> = BTreeMap::new();
    for (athlete_id, left_on) in left(conn, tenant, Known::Now)? {
        over.insert(athlete_id, (left_on, tonight.over(left_on)));
    }
    over.retain(|_, (_, over)| !over.is_empty());
    let athletes: Vec<AthleteId> = over.keys().copied().collect();
    let kept = subject_records::kept(conn, tenant, &athletes)?;
    let mut held = holds::standing(conn, tenant, &athletes, tonight.date)?;
    for (second, first) in second_copies::joined(conn, tenant, Known::Now)? {
        if let Some(holds) = held.get(&first).cloned() {
            held.entry(second).or_default().extend(holds);
        }
    }
    let sharing = sharing(conn, tenant, &athletes)?;
    let left_then = match before {
        Some((_, run_at)) => left(conn, tenant, Known::AsOf(run_at))?,
        None => BTreeMap::new(),
    };
    let mut leavers = Vec::with_capacity(over.len());
    for (athlete_id, (left_on, mut over)) in over {
        over.retain(|one| kept.contains(&(athlete_id, one.class)));
        let holds = held.remove(&athlete_id).unwrap_or_default();
        let rules: Vec<Hold> = holds.iter().map(rule).collect();
        let before = before.map(|(night, _)| night);
        let before = before.zip(left_then.get(&athlete_id).copied());
        let mut goes = erased((tonight, left_on), before, &rules);
        goes.retain(|class| over.iter().any(|one| one.class == *class));
        if sharing.contains(&athlete_id) {
            // Without the consent nothing would say why another club has her days.
            goes.retain(|class| ![Consents, Identity].contains(class));
        }
        leavers.push(Leaver {
            athlete_id,
            left_on,
            over,
            holds,
            goes,
        });
    }
    leavers.retain(|leaver| !leaver.over.is_empty());
    Ok(leavers)
}

/// Those of whom another club has the days, by a consent that was not withdrawn.
fn sharing(
    conn: &mut Conn,
    tenant: Tenant,
    athletes: &[AthleteId],
) -> Result<BTreeSet<AthleteId>, Problem> {
    let given = consents::of(conn, tenant, Who::Athletes(athletes))?;
    let given = given.into_iter().map(|one| one.content);
    let standing = given.filter(|one| one.recipient_club.is_some() && one.withdrawn_at.is_none());
    Ok(standing.map(|one| one.athlete_id).collect())
}

/// When the athletes left who had left by a state of knowledge.
fn left(
    conn: &mut Conn,
    tenant: Tenant,
    state: Known,
) -> Result<BTreeMap<AthleteId, Date>, Problem> {
    let mut memberships: BTreeMap<AthleteId, Vec<Option<Date>>> = BTreeMap::new();
    for (athlete_id, last_day) in memberships::last_days(conn, tenant, state)? {
        memberships.entry(athlete_id).or_default().push(last_day);
    }
    let of_one = |(athlete_id, last_days)| Some((athlete_id, left_on(last_days)?));
    let mut left: BTreeMap<AthleteId, Date> = memberships.into_iter().filter_map(of_one).collect();
    // A second record has no memberships any more: it goes with the first.
    for (second, first) in second_copies::joined(conn, tenant, state)? {
        if let Some(left_on) = left.get(&first).copied() {
            left.insert(second, left_on);
        }
    }
    Ok(left)
}
