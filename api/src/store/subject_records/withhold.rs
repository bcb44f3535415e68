//! Marks the closed weeks whose figures about a group an erasure would change.

use diesel::prelude::*;
use plimsoll_domain::RecordClass;

use super::sql::Whose;
use crate::store::backend::each_backend;
use crate::store::withheld_weeks::WHOLE_CLUB;
use crate::store::{Conn, StoreError};

/// Marks them, before the records of these classes go: weeks of her squads where what squads' figures rest on is erased, and weeks of
/// the club since her first day where findings or the athlete herself are, which are counted.
pub(super) fn mark(
    conn: &mut Conn,
    whose: Whose,
    classes: &[RecordClass],
) -> Result<(), StoreError> {
    use RecordClass::{Availability, Consents, Findings, Identity, Load};
    let any = |of: &[RecordClass]| of.iter().any(|class| classes.contains(class));
    if any(&[Identity, Load, Availability, Consents]) {
        let weeks = weeks(whose, "memberships", "memberships.squad_id", |sunday| {
            format!(
                "memberships.from_date <= {sunday} \
                 AND (memberships.to_date IS NULL OR memberships.to_date >= closed_weeks.monday)"
            )
        });
        each_backend!(conn, |c| diesel::sql_query(&weeks).execute(c))?;
    }
    if any(&[Identity, Findings]) {
        let club = whose.dialect.id(WHOLE_CLUB);
        let weeks = weeks(whose, "athlete_versions", &club, |sunday| {
            format!("athlete_versions.joined_on <= {sunday}")
        });
        each_backend!(conn, |c| diesel::sql_query(&weeks).execute(c))?;
    }
    Ok(())
}

/// The statement that marks closed weeks, as `squad`, by her rows of a table.
fn weeks(whose: Whose, table: &str, squad: &str, when: impl Fn(&str) -> String) -> String {
    let (club, athlete) = (whose.club(), whose.athlete());
    let when = when(&whose.dialect.sunday("closed_weeks.monday"));
    format!(
        "INSERT INTO withheld_weeks (club_id, squad_id, monday) \
         SELECT DISTINCT closed_weeks.club_id, {squad}, closed_weeks.monday \
         FROM closed_weeks JOIN {table} ON {table}.club_id = closed_weeks.club_id \
         WHERE closed_weeks.club_id = {club} AND {table}.athlete_id = {athlete} AND {when} \
         ON CONFLICT DO NOTHING"
    )
}
