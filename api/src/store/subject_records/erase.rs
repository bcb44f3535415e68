//! Erases what is kept of an athlete, by the catalogue.

use std::collections::{BTreeMap, BTreeSet};

use diesel::prelude::*;
use diesel::sql_types::Text;
use plimsoll_domain::RecordClass;
use serde_json::Value;

use super::catalogue::{Erasing, FLAGS, Form, Table, tables};
use super::copy::cells;
use super::sql::Whose;
use super::withhold;
use crate::ids::AthleteId;
use crate::store::backend::each_backend;
use crate::store::{Conn, StoreError, Tenant, idempotency};

/// How many rows of each table were deleted or, where they belong to others too, changed; tables without any are not named.
pub type Counts = BTreeMap<&'static str, usize>;

/// Where kept answers are counted, which are nobody's in particular.
const ANSWERS: &str = "idempotency_keys";

/// Where other clubs hold copies of her days, which go with her records and are counted nowhere.
const COPIES: &str = "shared_day_totals";

/// The tables whose rows an erasure took away or changed, by those that it counted: for
/// [`Store::scrub`](crate::store::Store::scrub).
pub fn touched(is_counted: impl Fn(&str) -> bool) -> Vec<&'static str> {
    let all = tables().map(|table| table.name).chain([ANSWERS]);
    all.filter(|table| *table == COPIES || is_counted(table))
        .collect()
}

/// Erases an athlete's records of these classes, and with them every answer that the club keeps for repeated requests. Closed weeks whose
/// figures about a group would change are marked as withheld first. The class of identity goes last or with all others: what is left
/// refers to her. To be called while the club is locked.
///
/// # Errors
/// `Reference` where records of another class still refer to what is erased; those of the database.
pub fn erase(
    conn: &mut Conn,
    tenant: Tenant,
    athlete_id: AthleteId,
    classes: &[RecordClass],
) -> Result<Counts, StoreError> {
    let whose = Whose::new(conn, tenant, athlete_id);
    withhold::mark(conn, whose, classes)?;
    let names = names(conn, whose, athlete_id)?;
    let mut counts = Counts::new();
    // What refers to others goes before what is referred to.
    for table in tables().rev() {
        if !classes.contains(&table.class) {
            continue;
        }
        let rows = match table.erasing {
            Erasing::Deleted => delete(conn, whose, table)?,
            Erasing::TakenOut(column, form) => {
                take_out(conn, whose, (table, column, form), &names)?
            }
            Erasing::Stays(_) => 0,
        };
        counts.insert(table.name, rows);
    }
    counts.insert(ANSWERS, idempotency::erase(conn, tenant)?);
    counts.retain(|_, rows| *rows > 0);
    Ok(counts)
}

/// The tables whose rows stay whatever is erased, and why.
pub fn staying() -> impl Iterator<Item = (&'static str, &'static str)> {
    tables().filter_map(|table| match table.erasing {
        Erasing::Stays(why) => Some((table.name, why)),
        Erasing::Deleted | Erasing::TakenOut(..) => None,
    })
}

fn delete(conn: &mut Conn, whose: Whose, table: &Table) -> Result<usize, StoreError> {
    let query = format!("DELETE FROM {} WHERE {}", table.name, whose.rows(table));
    each_backend!(conn, |c| diesel::sql_query(&query).execute(c))
}

/// What documents may name her by: her id, and those of her findings.
fn names(
    conn: &mut Conn,
    whose: Whose,
    athlete_id: AthleteId,
) -> Result<BTreeSet<String>, StoreError> {
    let flags = whose.select(&FLAGS, [("flag_id", Form::Id)].into_iter());
    let mut names = BTreeSet::from([athlete_id.to_string()]);
    for hex in cells(conn, &flags)?.into_iter().flatten().flatten() {
        let id = uuid::Uuid::parse_str(&hex);
        let id = id.map_err(|error| StoreError::Internal(error.to_string()))?;
        names.insert(id.hyphenated().to_string());
    }
    Ok(names)
}

/// Takes what names her out of the lists of a document in each of her rows.
fn take_out(
    conn: &mut Conn,
    whose: Whose,
    (table, column, form): (&Table, &'static str, Form),
    names: &BTreeSet<String>,
) -> Result<usize, StoreError> {
    let key = table
        .told()
        .filter(|(told, ..)| table.order.contains(&told.name));
    let key: Vec<(&str, Form)> = key.map(|(told, _, form)| (told.name, form)).collect();
    let columns = key.iter().copied().chain([(column, form)]);
    let mut changed = 0;
    for mut row in cells(conn, &whose.select(table, columns))? {
        let document = row.pop().flatten().unwrap_or_default();
        let Some(document) = without(&document, names) else {
            continue;
        };
        let is_row = key.iter().zip(&row).map(|((name, form), value)| {
            let value = value.as_deref().unwrap_or_default();
            format!("{} = '{value}'", whose.dialect.text(name, *form))
        });
        let query = format!(
            "UPDATE {} SET {column} = {} WHERE club_id = {} AND {}",
            table.name,
            whose.dialect.bound(form),
            whose.club(),
            is_row.collect::<Vec<_>>().join(" AND ")
        );
        changed += each_backend!(conn, |c| diesel::sql_query(&query)
            .bind::<Text, _>(&document)
            .execute(c))?;
    }
    Ok(changed)
}

/// A document without the elements of its lists that name somebody; `None` where none does, or where it is no document.
fn without(document: &str, names: &BTreeSet<String>) -> Option<String> {
    let before: Value = serde_json::from_str(document).ok()?;
    let mut after = before.clone();
    prune(&mut after, names);
    (after != before).then(|| after.to_string())
}

fn prune(value: &mut Value, names: &BTreeSet<String>) {
    let is_name = |value: &Value| value.as_str().is_some_and(|text| names.contains(text));
    match value {
        Value::Array(items) => {
            items.retain(|item| match item {
                Value::Object(members) => !members.values().any(is_name),
                item => !is_name(item),
            });
            items.iter_mut().for_each(|item| prune(item, names));
        }
        Value::Object(members) => members.values_mut().for_each(|member| prune(member, names)),
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_names_her_leaves_lists_and_nothing_else_does() {
        let names = BTreeSet::from(["a".to_owned(), "b".to_owned()]);
        for (document, left) in [
            (r#"["a","c"]"#, Some(r#"["c"]"#)),
            (
                r#"{"flags":[{"flag_id":"b","href":"/b"},{"flag_id":"c"}],"late":true}"#,
                Some(r#"{"flags":[{"flag_id":"c"}],"late":true}"#),
            ),
            (
                r#"{"data":{"squads":["a"]}}"#,
                Some(r#"{"data":{"squads":[]}}"#),
            ),
            (r#"["c","ab"]"#, None),
            (r#"{"id":"a"}"#, None),
            ("no document, a", None),
        ] {
            assert_eq!(without(document, &names).as_deref(), left, "{document}");
        }
    }
}
