//! The club's policies: which was in force on a date, by what is known.

pub mod body;

use jiff::civil::Date;
use plimsoll_domain::{FigureSettings, Policy};

use crate::error::Problem;
use crate::store::{Conn, Known, Tenant, policies};

use body::PolicyBody;

/// Every policy version the club has had, oldest first.
#[derive(Debug, Clone, Default)]
pub struct Policies(Vec<Policy>);

impl Policies {
    /// Reads them as they were known.
    pub fn read(conn: &mut Conn, tenant: Tenant, known: Known) -> Result<Self, Problem> {
        let rows = policies::all(conn, tenant, known)?;
        rows.into_iter().map(|row| parse(&row)).collect::<Result<_, _>>().map(Self)
    }

    /// The policy in force on a date: the latest version effective by then.
    pub fn at(&self, date: Date) -> Option<&Policy> {
        self.0.iter().rev().find(|policy| policy.effective_from <= date)
    }

    /// The latest version, in force or still to come.
    pub fn latest(&self) -> Option<&Policy> {
        self.0.last()
    }

    /// What the figures of a date are computed with; a club without a policy gets the usual settings.
    pub fn figures_at(&self, date: Date) -> FigureSettings {
        self.at(date).map(Policy::figure_settings).unwrap_or_default()
    }

    /// Whether sessions of this load date are split at midnight.
    pub fn splits_at_midnight(&self, date: Date) -> bool {
        self.at(date).is_some_and(|policy| policy.midnight == plimsoll_domain::Midnight::Split)
    }
}

/// A stored version was checked before it was stored; one that no longer passes is a defect.
fn parse(row: &policies::Policy) -> Result<Policy, Problem> {
    let body: PolicyBody = serde_json::from_value(row.body.clone())
        .map_err(|error| Problem::internal(&error))?;
    let version = u32::try_from(row.version).map_err(|error| Problem::internal(&error))?;
    body.check(version).map_err(|faults| {
        Problem::internal(&format!("stored policy {version} has {} faults", faults.len()))
    })
}
