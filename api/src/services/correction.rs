//! What a closed week's list says of its close, and of corrections after it.
//!
//! A late or amended entry judges the flags of closed weeks again; what stood at the close stays
//! readable with `as_of`. The note compares the two: nothing is deleted, and nothing changes unseen.

use std::collections::BTreeMap;

use jiff::Timestamp;
use plimsoll_domain::IsoWeek;

use crate::error::Problem;
use crate::ids::FlagId;
use crate::store::flags::{self, FlagVersion, Judged};
use crate::store::weeks::{self, ClosedWeek};
use crate::store::{Conn, FlagState, Known, Tenant, Who};

/// How a week was closed and what was corrected since.
#[derive(Debug, Clone)]
pub struct Closed {
    /// The close.
    pub week: ClosedWeek,
    /// What differs from it; `None` while nothing does.
    pub correction: Option<Correction>,
}

/// Flags that were judged otherwise after the close.
#[derive(Debug, Clone)]
pub struct Correction {
    /// When the last of them was.
    pub at: Timestamp,
    /// Raised at the close, withdrawn since.
    pub withdrawn: Vec<Judged>,
    /// Not raised at the close, raised since.
    pub raised: Vec<Judged>,
    /// Raised at the close and now, on other figures.
    pub changed: Vec<Judged>,
}

/// The close of a week as it was known, for some athletes. `standing` are their flags of the week in
/// the same state of knowledge. `None` while the week is not closed.
pub fn read(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    week: IsoWeek,
    known: Known,
    standing: &[Judged],
) -> Result<Option<Closed>, Problem> {
    let monday = week.monday();
    let closed = weeks::in_dates(conn, tenant, monday, monday)?;
    let was_closed = |week: &ClosedWeek| match known {
        Known::Now => true,
        Known::AsOf(at) => week.closed_at <= at,
    };
    let Some(week) = closed.into_iter().find(was_closed) else {
        return Ok(None);
    };
    let then = Known::AsOf(week.closed_at);
    let at_close = flags::in_weeks(conn, tenant, who, monday, monday, then)?;
    let correction = between(&at_close, standing);
    Ok(Some(Closed { week, correction }))
}

/// What differs between the flags at the close and those that stand.
fn between(at_close: &[Judged], standing: &[Judged]) -> Option<Correction> {
    let at_close: BTreeMap<FlagId, &FlagVersion> = at_close
        .iter()
        .map(|judged| (judged.flag.flag_id, &judged.version))
        .collect();
    let (mut withdrawn, mut raised, mut changed) = (Vec::new(), Vec::new(), Vec::new());
    let mut last = None;
    for judged in standing {
        let then = at_close.get(&judged.flag.flag_id).copied();
        let was_raised = then.is_some_and(|then| then.state == FlagState::Raised);
        let is_raised = judged.version.state == FlagState::Raised;
        let same = || then.is_some_and(|then| says_the_same(then, &judged.version));
        let kind = match (was_raised, is_raised) {
            (true, false) => &mut withdrawn,
            (false, true) => &mut raised,
            (true, true) if !same() => &mut changed,
            _ => continue,
        };
        kind.push(judged.clone());
        last = last.max(Some(judged.version.received_at));
    }
    Some(Correction {
        at: last?,
        withdrawn,
        raised,
        changed,
    })
}

fn says_the_same(one: &FlagVersion, other: &FlagVersion) -> bool {
    one.certainty == other.certainty && one.body == other.body
}
