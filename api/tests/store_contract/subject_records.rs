//! What is kept of an athlete: the catalogue against the real tables, and her copy.

use std::collections::BTreeSet;

use plimsoll_api::ids::AthleteId;
use plimsoll_api::store::subject_records::catalogue::{Hers, NOT_OF_ATHLETES, tables};
use plimsoll_api::store::subject_records::{self, Records};
use plimsoll_api::store::{Clubs, Conn, StoreError, testing};
use plimsoll_api::testing::TestDatabase;
use serde_json::{Value, json};

use crate::support::{Fixture, now, on_both_databases};
use crate::tenancy::{everything, store_all};

on_both_databases!(
    a_copy_is_of_one_athlete_of_one_club;
    filtered:
    every_table_and_column_is_named,
    what_nobody_named_is_found,
);

/// Where the catalogue and the real tables differ, each as one text.
fn differences(conn: &mut Conn) -> Result<BTreeSet<String>, StoreError> {
    let real = testing::columns(conn)?;
    let real: BTreeSet<(String, String)> = real
        .into_iter()
        .map(|column| (column.table_name, column.name))
        .collect();
    let hers = tables().flat_map(|table| {
        let columns = table.columns.iter();
        columns.map(|column| (table.name.to_owned(), column.name.to_owned()))
    });
    let others = NOT_OF_ATHLETES.iter().flat_map(|table| {
        let columns = table.columns.iter();
        columns.map(|column| (table.name.to_owned(), (*column).to_owned()))
    });
    let named: BTreeSet<(String, String)> = hers.chain(others).collect();
    let differing = real.symmetric_difference(&named);
    Ok(differing
        .map(|(table, column)| format!("{table}.{column}"))
        .collect())
}

async fn every_table_and_column_is_named(on: Fixture) {
    let differing = on.read(|conn, _| differences(conn)).await;
    assert_eq!(differing, BTreeSet::new(), "named and absent, or not named");
    let real = on.read(|conn, _| testing::columns(conn)).await;
    let mut said = BTreeSet::new();
    for table in tables() {
        assert!(said.insert(table.name), "{} is named once", table.name);
        let has = |name: &str| table.columns.iter().any(|column| column.name == name);
        for name in table.order {
            assert!(has(name), "{}.{name} orders rows", table.name);
        }
        match table.hers {
            Hers::Own => assert!(has("athlete_id"), "{}", table.name),
            Hers::OwnAnd(column) => assert!(has("athlete_id") && has(column), "{}", table.name),
            Hers::Through { column, .. } => assert!(has(column), "{}", table.name),
            Hers::Listed | Hers::Notified => {}
        }
        for (column, ..) in table.told() {
            let of_table = real
                .iter()
                .find(|real| real.table_name == table.name && real.name == column.name);
            let may_be_null = of_table.map(|real| real.may_be_null == 1);
            let name = format!("{}.{}", table.name, column.name);
            assert_eq!(may_be_null, Some(column.may_be_null), "{name} may be null");
            assert!(!column.means.is_empty(), "{name} is explained");
        }
    }
    // Whoever has an athlete's key is hers, and nobody else.
    let with_key = real.iter().filter(|column| column.name == "athlete_id");
    for column in with_key {
        assert!(said.contains(column.table_name.as_str()), "{column:?}");
    }
}

async fn what_nobody_named_is_found(on: Fixture) {
    let new = "ALTER TABLE absences ADD COLUMN diagnosis text; CREATE TABLE diaries (club_id integer, entry text)";
    on.store
        .write(Clubs::Every, move |conn| {
            testing::execute(conn, new)?;
            testing::execute(conn, "ALTER TABLE flags RENAME COLUMN rule TO finding")
        })
        .await
        .unwrap();
    let differing = on.read(|conn, _| differences(conn)).await;
    let expected = [
        "absences.diagnosis",
        "diaries.club_id",
        "diaries.entry",
        "flags.finding",
        "flags.rule",
    ];
    assert_eq!(differing, expected.map(str::to_owned).into());
}

/// Stores everything a club can hold, and gives whose it is.
async fn stored(on: &Fixture) -> AthleteId {
    let all = everything(on);
    let athlete_id = all.athlete.athlete_id;
    on.write(now(), move |conn, tenant, moment| {
        store_all(conn, tenant, moment, &all)
    })
    .await
    .unwrap();
    athlete_id
}

fn rows<'a>(copy: &'a [Records], table: &str) -> &'a Records {
    copy.iter().find(|records| records.table == table).unwrap()
}

fn field(records: &Records, row: usize, field: &str) -> Value {
    let place = records.fields.iter().position(|name| *name == field);
    records.rows[row][place.unwrap()].clone()
}

async fn a_copy_is_of_one_athlete_of_one_club(on: Fixture) {
    let athlete_id = stored(&on).await;
    let ida = on.add_athlete("Ida").await;
    let copy = on
        .read(move |conn, tenant| subject_records::read(conn, tenant, athlete_id))
        .await;
    // What is named by name alone is not in this world.
    let empty: Vec<&str> = copy
        .iter()
        .filter(|records| records.rows.is_empty())
        .map(|records| records.table)
        .collect();
    assert_eq!(empty, ["events", "notices", "deliveries", "erasures"]);
    let reports = rows(&copy, "session_reports");
    for (name, value) in [
        ("athlete_id", json!(athlete_id)),
        ("started_at", json!("2026-09-07T15:30:00Z")),
        ("load_date", json!("2026-09-07")),
        ("rpe", json!(6.0)),
        ("deleted", json!(false)),
        ("external_id", json!(format!("app-{athlete_id}-2026-09-07"))),
    ] {
        assert_eq!(field(reports, 0, name), value, "{name}");
    }
    let restrictions = rows(&copy, "restrictions");
    assert!(field(restrictions, 0, "note").is_string(), "opened");
    let of_ida = on
        .read(move |conn, tenant| subject_records::read(conn, tenant, ida))
        .await;
    let filled = of_ida.iter().filter(|records| !records.rows.is_empty());
    let filled: Vec<&str> = filled.map(|records| records.table).collect();
    assert_eq!(filled, ["athletes", "athlete_versions"]);
    let other = on.other_club().await;
    let elsewhere = on
        .store
        .read(other, move |conn| {
            subject_records::read(conn, other, athlete_id)
        })
        .await
        .unwrap();
    assert!(elsewhere.iter().all(|records| records.rows.is_empty()));
}

/// Both databases hold the same ids and instants, and tell them in the same words.
#[tokio::test]
async fn both_databases_give_the_same_copy() {
    let mut copies = Vec::new();
    for database in [TestDatabase::sqlite(), TestDatabase::postgres()] {
        let on = Fixture::new(database).await;
        let athlete_id = stored(&on).await;
        let copy = on
            .read(move |conn, tenant| subject_records::read(conn, tenant, athlete_id))
            .await;
        copies.push(copy);
    }
    let told = |records: &Records| (records.table, records.rows.len());
    assert!(
        copies[0]
            .iter()
            .map(told)
            .filter(|(_, rows)| *rows > 0)
            .count()
            > 20
    );
    for (sqlite, postgres) in copies[0].iter().zip(&copies[1]) {
        assert_eq!(sqlite, postgres);
        let bytes = |records: &Records| serde_json::to_vec(&records.rows).unwrap();
        assert_eq!(bytes(sqlite), bytes(postgres));
    }
}
