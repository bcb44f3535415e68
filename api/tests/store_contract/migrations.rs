//! Migrations and what they make.

use plimsoll_api::store::{Clubs, DatabaseUrl, MasterKeys, Store, StoreSettings, migrate, testing};
use plimsoll_api::testing::TestDatabase;

async fn schema(url: &DatabaseUrl) -> Vec<String> {
    let store = Store::connect(url, StoreSettings::default(), MasterKeys::none()).unwrap();
    store.read(Clubs::Every, testing::schema).await.unwrap()
}

/// Up, down and up again leaves what the first up made.
async fn up_down_up(database: TestDatabase) {
    let url = database.url();
    let (sqlite, postgres) = migrate::all_names().unwrap();
    assert_eq!(
        sqlite, postgres,
        "a migration has one name on both databases"
    );
    assert_eq!(migrate::pending(url).unwrap(), sqlite);
    assert_eq!(
        migrate::pending(url).unwrap(),
        sqlite,
        "looking changes nothing"
    );

    assert_eq!(migrate::apply(url).unwrap(), sqlite);
    assert!(migrate::pending(url).unwrap().is_empty());
    assert!(migrate::apply(url).unwrap().is_empty());
    let first = schema(url).await;
    assert!(first.len() > 16, "{first:?}");

    migrate::revert_all(url).unwrap();
    assert_eq!(schema(url).await, Vec::<String>::new());
    assert_eq!(migrate::apply(url).unwrap(), sqlite);
    assert_eq!(schema(url).await, first);
}

/// A row of another club cannot be named, and the tables can be spread over machines by club.
async fn every_key_begins_with_the_club(database: TestDatabase) {
    let store = database.store();
    let keys = store.read(Clubs::Every, testing::keys).await.unwrap();
    let tables: std::collections::BTreeSet<_> = keys.iter().map(|key| &key.table_name).collect();
    let distributed = include_str!("../../../deploy/citus.sql");
    for table in &tables {
        assert!(
            distributed.contains(&format!("'{table}'")),
            "{table} is in deploy/citus.sql"
        );
    }
    for key in &keys {
        let first = key.columns.split(',').next();
        assert_eq!(first, Some("club_id"), "{key:?}");
    }
    let foreign = keys
        .iter()
        .filter(|key| key.name.starts_with("foreign key"));
    let bound: std::collections::BTreeSet<_> = foreign.map(|key| &key.table_name).collect();
    let free: Vec<_> = tables
        .difference(&bound)
        .map(|name| name.as_str())
        .collect();
    assert_eq!(
        free,
        ["audit_heads", "audit_reads", "clubs", "idempotency_keys"]
    );
}

mod sqlite {
    use super::TestDatabase;

    #[tokio::test]
    async fn up_down_up() {
        super::up_down_up(TestDatabase::sqlite_empty()).await;
    }

    #[tokio::test]
    async fn every_key_begins_with_the_club() {
        super::every_key_begins_with_the_club(TestDatabase::sqlite()).await;
    }

    #[test]
    fn looking_makes_no_file() {
        let database = TestDatabase::sqlite_empty();
        let super::DatabaseUrl::Sqlite(path) = database.url() else {
            panic!("a SQLite URL")
        };
        assert!(!super::migrate::pending(database.url()).unwrap().is_empty());
        assert!(!path.exists());
    }
}

mod postgres {
    use super::TestDatabase;

    #[tokio::test]
    async fn up_down_up() {
        super::up_down_up(TestDatabase::postgres_empty()).await;
    }

    #[tokio::test]
    async fn every_key_begins_with_the_club() {
        super::every_key_begins_with_the_club(TestDatabase::postgres()).await;
    }
}
