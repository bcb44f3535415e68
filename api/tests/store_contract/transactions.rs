//! Transactions: all or nothing, one after the other, and never half.

use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc;
use std::time::Duration;

use jiff::SignedDuration;
use plimsoll_api::clock::Clock;
use plimsoll_api::store::day_totals::{self, Days, Totals};
use plimsoll_api::store::{
    Conn, Known, StoreError, StoreSettings, Tenant, Who, athletes, clubs, savepoint,
};
use plimsoll_domain::Setting;

use crate::support::{AUTHOR, Fixture, later, now, on_both_databases, september, write_as};

on_both_databases!(
    an_error_undoes_the_whole_write,
    a_panic_undoes_the_whole_write,
    a_savepoint_is_undone_alone,
    savepoints_nest,
    a_trial_stores_nothing_and_answers_the_same,
    a_failed_statement_cannot_be_passed_over,
    a_failed_statement_cannot_be_passed_over_in_a_trial,
    a_failed_statement_inside_a_savepoint_can,
    a_read_cannot_write,
    a_snapshot_sees_one_state,
    a_settled_read_waits_for_the_write_under_way,
    a_settled_read_does_not_wait_for_ever,
    each_write_has_an_instant_of_its_own,
    eight_writers_lose_nothing,
    a_request_given_up_is_still_carried_out,
);

async fn athletes_stored(on: &Fixture) -> usize {
    on.read(|conn, tenant| athletes::page(conn, tenant, Who::WholeClub, None, 99))
        .await
        .len()
}

async fn an_error_undoes_the_whole_write(on: Fixture) {
    let athlete = on.athlete("Mara");
    let failed = on
        .write(now(), move |conn, tenant, moment| {
            athletes::insert(conn, tenant, moment, AUTHOR, &[athlete])?;
            Err::<(), _>(StoreError::NotFound)
        })
        .await;
    assert!(matches!(failed, Err(StoreError::NotFound)));
    assert_eq!(athletes_stored(&on).await, 0);
    on.add_athlete("Jonna").await;
    assert_eq!(athletes_stored(&on).await, 1);
}

async fn a_panic_undoes_the_whole_write(on: Fixture) {
    let athlete = on.athlete("Mara");
    let failed = on
        .write(now(), move |conn, tenant, moment| {
            athletes::insert(conn, tenant, moment, AUTHOR, &[athlete])?;
            assert_eq!(moment.last_seq(), 0, "a fault in the work");
            Ok(())
        })
        .await;
    assert!(matches!(failed, Err(StoreError::Internal(_))), "{failed:?}");
    on.add_athlete("Jonna").await;
    assert_eq!(athletes_stored(&on).await, 1);
}

async fn a_savepoint_is_undone_alone(on: Fixture) {
    let (kept, undone) = (on.athlete("Kept"), on.athlete("Undone"));
    on.write(now(), move |conn, tenant, moment| {
        athletes::insert(conn, tenant, moment, AUTHOR, &[kept])?;
        let refused = savepoint(conn, |conn| {
            athletes::insert(conn, tenant, moment, AUTHOR, &[undone])?;
            Err::<(), _>(StoreError::NotFound)
        });
        assert!(matches!(refused, Err(StoreError::NotFound)));
        Ok(())
    })
    .await
    .unwrap();
    let found = on
        .read(|conn, tenant| athletes::known(conn, tenant, Who::WholeClub, Known::Now))
        .await;
    let names: Vec<_> = found
        .iter()
        .map(|row| row.content.display_name.as_str())
        .collect();
    assert_eq!(names, ["Kept"]);
}

async fn savepoints_nest(on: Fixture) {
    let (outer, inner) = (on.athlete("Outer"), on.athlete("Inner"));
    on.write(now(), move |conn, tenant, moment| {
        savepoint(conn, |conn| {
            athletes::insert(conn, tenant, moment, AUTHOR, &[outer])?;
            savepoint(conn, |conn| {
                athletes::insert(conn, tenant, moment, AUTHOR, &[inner])?;
                Err::<(), _>(StoreError::Busy)
            })
            .unwrap_err();
            Ok::<_, StoreError>(())
        })
    })
    .await
    .unwrap();
    assert_eq!(athletes_stored(&on).await, 1);
}

async fn a_trial_stores_nothing_and_answers_the_same(on: Fixture) {
    let athlete = on.athlete("Mara");
    let id = athlete.athlete_id;
    let tenant = on.tenant;
    let answer = on
        .store
        .trial(tenant, move |conn| {
            let mut moment = clubs::lock(conn, tenant, Clock::Fixed(now()))?;
            athletes::insert(conn, tenant, &mut moment, AUTHOR, &[athlete])?;
            clubs::moment_save(conn, tenant, &moment)?;
            athletes::current(conn, tenant, id)
        })
        .await
        .unwrap();
    assert_eq!(answer.unwrap().content.athlete_id, id);
    assert_eq!(athletes_stored(&on).await, 0);
    assert_eq!(on.read(clubs::find).await.unwrap().last_seq, 0);
}

async fn a_failed_statement_cannot_be_passed_over(on: Fixture) {
    on.add_athlete("Mara").await;
    let (twin, other) = (on.athlete("Mara"), on.athlete("Jonna"));
    let outcome = on
        .write(now(), move |conn, tenant, moment| {
            let taken = athletes::insert(conn, tenant, moment, AUTHOR, &[twin]);
            assert!(matches!(taken, Err(StoreError::Conflict)));
            // Refused by PostgreSQL, accepted by SQLite: the write as a whole must not count.
            let _ = athletes::insert(conn, tenant, moment, AUTHOR, &[other]);
            let _ = clubs::moment_save(conn, tenant, moment);
            Ok(())
        })
        .await;
    assert!(outcome.is_err());
    assert_eq!(athletes_stored(&on).await, 1);
}

async fn a_failed_statement_cannot_be_passed_over_in_a_trial(on: Fixture) {
    on.add_athlete("Mara").await;
    let (twin, tenant) = (on.athlete("Mara"), on.tenant);
    let outcome = on
        .store
        .trial(tenant, move |conn| {
            let mut moment = clubs::lock(conn, tenant, Clock::Fixed(now()))?;
            let taken = athletes::insert(conn, tenant, &mut moment, AUTHOR, &[twin]);
            assert!(matches!(taken, Err(StoreError::Conflict)));
            Ok::<_, StoreError>(())
        })
        .await;
    assert!(matches!(outcome, Err(StoreError::Internal(_))));
}

async fn a_failed_statement_inside_a_savepoint_can(on: Fixture) {
    on.add_athlete("Mara").await;
    let (twin, other) = (on.athlete("Mara"), on.athlete("Jonna"));
    on.write(now(), move |conn, tenant, moment| {
        let taken = savepoint(conn, |conn| {
            athletes::insert(conn, tenant, moment, AUTHOR, &[twin])
        });
        assert!(matches!(taken, Err(StoreError::Conflict)));
        athletes::insert(conn, tenant, moment, AUTHOR, &[other])
    })
    .await
    .unwrap();
    assert_eq!(athletes_stored(&on).await, 2);
}

async fn a_read_cannot_write(on: Fixture) {
    let tenant = on.tenant;
    let rename = move |conn: &mut Conn| clubs::update(conn, tenant, 1, "Renamed", "UTC");
    let outcome = on.store.read(tenant, rename).await;
    assert!(
        matches!(outcome, Err(StoreError::Internal(_))),
        "{outcome:?}"
    );
    assert_eq!(on.read(clubs::find).await.unwrap().version, 1);
}

async fn a_snapshot_sees_one_state(on: Fixture) {
    on.add_athlete("Mara").await;
    let (tenant, store) = (on.tenant, on.store.clone());
    let (first_read, after_first_read) = tokio::sync::oneshot::channel();
    let (go_on, wait) = mpsc::channel();
    let (first_read, wait) = (
        std::sync::Mutex::new(Some(first_read)),
        std::sync::Mutex::new(wait),
    );
    let reading = tokio::spawn(async move {
        store
            .read(tenant, move |conn| {
                let count = |conn: &mut Conn| {
                    athletes::page(conn, tenant, Who::WholeClub, None, 99).map(|found| found.len())
                };
                let before = count(conn)?;
                first_read.lock().unwrap().take().unwrap().send(()).unwrap();
                wait.lock().unwrap().recv().unwrap();
                Ok::<_, StoreError>((before, count(conn)?))
            })
            .await
    });
    after_first_read.await.unwrap();
    on.add_athlete("Jonna").await;
    go_on.send(()).unwrap();
    assert_eq!(reading.await.unwrap().unwrap(), (1, 1));
    assert_eq!(athletes_stored(&on).await, 2);
}

/// A write that holds the club until it is told to end.
fn slow_write(
    on: &Fixture,
) -> (
    tokio::task::JoinHandle<()>,
    tokio::sync::oneshot::Receiver<()>,
    mpsc::Sender<()>,
) {
    let (holds, held) = tokio::sync::oneshot::channel();
    let (end, told_to_end) = mpsc::channel::<()>();
    let (store, tenant, athlete) = (on.store.clone(), on.tenant, on.athlete("Jonna"));
    let writing = tokio::spawn(async move {
        let written = store.write(tenant, move |conn| {
            let mut moment = clubs::lock(conn, tenant, Clock::Fixed(now()))?;
            holds.send(()).unwrap();
            told_to_end.recv().unwrap();
            athletes::insert(conn, tenant, &mut moment, AUTHOR, &[athlete])?;
            clubs::moment_save(conn, tenant, &moment)
        });
        written.await.unwrap();
    });
    (writing, held, end)
}

/// What a settled read finds: whether it waited to the end, and how many athletes.
fn settled_read(
    on: &Fixture,
    tenant: Tenant,
) -> tokio::task::JoinHandle<Result<(bool, usize), StoreError>> {
    let store = on.store.clone();
    tokio::spawn(async move {
        store
            .settled(tenant, move |conn, settled| {
                let found = athletes::page(conn, tenant, Who::WholeClub, None, 99)?;
                Ok((settled, found.len()))
            })
            .await
    })
}

async fn a_settled_read_waits_for_the_write_under_way(on: Fixture) {
    on.add_athlete("Mara").await;
    let (writing, held, end) = slow_write(&on);
    held.await.unwrap();
    let reading = settled_read(&on, on.tenant);
    tokio::time::sleep(Duration::from_millis(50)).await;
    assert!(!reading.is_finished(), "the write has not ended");
    end.send(()).unwrap();
    assert_eq!(reading.await.unwrap().unwrap(), (true, 2));
    writing.await.unwrap();
}

async fn a_settled_read_does_not_wait_for_ever(on: Fixture) {
    on.add_athlete("Mara").await;
    let (writing, held, end) = slow_write(&on);
    held.await.unwrap();
    let reading = settled_read(&on, on.tenant);
    assert_eq!(reading.await.unwrap().unwrap(), (false, 1));
    end.send(()).unwrap();
    writing.await.unwrap();
    assert_eq!(
        settled_read(&on, on.tenant).await.unwrap().unwrap(),
        (true, 2)
    );
}

/// A clock that was set back does not give two writes one instant.
async fn each_write_has_an_instant_of_its_own(on: Fixture) {
    let mut instants = Vec::new();
    for seconds in [0, -3_600, -7_200] {
        let (tenant, clock) = (on.tenant, Clock::starting_at(later(seconds)));
        let written = on.store.write(tenant, move |conn| {
            let moment = clubs::lock(conn, tenant, clock)?;
            clubs::moment_save(conn, tenant, &moment)?;
            Ok::<_, StoreError>(moment.at())
        });
        instants.push(written.await.unwrap());
    }
    let after = |number| instants[0] + SignedDuration::from_micros(number);
    assert_eq!(instants[1..], [after(1), after(2)]);
}

/// Each writer reads what is there and writes one more, as a report does.
async fn eight_writers_lose_nothing(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let day = september(7);
    let add_one = move |conn: &mut Conn, tenant: Tenant| {
        let rows = day_totals::in_dates(conn, tenant, Who::Athletes(&[mara]), day, day)?;
        let logged_half = rows.first().map_or(0, |row| row.totals.logged_half) + 1;
        let totals = Totals {
            logged_half,
            ..Totals::default()
        };
        let days = Days::from([((mara, day), [(Setting::Club, totals)].into())]);
        day_totals::replace(conn, tenant, &days)
    };
    let patient = StoreSettings {
        permit_wait: Duration::from_secs(60),
        lock_timeout: Duration::from_secs(60),
        ..Default::default()
    };
    let store = on.database.store_with(patient);
    let mut writers = tokio::task::JoinSet::new();
    for _ in 0..8 {
        let (store, tenant) = (store.clone(), on.tenant);
        writers.spawn(async move {
            for _ in 0..50 {
                write_as(&store, tenant, now(), move |conn, tenant, moment| {
                    moment.next_seq();
                    add_one(conn, tenant)
                })
                .await?;
            }
            Ok::<_, StoreError>(())
        });
    }
    for outcome in writers.join_all().await {
        outcome.unwrap();
    }
    let rows = on
        .read(move |conn, tenant| day_totals::in_dates(conn, tenant, Who::WholeClub, day, day))
        .await;
    assert_eq!(rows[0].totals.logged_half, 400);
    assert_eq!(on.read(clubs::find).await.unwrap().last_seq, 401);
}

async fn a_request_given_up_is_still_carried_out(on: Fixture) {
    let (tenant, store) = (on.tenant, on.store.clone());
    let started = Arc::new(AtomicUsize::new(0));
    let (go_on, wait) = mpsc::channel();
    let (running, is_running) = tokio::sync::oneshot::channel();
    let counter = Arc::clone(&started);
    let request = tokio::spawn(async move {
        store
            .write(tenant, move |conn| {
                counter.fetch_add(1, Ordering::SeqCst);
                running.send(()).unwrap();
                wait.recv().unwrap();
                clubs::update(conn, tenant, 1, "Renamed", "UTC")
            })
            .await
    });
    is_running.await.unwrap();
    request.abort();
    assert!(request.await.unwrap_err().is_cancelled());
    go_on.send(()).unwrap();
    // The next write waits for its turn behind the first.
    on.write(later(1), |_, _, _| Ok(())).await.unwrap();
    assert_eq!(on.read(clubs::find).await.unwrap().name, "Renamed");
    assert_eq!(started.load(Ordering::SeqCst), 1);
}
