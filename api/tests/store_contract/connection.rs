//! Connections: their settings, their limits, and what happens when they are lost.

use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc;
use std::time::Duration;

use plimsoll_api::store::{
    Clubs, Conn, DatabaseUrl, MasterKeys, Store, StoreError, StoreSettings, clubs, squads, testing,
};
use plimsoll_api::testing::TestDatabase;

use crate::support::{Fixture, later, now, on_both_databases, write_as};

on_both_databases!(
    a_request_without_a_connection_in_time_is_told_so,
    a_club_held_too_long_is_busy,
    a_store_is_shared_by_its_clones,
);

/// Keeps this many reads running until what it answers is dropped.
async fn hold_reads(store: &Store, count: usize) -> Vec<mpsc::Sender<()>> {
    let mut held = Vec::new();
    for _ in 0..count {
        let (release, wait) = mpsc::channel::<()>();
        let (running, is_running) = tokio::sync::oneshot::channel();
        let parts = std::sync::Mutex::new(Some((running, wait)));
        let store = store.clone();
        tokio::spawn(async move {
            store
                .read(Clubs::Every, move |_| {
                    let (running, wait) = parts.lock().unwrap().take().unwrap();
                    running.send(()).unwrap();
                    // Ends with an error when the test drops its side.
                    let _ = wait.recv();
                    Ok::<_, StoreError>(())
                })
                .await
        });
        is_running.await.unwrap();
        held.push(release);
    }
    held
}

async fn a_request_without_a_connection_in_time_is_told_so(on: Fixture) {
    let short = StoreSettings {
        read_connections: 2,
        permit_wait: Duration::from_millis(500),
        ..StoreSettings::default()
    };
    let (store, tenant) = (on.database.store_with(short), on.tenant);
    let held = hold_reads(&store, 2).await;
    let refused = store
        .read(tenant, move |conn| clubs::find(conn, tenant))
        .await;
    assert!(matches!(refused, Err(StoreError::Busy)), "{refused:?}");
    // Readers do not keep writers out.
    write_as(&store, tenant, now(), |_, _, _| Ok(()))
        .await
        .unwrap();
    drop(held);
    let patient = on.database.store();
    patient
        .read(tenant, move |conn| clubs::find(conn, tenant))
        .await
        .unwrap()
        .unwrap();
}

async fn a_club_held_too_long_is_busy(on: Fixture) {
    let short = StoreSettings {
        permit_wait: Duration::from_millis(500),
        lock_timeout: Duration::from_millis(50),
        ..StoreSettings::default()
    };
    let (store, tenant) = (on.database.store_with(short), on.tenant);
    let (release, wait) = mpsc::channel::<()>();
    let (locked, is_locked) = tokio::sync::oneshot::channel();
    let holder = store.clone();
    let first = tokio::spawn(async move {
        write_as(&holder, tenant, now(), move |_, _, moment| {
            locked.send(()).unwrap();
            wait.recv().unwrap();
            Ok(moment.next_seq())
        })
        .await
    });
    is_locked.await.unwrap();
    let second = write_as(&store, tenant, now(), |_, _, moment| Ok(moment.next_seq())).await;
    assert!(matches!(second, Err(StoreError::Busy)), "{second:?}");
    release.send(()).unwrap();
    assert_eq!(first.await.unwrap().unwrap(), 1);
    let third = write_as(&store, tenant, now(), |_, _, moment| Ok(moment.next_seq())).await;
    assert_eq!(third.unwrap(), 2);
}

async fn a_store_is_shared_by_its_clones(on: Fixture) {
    let (clone, tenant) = (on.store.clone(), on.tenant);
    let squad_id = on.add_squad("U17 girls").await;
    let found = clone
        .read(tenant, move |conn| squads::find(conn, tenant, squad_id))
        .await
        .unwrap();
    assert!(found.is_some());
}

/// Connections are free, but every thread is taken, as by statements that wait for a lock.
#[test]
fn a_request_without_a_thread_in_time_is_told_so() {
    let one_thread = tokio::runtime::Builder::new_current_thread()
        .max_blocking_threads(1)
        .enable_all()
        .build()
        .unwrap();
    one_thread.block_on(async {
        let on = Fixture::new(TestDatabase::sqlite()).await;
        let short = StoreSettings {
            permit_wait: Duration::from_millis(500),
            ..StoreSettings::default()
        };
        let (store, tenant) = (on.database.store_with(short), on.tenant);
        let held = hold_reads(&store, 1).await;
        let read = store
            .read(tenant, move |conn| clubs::find(conn, tenant))
            .await;
        assert!(matches!(read, Err(StoreError::Busy)), "{read:?}");
        let write = write_as(&store, tenant, now(), |_, _, moment| Ok(moment.next_seq())).await;
        assert!(matches!(write, Err(StoreError::Busy)), "{write:?}");
        drop(held);
        // What was withdrawn is not done later.
        let patient = on.database.store();
        let number = write_as(
            &patient,
            tenant,
            now(),
            |_, _, moment| Ok(moment.next_seq()),
        );
        assert_eq!(number.await.unwrap(), 1);
    });
}

#[test]
fn nothing_is_reached_by_guessing() {
    let folder = tempfile::tempdir().unwrap();
    let missing = DatabaseUrl::sqlite(folder.path().join("no/such/folder/club.sqlite"));
    // Port 1 of this machine listens to nobody.
    let refused: DatabaseUrl = "postgres://club@127.0.0.1:1/club".parse().unwrap();
    for url in [missing, refused] {
        let outcome = Store::connect(&url, StoreSettings::default(), MasterKeys::none());
        assert!(
            matches!(outcome, Err(StoreError::Unavailable(_))),
            "{outcome:?}"
        );
    }
    for typo in ["postgres:typo", "sqlit:///tmp/club.sqlite"] {
        assert!(typo.parse::<DatabaseUrl>().is_err());
    }
    assert!(!std::path::Path::new("postgres:typo").exists());
}

mod sqlite_only {
    use super::*;

    /// Every connection of both pools at once, so that none is seen twice.
    #[tokio::test]
    async fn each_pooled_connection_has_its_settings() {
        let database = TestDatabase::sqlite();
        let settings = StoreSettings {
            read_connections: 3,
            ..StoreSettings::default()
        };
        let store = database.store_with(settings);
        let pragmas = |conn: &mut Conn| {
            let mut values = Vec::new();
            for query in [
                "SELECT synchronous FROM pragma_synchronous",
                "SELECT foreign_keys FROM pragma_foreign_keys",
                "SELECT secure_delete FROM pragma_secure_delete",
                "SELECT timeout FROM pragma_busy_timeout",
                "SELECT journal_mode = 'wal' FROM pragma_journal_mode",
                "SELECT query_only FROM pragma_query_only",
            ] {
                values.push(testing::number(conn, query)?);
            }
            Ok::<_, StoreError>(values)
        };
        let gate = Arc::new(std::sync::Barrier::new(3));
        let readers: Vec<_> = (0..3)
            .map(|_| {
                let (store, gate) = (store.clone(), Arc::clone(&gate));
                tokio::spawn(async move {
                    store
                        .read(Clubs::Every, move |conn| {
                            gate.wait();
                            pragmas(conn)
                        })
                        .await
                })
            })
            .collect();
        for reader in readers {
            assert_eq!(reader.await.unwrap().unwrap(), [2, 1, 1, 2_000, 1, 1]);
        }
        assert_eq!(
            store.write(Clubs::Every, pragmas).await.unwrap(),
            [2, 1, 1, 2_000, 1, 0]
        );
    }

    #[tokio::test]
    async fn a_full_disk_is_told_and_reading_goes_on() {
        let on = Fixture::new(TestDatabase::sqlite()).await;
        let tenant = on.tenant;
        // The file may not grow any more: what a full disk does.
        let pages = on
            .store
            .write(Clubs::Every, |conn| {
                testing::number(conn, "SELECT page_count FROM pragma_page_count")
            })
            .await
            .unwrap();
        let limit = format!("PRAGMA max_page_count = {pages};");
        on.store
            .write(Clubs::Every, move |conn| testing::execute(conn, &limit))
            .await
            .unwrap();
        let long = "x".repeat(200_000);
        let refused = on
            .store
            .write(tenant, move |conn| {
                clubs::update(conn, tenant, 1, &long, "UTC")
            })
            .await;
        assert!(
            matches!(refused, Err(StoreError::StorageFull)),
            "{refused:?}"
        );
        assert_eq!(on.read(clubs::find).await.unwrap().version, 1);
        let writing = on.store.check_writing().await;
        assert!(
            matches!(writing, Err(StoreError::StorageFull)),
            "{writing:?}"
        );

        let space = "PRAGMA max_page_count = 1000000;";
        on.store
            .write(Clubs::Every, move |conn| testing::execute(conn, space))
            .await
            .unwrap();
        on.store
            .write(tenant, move |conn| {
                clubs::update(conn, tenant, 1, "Room", "UTC")
            })
            .await
            .unwrap();
        on.store.check_writing().await.unwrap();
    }

    #[cfg(unix)]
    #[tokio::test]
    async fn the_file_is_its_owners_alone() {
        use std::os::unix::fs::PermissionsExt;
        let database = TestDatabase::sqlite();
        let DatabaseUrl::Sqlite(path) = database.url() else {
            panic!("a SQLite URL")
        };
        let mode = std::fs::metadata(path).unwrap().permissions().mode();
        assert_eq!(mode & 0o777, 0o600);
    }
}

mod postgres_only {
    use super::*;

    async fn fixture(settings: StoreSettings) -> Fixture {
        let mut on = Fixture::new(TestDatabase::postgres()).await;
        on.store = on.database.store_with(settings);
        on
    }

    fn short() -> StoreSettings {
        StoreSettings {
            statement_timeout: Duration::from_millis(100),
            commit_timeout: Duration::from_millis(200),
            ..StoreSettings::default()
        }
    }

    /// Ends every other connection to this database, as a restart of the server does.
    async fn end_connections(on: &Fixture) {
        let other = on.database.store();
        let query = "SELECT count(pg_terminate_backend(pid)) FROM pg_stat_activity \
                     WHERE datname = current_database() AND pid <> pg_backend_pid()";
        let ended = other
            .write(Clubs::Every, move |conn| testing::number(conn, query))
            .await
            .unwrap();
        assert!(ended > 0);
    }

    #[tokio::test]
    async fn a_long_statement_is_cut_off_and_its_connection_goes_on() {
        let on = fixture(short()).await;
        for _ in 0..3 {
            let slow = "SELECT 1 FROM pg_sleep(60)";
            let outcome = on
                .store
                .read(Clubs::Every, move |conn| testing::number(conn, slow))
                .await;
            assert!(matches!(outcome, Err(StoreError::Timeout)), "{outcome:?}");
            on.read(clubs::find).await.unwrap();
        }
    }

    #[tokio::test]
    async fn a_connection_that_died_in_the_pool_is_replaced() {
        let on = fixture(StoreSettings::default()).await;
        on.read(clubs::find).await.unwrap();
        on.write(now(), |_, _, _| Ok(())).await.unwrap();
        end_connections(&on).await;
        on.read(clubs::find).await.unwrap();
        end_connections(&on).await;
        on.write(later(1), |_, _, moment| Ok(moment.next_seq()))
            .await
            .unwrap();
    }

    #[tokio::test]
    async fn a_read_cut_off_is_tried_once_more() {
        let on = fixture(StoreSettings::default()).await;
        let tries = Arc::new(AtomicUsize::new(0));
        let counter = Arc::clone(&tries);
        let outcome = on
            .store
            .read(Clubs::Every, move |conn| {
                if counter.fetch_add(1, Ordering::SeqCst) == 0 {
                    testing::number(conn, "SELECT pg_terminate_backend(pg_backend_pid())::int")
                } else {
                    Ok(7)
                }
            })
            .await;
        assert_eq!(outcome.unwrap(), 7);
        assert_eq!(tries.load(Ordering::SeqCst), 2);
    }

    #[tokio::test]
    async fn a_write_cut_off_is_not_repeated() {
        let on = fixture(StoreSettings::default()).await;
        let outcome = on
            .store
            .write(Clubs::Every, |conn| {
                testing::number(conn, "SELECT pg_terminate_backend(pg_backend_pid())::int")
            })
            .await;
        assert!(
            matches!(outcome, Err(StoreError::Unavailable(_))),
            "{outcome:?}"
        );
        on.write(now(), |_, _, _| Ok(())).await.unwrap();
    }

    #[tokio::test]
    async fn a_connection_lost_at_commit_leaves_the_outcome_unknown() {
        let on = fixture(StoreSettings::default()).await;
        let (tenant, url) = (on.tenant, on.database.url().clone());
        let outcome = on
            .store
            .write(tenant, move |conn| {
                clubs::update(conn, tenant, 1, "Renamed", "UTC")?;
                let pid = testing::number(conn, "SELECT pg_backend_pid()")?;
                testing::execute_elsewhere(
                    &url,
                    &format!("SELECT pg_terminate_backend({pid}, 5000)"),
                )
            })
            .await;
        assert!(
            matches!(outcome, Err(StoreError::OutcomeUnknown)),
            "{outcome:?}"
        );
        assert_eq!(on.read(clubs::find).await.unwrap().name, "HSG Nordufer");
    }

    /// A COMMIT that waits for a standby is bounded by no limit of the server's; a deferred trigger
    /// that sleeps stands in for the standby.
    #[tokio::test]
    async fn a_commit_without_an_answer_leaves_the_outcome_unknown() {
        let settings = StoreSettings {
            statement_timeout: Duration::from_secs(60),
            ..short()
        };
        let on = fixture(settings).await;
        let tenant = on.tenant;
        on.store
            .write(Clubs::Every, |conn| {
                testing::execute(
                    conn,
                    "CREATE FUNCTION wait_for_standby() RETURNS trigger LANGUAGE plpgsql AS \
                     $$ BEGIN PERFORM pg_sleep(2); RETURN NULL; END $$; \
                     CREATE CONSTRAINT TRIGGER slow AFTER UPDATE ON clubs \
                     DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION wait_for_standby();",
                )
            })
            .await
            .unwrap();
        let outcome = on
            .store
            .write(tenant, move |conn| {
                clubs::update(conn, tenant, 1, "Renamed", "UTC")
            })
            .await;
        assert!(
            matches!(outcome, Err(StoreError::OutcomeUnknown)),
            "{outcome:?}"
        );
    }
}
