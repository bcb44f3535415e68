//! Whose rows to read.

use jiff::civil::Date;

use super::StoreError;
use super::backend::sorted_chunks;
use crate::ids::{AthleteId, SquadId};

/// One athlete, several, those of some squads, or the whole club: the same query for all.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Who<'a> {
    /// Every athlete of the club.
    WholeClub,
    /// These athletes; none when there are none. Ranges are read in batches; a page binds them all
    /// in one statement, so it takes at most some thousands.
    Athletes(&'a [AthleteId]),
    /// Those who, as known now, belong to one of these squads on this date.
    Squads(&'a [SquadId], Date),
}

impl Who<'_> {
    /// Runs a query once, or once a batch of athletes in the order of their ids, and joins the
    /// results.
    pub(super) fn read<T>(
        self,
        mut query: impl FnMut(Who<'_>) -> Result<Vec<T>, StoreError>,
    ) -> Result<Vec<T>, StoreError> {
        let Self::Athletes(athletes) = self else {
            return query(self);
        };
        let mut found = Vec::new();
        for chunk in sorted_chunks(athletes) {
            found.append(&mut query(Who::Athletes(&chunk))?);
        }
        Ok(found)
    }
}

/// Narrows a boxed query of a table with `athlete_id` to the athletes meant.
macro_rules! of_whom {
    ($table:ident, $query:expr, $tenant:expr, $who:expr) => {
        match $who {
            $crate::store::Who::WholeClub => $query,
            // One key stands in a statement that diesel keeps prepared, a list on SQLite does not.
            $crate::store::Who::Athletes(&[athlete]) => {
                $query.filter($table::athlete_id.eq(athlete))
            }
            $crate::store::Who::Athletes(athletes) => {
                $query.filter($table::athlete_id.eq_any(athletes))
            }
            $crate::store::Who::Squads(squads, on) => {
                use $crate::store::schema::memberships;
                $query.filter(diesel::dsl::exists(
                    memberships::table
                        .filter(memberships::club_id.eq($tenant.club_id()))
                        .filter(memberships::athlete_id.eq($table::athlete_id))
                        .filter(memberships::squad_id.eq_any(squads))
                        .filter(memberships::superseded_at.is_null())
                        .filter(diesel::dsl::not(memberships::deleted))
                        .filter(memberships::from_date.le($crate::store::types::Sql(on)))
                        .filter(
                            memberships::to_date
                                .is_null()
                                .or(memberships::to_date.ge($crate::store::types::Sql(on))),
                        ),
                ))
            }
        }
    };
}
pub(super) use of_whom;
