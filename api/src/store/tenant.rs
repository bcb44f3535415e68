//! The club a store function may see.

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
