//! Everything in the database, table by table, read past the program.

use std::collections::BTreeMap;

use crate::*;

/// Every row as text, by table.
pub(crate) type Tables = BTreeMap<String, Vec<String>>;

/// The rows of a table that name an athlete.
pub(crate) fn of_athlete(tables: &Tables, table: &str, athlete: &Athlete) -> Vec<String> {
    let id = athlete.id().replace('-', "");
    let rows = tables[table].iter();
    let hers = rows.filter(|row| row.replace('-', "").contains(&id));
    hers.cloned().collect()
}

/// The same tables without these rows of one of them.
pub(crate) fn without(mut tables: Tables, table: &str, gone: &[String]) -> Tables {
    let rows = tables.get_mut(table).expect("the table is there");
    let before = rows.len();
    rows.retain(|row| !gone.contains(row));
    assert_eq!(before - rows.len(), gone.len(), "{table}");
    tables
}
