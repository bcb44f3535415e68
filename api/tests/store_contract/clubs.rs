//! Clubs and the lock that orders their writes.

use jiff::SignedDuration;
use plimsoll_api::clock::Clock;
use plimsoll_api::store::{Clubs, StoreError, Tenant, clubs};

use crate::support::{Fixture, later, now, on_both_databases};

on_both_databases!(
    a_row_reads_back_as_it_was_stored,
    an_update_wants_the_version_that_was_seen,
    time_never_runs_backwards,
    numbers_follow_each_other,
    a_club_that_is_not_there_cannot_be_locked;
    filtered:
    every_club_is_listed_page_by_page,
);

async fn a_row_reads_back_as_it_was_stored(on: Fixture) {
    let club = on.read(clubs::find).await.unwrap();
    assert_eq!(club.club_id, on.tenant.club_id());
    assert_eq!(
        (club.name.as_str(), club.time_zone.as_str()),
        ("HSG Nordufer", "Europe/Berlin")
    );
    assert_eq!((club.version, club.last_seq), (1, 0));
    assert_eq!((club.created_at, club.last_received_at), (now(), now()));

    let tenant = on.tenant;
    let again = on
        .store
        .write(tenant, move |conn| {
            clubs::insert(conn, tenant, "Twin", "UTC", now())
        })
        .await;
    assert!(matches!(again, Err(StoreError::Conflict)), "{again:?}");
}

async fn an_update_wants_the_version_that_was_seen(on: Fixture) {
    let tenant = on.tenant;
    let update = |version| {
        on.store.write(tenant, move |conn| {
            clubs::update(conn, tenant, version, "HSG Sund", "UTC")
        })
    };
    let club = update(1).await.unwrap();
    assert_eq!((club.version, club.name.as_str()), (2, "HSG Sund"));
    let stale = update(1).await;
    assert!(matches!(stale, Err(StoreError::Conflict)), "{stale:?}");
}

async fn every_club_is_listed_page_by_page(on: Fixture) {
    let mut expected = vec![on.tenant.club_id()];
    for _ in 0..4 {
        expected.push(on.other_club().await.club_id());
    }
    let mut listed = Vec::new();
    loop {
        let after = listed.last().copied();
        let page = on
            .store
            .read(Clubs::Every, move |conn| clubs::list_all(conn, after, 2));
        let page: Vec<_> = page.await.unwrap();
        if page.is_empty() {
            break;
        }
        listed.extend(page.into_iter().map(|club| club.club_id));
    }
    assert_eq!(listed, expected);
}

async fn time_never_runs_backwards(on: Fixture) {
    let at = |instant| on.write(instant, |_, _, moment| Ok(moment.at()));
    assert_eq!(at(later(10)).await.unwrap(), later(10));
    assert_eq!(at(later(3)).await.unwrap(), later(10));
    assert_eq!(at(later(11)).await.unwrap(), later(11));
    // What a moment says is what the database keeps.
    let nanosecond = later(12) + SignedDuration::from_nanos(1_999);
    let kept = at(nanosecond).await.unwrap();
    assert_eq!(kept, later(12) + SignedDuration::from_micros(1));
    assert_eq!(on.read(clubs::find).await.unwrap().last_received_at, kept);
}

async fn numbers_follow_each_other(on: Fixture) {
    let three = |fail: bool| {
        on.write(now(), move |_, _, moment| {
            let numbers = [moment.next_seq(), moment.next_seq(), moment.next_seq()];
            if fail {
                Err(StoreError::Conflict)
            } else {
                Ok(numbers)
            }
        })
    };
    assert_eq!(three(false).await.unwrap(), [1, 2, 3]);
    three(true).await.unwrap_err();
    assert_eq!(three(false).await.unwrap(), [4, 5, 6]);
}

async fn a_club_that_is_not_there_cannot_be_locked(on: Fixture) {
    let nobody = Tenant::granted(on.id());
    let locked = on
        .store
        .write(nobody, move |conn| {
            clubs::lock(conn, nobody, Clock::Fixed(now()))
        })
        .await;
    assert!(matches!(locked, Err(StoreError::NotFound)), "{locked:?}");
    let updated = on
        .store
        .write(nobody, move |conn| {
            clubs::update(conn, nobody, 1, "x", "UTC")
        })
        .await;
    assert!(matches!(updated, Err(StoreError::NotFound)), "{updated:?}");
}
