//! Of whom there are records of which classes, for what is erased by itself.

use std::collections::BTreeSet;

use diesel::prelude::*;
use diesel::sql_types::BigInt;
use plimsoll_domain::RecordClass;

use super::catalogue::{Erasing, Hers, tables};
use super::sql::{Dialect, Whose};
use crate::ids::AthleteId;
use crate::store::backend::{each_backend, sorted_chunks};
use crate::store::types::Id;
use crate::store::{Conn, StoreError, Tenant};

/// The class that the rows of a table belong to; `None` of one that holds none of athletes.
pub fn class_of(table: &str) -> Option<RecordClass> {
    let mut found = tables().filter(|one| one.name == table);
    found.next().map(|one| one.class)
}

/// The classes of which there are rows that [`erase`](super::erase) would take, for each of some athletes: one query a table. What only
/// refers to such a row, or names her beside others, is there as long as that row.
///
/// # Errors
/// Those of the database.
pub fn kept(
    conn: &mut Conn,
    tenant: Tenant,
    athletes: &[AthleteId],
) -> Result<BTreeSet<(AthleteId, RecordClass)>, StoreError> {
    let (dialect, mut kept) = (Dialect::of(conn), BTreeSet::new());
    let own = || {
        tables().filter(|table| {
            matches!(table.hers, Hers::Own) && !matches!(table.erasing, Erasing::Stays(_))
        })
    };
    for chunk in sorted_chunks(athletes) {
        let ids = chunk.iter().map(|athlete| dialect.id(athlete.uuid()));
        let ids = ids.collect::<Vec<_>>().join(", ");
        for table in own() {
            let query = format!(
                "SELECT DISTINCT athlete_id FROM {} WHERE club_id = {} AND athlete_id IN ({ids})",
                table.name,
                dialect.id(tenant.club_id().uuid())
            );
            let found: Vec<Found> = each_backend!(conn, |c| diesel::sql_query(&query).load(c))?;
            kept.extend(found.into_iter().map(|one| (one.athlete_id, table.class)));
        }
    }
    Ok(kept)
}

/// The tables in which something now stands about an athlete, but for those named: what was superseded, removed or withdrawn does not
/// count, nor what only refers to another row.
///
/// # Errors
/// Those of the database.
pub fn standing(
    conn: &mut Conn,
    tenant: Tenant,
    athlete_id: AthleteId,
    except: &[&str],
) -> Result<Vec<&'static str>, StoreError> {
    let whose = Whose::new(conn, tenant, athlete_id);
    let mut found = Vec::new();
    for table in tables().filter(|table| !except.contains(&table.name)) {
        if matches!(table.hers, Hers::Through { .. } | Hers::Notified) {
            continue;
        }
        let mut query = format!(
            "SELECT COUNT(*) AS rows FROM {} WHERE {}",
            table.name,
            whose.rows(table)
        );
        for (column, condition) in [
            ("superseded_at", " AND superseded_at IS NULL"),
            ("deleted", " AND NOT deleted"),
            ("withdrawn_at", " AND withdrawn_at IS NULL"),
        ] {
            if table.columns.iter().any(|one| one.name == column) {
                query.push_str(condition);
            }
        }
        let counted: Counted = each_backend!(conn, |c| diesel::sql_query(&query).get_result(c))?;
        if counted.rows > 0 {
            found.push(table.name);
        }
    }
    Ok(found)
}

#[derive(QueryableByName)]
struct Counted {
    #[diesel(sql_type = BigInt)]
    rows: i64,
}

#[derive(QueryableByName)]
struct Found {
    #[diesel(sql_type = Id)]
    athlete_id: AthleteId,
}
