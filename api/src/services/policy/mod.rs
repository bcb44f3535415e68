//! The club's policies: which was in force on a date, by what is known.

pub mod adopt;
pub mod body;
pub mod drafts;
pub mod flag_rate;
pub mod rehearsal;

use jiff::civil::Date;
use plimsoll_domain::{FigureSettings, Policy};

use crate::error::Problem;
use crate::store::{Conn, Known, Tenant, policies};

use body::PolicyBody;

/// Every policy version the club has had, by the date it is effective from, then by version.
#[derive(Debug, Clone, Default)]
pub struct Policies(Vec<Policy>);

/// Dates that one policy governs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Part {
    /// First date.
    pub from: Date,
    /// Last date.
    pub to: Date,
    /// What the figures of these dates are computed with.
    pub settings: FigureSettings,
}

impl Policies {
    /// Reads them as they were known.
    pub fn read(conn: &mut Conn, tenant: Tenant, known: Known) -> Result<Self, Problem> {
        let rows = policies::history(conn, tenant, known)?;
        let mut policies = rows.iter().map(parse).collect::<Result<Vec<_>, _>>()?;
        policies.sort_by_key(|policy| (policy.effective_from, policy.version));
        Ok(Self(policies))
    }

    /// A draft as if it had always been in force.
    pub fn always(draft: Policy) -> Self {
        Self(vec![draft.effective_from(Date::MIN)])
    }

    /// Whether loads over midnight go to the same dates by these policies and by others.
    pub fn split_alike(&self, others: &Self) -> bool {
        let starts = self
            .0
            .iter()
            .chain(&others.0)
            .map(|policy| policy.effective_from);
        let mut dates = starts.chain([Date::MIN]);
        dates.all(|date| self.splits_at_midnight(date) == others.splits_at_midnight(date))
    }

    /// The policy in force on a date: of those effective by then the one that began last.
    pub fn at(&self, date: Date) -> Option<&Policy> {
        self.0
            .iter()
            .rev()
            .find(|policy| policy.effective_from <= date)
    }

    /// What the figures of a date are computed with; a club without a policy gets the usual settings.
    pub fn figures_at(&self, date: Date) -> FigureSettings {
        self.at(date)
            .map(Policy::figure_settings)
            .unwrap_or_default()
    }

    /// A span of dates cut where the policy in force changes, so that none is applied to a past it
    /// was not made for.
    pub fn parts(&self, from: Date, to: Date) -> Vec<Part> {
        let mut starts: Vec<Date> = self.0.iter().map(|policy| policy.effective_from).collect();
        starts.retain(|start| from < *start && *start <= to);
        starts.push(from);
        starts.sort_unstable();
        starts.dedup();
        let ends = starts
            .iter()
            .skip(1)
            .map(|next| next.yesterday().unwrap_or(*next))
            .chain([to]);
        let part = |(from, to): (&Date, Date)| Part {
            from: *from,
            to,
            settings: self.figures_at(*from),
        };
        starts.iter().zip(ends).map(part).collect()
    }

    /// Whether sessions of this load date are split at midnight.
    pub fn splits_at_midnight(&self, date: Date) -> bool {
        self.at(date)
            .is_some_and(|policy| policy.midnight == plimsoll_domain::Midnight::Split)
    }
}

/// A stored version was checked before it was stored; one that no longer passes is a defect.
fn parse(row: &policies::Policy) -> Result<Policy, Problem> {
    let body: PolicyBody =
        serde_json::from_value(row.body.clone()).map_err(|error| Problem::internal(&error))?;
    let version = u32::try_from(row.version).map_err(|error| Problem::internal(&error))?;
    body.check(version).map_err(|faults| {
        Problem::internal(&format!(
            "stored policy {version} has {} faults",
            faults.len()
        ))
    })
}
