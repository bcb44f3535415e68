//! How far an athlete followed her programmes: planned beside done, and meant beside rated.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Span;
use jiff::civil::Date;
use plimsoll_domain::adherence::{Adherence, adherence, adherence_by_kind};
use plimsoll_domain::programme::{BesidePlan, Logged, beside_plan};
use plimsoll_domain::rating::Compared;
use plimsoll_domain::{Kind, Setting};

use super::assigned;
use crate::error::Problem;
use crate::ids::AthleteId;
use crate::services::schedule::record::Record;
use crate::services::schedule::standing::SessionStanding;
use crate::store::{Conn, Known, Tenant, Who, absences, rest_days};

/// How far programmes were followed in some dates.
#[derive(Debug)]
pub struct Follow {
    /// All sessions together.
    pub all: Adherence,
    /// The same by kind.
    pub by_kind: BTreeMap<Kind, Adherence>,
    /// Planned sessions of which minutes or intended RPE are not said.
    pub without_effort: u32,
    /// What was meant and how it was rated.
    pub compared: Vec<Compared>,
}

/// Lays an athlete's logged sessions beside those of her programmes: a query a table.
pub fn read(
    conn: &mut Conn,
    tenant: Tenant,
    athlete: AthleteId,
    (from, to): (Date, Date),
    known: Known,
) -> Result<Follow, Problem> {
    let mine = assigned::of_dates(conn, tenant, athlete, (from, to), known)?;
    let planned = mine.sessions()?.into_iter();
    let planned: Vec<_> = planned
        .map(|(date, _, dated)| (date, dated.placed.session))
        .collect();
    let ids = [athlete];
    let record = Record::read(conn, tenant, &ids, (from, to), known)?;
    let standing = record.sessions()?.remove(&athlete).unwrap_or_default();
    let mut logged: Vec<Logged> = standing.iter().filter_map(logged).collect();
    logged.retain(|one| (from..=to).contains(&one.date));
    let off = days_off(conn, tenant, athlete, (from, to), known)?;
    let BesidePlan {
        sessions,
        compared,
        without_effort,
    } = beside_plan(&planned, &logged, &off);
    Ok(Follow {
        all: adherence(sessions.iter().map(|(_, session)| *session)),
        by_kind: adherence_by_kind(sessions),
        without_effort,
        compared,
    })
}

fn logged(one: &SessionStanding<'_>) -> Option<Logged> {
    let (leading, counted) = (one.leading()?, one.as_counted()?);
    let setting: Setting = leading.setting;
    Some(Logged {
        date: counted.load_date,
        setting,
        kind: leading.kind,
        rpe: counted.rpe,
        load: counted.load.point,
    })
}

fn days_off(
    conn: &mut Conn,
    tenant: Tenant,
    athlete: AthleteId,
    (from, to): (Date, Date),
    known: Known,
) -> Result<BTreeSet<Date>, Problem> {
    let ids = [athlete];
    let who = Who::Athletes(&ids);
    let rest = rest_days::in_dates(conn, tenant, who, from, to, known)?;
    let away = absences::in_dates(conn, tenant, who, from, to, known)?;
    let rest = rest.into_iter().map(|day| day.content.date);
    let away = away.into_iter().flat_map(|one| {
        let (first, last) = (one.content.from_date.max(from), one.content.to_date.min(to));
        let days = first.series(Span::new().days(1));
        days.take_while(move |day| *day <= last)
    });
    Ok(rest.chain(away).collect())
}
