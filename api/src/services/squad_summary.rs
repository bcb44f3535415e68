//! A squad's closed week in figures about the group: frozen as it was known at the close, and withheld once consent to it changed.
//!
//! The figures are made of what had been received by the close, with the members and consents of then, and so stay what they were
//! whatever is corrected later. Two figures of nearly the same group would tell one child's load, so nothing is ever computed anew
//! for a group that became smaller: where somebody who contributed no longer consents, or records of the group were erased, the figure is no
//! longer shown.

use std::collections::BTreeSet;

use jiff::Timestamp;
use plimsoll_domain::consent::DataClass;
use plimsoll_domain::squad_figures::{SquadFigures, squad_figures};
use plimsoll_domain::{IsoWeek, Load, Setting};

use super::as_of::AsOf;
use super::consents::gate::{Said, instant};
use super::figures::{self, Asked, AthleteDays};
use super::policy::Policies;
use crate::error::Problem;
use crate::ids::{AthleteId, SquadId};
use crate::store::{Conn, Known, Tenant, Who, memberships, weeks, withheld_weeks};

/// A squad's week as one.
#[derive(Debug, Clone, PartialEq)]
pub struct SquadSummary {
    /// When the week was closed; `None` while it is not.
    pub closed_at: Option<Timestamp>,
    /// The figures, or why there are none.
    pub figures: Result<SquadFigures, NoFigures>,
    /// Whose loads are in the figures.
    pub contributors: Vec<AthleteId>,
}

/// Why there are no figures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoFigures {
    /// The week is not closed, so its loads may still change.
    NotClosed,
    /// Fewer athletes contribute than are told as one.
    TooFew,
    /// Somebody who contributed no longer consents to it.
    ConsentChanged,
    /// Records of somebody who was in the squad were erased.
    RecordsErased,
}

impl NoFigures {
    /// The stable code of an answer.
    pub const fn code(self) -> &'static str {
        match self {
            NoFigures::NotClosed => "week_not_closed",
            NoFigures::TooFew => "fewer_than_5_contributors",
            NoFigures::ConsentChanged => "consent_changed",
            NoFigures::RecordsErased => "records_erased",
        }
    }
}

/// Reads a squad's week as it was closed by an instant. Consent is judged by now, whatever instant is asked for.
pub fn read(
    conn: &mut Conn,
    tenant: Tenant,
    (squad_id, week): (SquadId, IsoWeek),
    as_of: AsOf,
) -> Result<SquadSummary, Problem> {
    let monday = week.monday();
    let closed = weeks::in_dates(conn, tenant, monday, monday)?;
    let closed = closed.first().map(|week| week.closed_at);
    let Some(closed_at) = closed.filter(|closed_at| *closed_at <= as_of.at()) else {
        return Ok(SquadSummary {
            closed_at: None,
            figures: Err(NoFigures::NotClosed),
            contributors: Vec::new(),
        });
    };
    // What is left would be told without her, and the difference to what was told before is hers.
    if withheld_weeks::is_withheld(conn, tenant, squad_id, monday)? {
        return Ok(SquadSummary {
            closed_at: Some(closed_at),
            figures: Err(NoFigures::RecordsErased),
            contributors: Vec::new(),
        });
    }
    let now = instant(conn, tenant, as_of.now)?;
    let members = members(conn, tenant, (squad_id, week), closed_at)?;
    let gate = Said::read(conn, tenant, Who::Athletes(&members))?.of(DataClass::SquadFigures);
    let mut asked = members;
    asked.retain(|athlete| gate.refuses(*athlete, closed_at).is_none());
    let loads = loads(conn, tenant, (&asked, week), closed_at)?;
    let withdrawn = loads
        .iter()
        .any(|(athlete, _)| gate.refuses(*athlete, now).is_some());
    let (mut contributors, loads): (Vec<AthleteId>, Vec<Load>) = loads.into_iter().unzip();
    let figures = match squad_figures(&loads) {
        None => Err(NoFigures::TooFew),
        Some(_) if withdrawn => Err(NoFigures::ConsentChanged),
        Some(figures) => Ok(figures),
    };
    if figures.is_err() {
        contributors.clear();
    }
    Ok(SquadSummary {
        closed_at: Some(closed_at),
        figures,
        contributors,
    })
}

/// Who was known at the close as in the squad on any day of the week, each once.
fn members(
    conn: &mut Conn,
    tenant: Tenant,
    (squad_id, week): (SquadId, IsoWeek),
    closed_at: Timestamp,
) -> Result<Vec<AthleteId>, Problem> {
    let (monday, sunday, then) = (week.monday(), week.sunday(), Known::AsOf(closed_at));
    let members = memberships::of_squads(conn, tenant, &[squad_id], monday, sunday, then)?;
    let members = members.into_iter().map(|member| member.content.athlete_id);
    Ok(members.collect::<BTreeSet<_>>().into_iter().collect())
}

/// The week loads that were known at the close, of those of whom all seven days were.
fn loads(
    conn: &mut Conn,
    tenant: Tenant,
    (athletes, week): (&[AthleteId], IsoWeek),
    closed_at: Timestamp,
) -> Result<Vec<(AthleteId, Load)>, Problem> {
    let known = Known::AsOf(closed_at);
    let policies = Policies::read(conn, tenant, known)?;
    let asked = Asked {
        first: week.monday(),
        last: week.sunday(),
        settings: Some(own_settings()),
        known,
        now: closed_at,
    };
    let days = figures::days(conn, tenant, Who::Athletes(athletes), &asked, &policies)?;
    let loads = days.iter().filter_map(|days| {
        let load = known_load(days, week)?;
        Some((days.athlete.athlete_id, load))
    });
    Ok(loads.collect())
}

/// Every setting but the second club: what another club shares belongs to no figure of this club's squad.
fn own_settings() -> Vec<Setting> {
    let settings = Setting::ALL.iter().copied();
    settings
        .filter(|setting| *setting != Setting::SecondClub)
        .collect()
}

/// The load of a week of which every day belongs to the membership and every expected session is answered.
fn known_load(days: &AthleteDays, week: IsoWeek) -> Option<Load> {
    let series = days.series.as_ref()?;
    let is_whole = series.first() == week.monday() && series.last() == week.sunday();
    let is_known = series.days().iter().all(|day| day.unlogged() == 0);
    let loads = series.days().iter().map(|day| day.load().point);
    (is_whole && is_known).then(|| loads.fold(Load::ZERO, |sum, load| sum + load))
}
