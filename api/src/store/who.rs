//! Whose rows to read.

use super::StoreError;
use super::backend::sorted_chunks;
use crate::ids::AthleteId;

/// One athlete, several, or the whole club: the same query for all three.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Who<'a> {
    /// Every athlete of the club.
    WholeClub,
    /// These athletes.
    Athletes(&'a [AthleteId]),
}

impl Who<'_> {
    /// Runs a query for the whole club, or once a batch of athletes in the order of their ids, and
    /// joins the results.
    pub(super) fn read<T>(
        self,
        mut query: impl FnMut(Option<&[AthleteId]>) -> Result<Vec<T>, StoreError>,
    ) -> Result<Vec<T>, StoreError> {
        match self {
            Self::WholeClub => query(None),
            Self::Athletes(athletes) => {
                let mut found = Vec::new();
                for chunk in sorted_chunks(athletes) {
                    found.append(&mut query(Some(&chunk))?);
                }
                Ok(found)
            }
        }
    }
}
