//! Restrictions as they stand: those that wait for a written clearance end by the decisions that name
//! them, the others by their last day.

use std::collections::BTreeMap;

use jiff::civil::Date;
use plimsoll_domain::Load;
use plimsoll_domain::restriction::{Limits, Restricted, Restriction, waiting};

use crate::error::Problem;
use crate::ids::{AthleteId, RestrictionId};
use crate::store::clearances::{self, ClearanceRecord};
use crate::store::restrictions::{self, Restriction as Stored};
use crate::store::{Conn, Decision, Known, Private, RestrictedTo, Tenant, Versioned, Who};

/// The restrictions of athletes that may have a day in `from..=to`, by athlete and first day.
pub fn in_dates(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    (from, to): (Date, Date),
    known: Known,
) -> Result<BTreeMap<AthleteId, Vec<Restriction>>, Problem> {
    let stored = restrictions::in_dates(conn, tenant, who, from, to, known)?;
    let waits = stored
        .iter()
        .any(|one| one.content.written_clearance.is_some());
    let records = if waits {
        clearances::known(conn, tenant, who, known)?
    } else {
        Vec::new()
    };
    decided(stored, &records)
}

/// Restrictions as they stand by these decisions, by athlete and first day.
pub fn decided(
    stored: Vec<Versioned<Stored>>,
    records: &[ClearanceRecord],
) -> Result<BTreeMap<AthleteId, Vec<Restriction>>, Problem> {
    let decisions = by_restriction(records);
    let mut standing: BTreeMap<AthleteId, Vec<Restriction>> = BTreeMap::new();
    for one in stored {
        let decided = decisions.get(&one.content.restriction_id);
        let spans = spans(&one.content, decided.map_or(&[], Vec::as_slice))?;
        let own = standing.entry(one.content.athlete_id).or_default();
        own.extend(spans);
    }
    Ok(standing)
}

/// When decisions were made about a restriction, and whether they end the wait for one.
type Decided = Vec<(Date, bool)>;

fn by_restriction(records: &[ClearanceRecord]) -> BTreeMap<RestrictionId, Decided> {
    let mut decided: BTreeMap<RestrictionId, Decided> = BTreeMap::new();
    for ClearanceRecord { content, .. } in records {
        if let Some(restriction) = content.restriction_id {
            let ends = content.decision != Decision::NotYet;
            let of_one = decided.entry(restriction).or_default();
            of_one.push((content.decided_on, ends));
        }
    }
    decided
}

/// One restriction, or one a span where the wait for a clearance was taken up again.
fn spans(stored: &Stored, decided: &[(Date, bool)]) -> Result<Vec<Restriction>, Problem> {
    let restriction = Restriction {
        from: stored.from_date,
        until: stored.until_date,
        review: stored.review_date,
        restricted: restricted(stored)?,
    };
    if stored.written_clearance.is_none() {
        return Ok(vec![restriction]);
    }
    let spans = waiting(stored.from_date, decided).into_iter();
    let span = |(from, until)| Restriction {
        from,
        until,
        ..restriction.clone()
    };
    Ok(spans.map(span).collect())
}

fn restricted(stored: &Stored) -> Result<Restricted, Problem> {
    if stored.written_clearance.is_some() {
        return Ok(Restricted::UntilCleared);
    }
    if stored.availability == RestrictedTo::NotAvailable {
        return Ok(Restricted::NotAvailable);
    }
    Ok(Restricted::To(Limits {
        max_minutes: small(stored.max_minutes)?,
        max_week: small(stored.max_week_au)?.map(Load::from_au),
        max_contacts: small(stored.max_contacts)?,
        no_games: stored.no_games,
        no_jumps: stored.no_jumps,
        no_throws: stored.no_throws,
        no_contact: stored.no_contact,
        instruction: stored.instruction.clone().map(Private::into_inner),
    }))
}

/// A stored limit; one that was not checked is a defect.
fn small(stored: Option<i32>) -> Result<Option<u16>, Problem> {
    let small = stored.map(u16::try_from).transpose();
    small.map_err(|error| Problem::internal(&error))
}
