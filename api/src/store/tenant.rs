//! The club a store function may see, and the clubs whose rows a piece of work may touch.

use crate::ids::ClubId;

/// The club scope that every store function demands.
///
/// There is no way to make one by accident: holding a `Tenant` says that somebody checked the
/// right to this club.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Tenant(ClubId);

impl Tenant {
    /// Called by auth after the token was checked, and by jobs and the command line.
    pub fn granted(club_id: ClubId) -> Self {
        Self(club_id)
    }

    /// The club.
    pub fn club_id(self) -> ClubId {
        self.0
    }
}

/// The clubs whose rows a piece of work may touch.
///
/// Store functions name their club in every query. This is the wall behind them: on PostgreSQL rows of other clubs are not there
/// for the transaction (row-level security), whatever a query says. SQLite has no such thing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Clubs {
    /// One club: every request, and what is done for one club.
    One(Tenant),
    /// What one club gives to another, in one transaction.
    Two(Tenant, Tenant),
    /// All of them: jobs that look for what is due, and the command line.
    Every,
}

impl From<Tenant> for Clubs {
    fn from(tenant: Tenant) -> Self {
        Self::One(tenant)
    }
}

impl Clubs {
    /// A club and those beside it; more than one other cannot be named, so then it is all of them.
    pub fn among(tenant: Tenant, others: &[ClubId]) -> Self {
        match others {
            [] => Self::One(tenant),
            [other] => Self::Two(tenant, Tenant::granted(*other)),
            _ => Self::Every,
        }
    }
}
