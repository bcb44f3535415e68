//! What is known of the sessions of some dates: the reports, and what was planned beside them.

use std::collections::BTreeMap;

use jiff::Span;
use jiff::civil::Date;

use super::plan::Plan;
use super::standing::{self, SessionStanding};
use crate::error::Problem;
use crate::ids::AthleteId;
use crate::services::sessions::recount;
use crate::store::sessions::{self, Session};
use crate::store::{Conn, Known, Tenant, Versioned, Who};

/// The record of some athletes around some dates.
#[derive(Debug)]
pub struct Record<'a> {
    athletes: &'a [AthleteId],
    reports: Vec<Versioned<Session>>,
    plan: Plan,
}

impl<'a> Record<'a> {
    /// Reads the record of `first..=last` in a state of knowledge, and of the day before and after:
    /// a session there may reach over midnight.
    pub fn read(
        conn: &mut Conn,
        tenant: Tenant,
        athletes: &'a [AthleteId],
        (first, last): (Date, Date),
        known: Known,
    ) -> Result<Self, Problem> {
        let day = Span::new().days(1);
        let (from, to) = (first.saturating_sub(day), last.saturating_add(day));
        let who = Who::Athletes(athletes);
        Ok(Self {
            athletes,
            reports: sessions::in_dates(conn, tenant, who, from, to, known)?,
            plan: Plan::read(conn, tenant, athletes, (from, to), known)?,
        })
    }

    /// Each athlete's sessions, each once.
    pub fn sessions(&self) -> Result<BTreeMap<AthleteId, Vec<SessionStanding<'_>>>, Problem> {
        let of_each = recount::by_athlete(self.athletes, &self.reports).into_iter();
        let standing = |(athlete, reports): (AthleteId, Vec<_>)| {
            let sessions = standing::of_athlete(athlete, &reports, &self.plan)?;
            Ok((athlete, sessions))
        };
        of_each.map(standing).collect()
    }
}
