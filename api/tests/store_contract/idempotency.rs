//! Answers kept for repeated requests.

use plimsoll_api::ids::ClubId;
use plimsoll_api::store::idempotency::{self, StoredAnswer};
use plimsoll_api::store::{Clubs, StoreError, Tenant};
use serde_json::json;

use crate::support::{Fixture, later, now, on_both_databases};

on_both_databases!(
    an_answer_reads_back_byte_by_byte,
    a_key_is_taken_until_it_expires,
    a_key_may_belong_to_no_club_yet;
    filtered:
    what_has_expired_is_forgotten,
);

fn answer(key: u8, expires_in: i64) -> StoredAnswer {
    StoredAnswer {
        key_hash: vec![key; 32],
        fingerprint: vec![0, 255, 7],
        status: 201,
        headers: json!({ "etag": "\"1\"", "location": "/v1/clubs/x" }),
        body: b"{\"name\":\"\x00\xff\"}".to_vec().into(),
        created_at: now(),
        expires_at: later(expires_in),
        erased: false,
    }
}

impl Fixture {
    async fn keep(&self, answer: StoredAnswer) -> Result<(), StoreError> {
        self.write(now(), move |conn, tenant, _| {
            idempotency::insert(conn, tenant, &answer)
        })
        .await
    }

    async fn kept(&self, key: u8, at: i64) -> Option<StoredAnswer> {
        self.read(move |conn, tenant| idempotency::find(conn, tenant, &[key; 32], later(at)))
            .await
    }
}

async fn an_answer_reads_back_byte_by_byte(on: Fixture) {
    on.keep(answer(1, 60)).await.unwrap();
    assert_eq!(on.kept(1, 0).await, Some(answer(1, 60)));
    assert_eq!(on.kept(2, 0).await, None);
}

async fn a_key_is_taken_until_it_expires(on: Fixture) {
    on.keep(answer(1, 60)).await.unwrap();
    let taken = on.keep(answer(1, 90)).await;
    assert!(matches!(taken, Err(StoreError::Conflict)), "{taken:?}");
    assert!(on.kept(1, 59).await.is_some());
    assert_eq!(on.kept(1, 60).await, None);
    let again = StoredAnswer {
        created_at: later(60),
        expires_at: later(120),
        ..answer(1, 0)
    };
    on.keep(again.clone()).await.unwrap();
    assert_eq!(on.kept(1, 61).await, Some(again));
}

async fn what_has_expired_is_forgotten(on: Fixture) {
    for (key, expires_in) in [(1, 10), (2, 20), (3, 30)] {
        on.keep(answer(key, expires_in)).await.unwrap();
    }
    let prune = |at| {
        on.store.write(Clubs::Every, move |conn| {
            idempotency::prune(conn, later(at))
        })
    };
    assert_eq!(prune(20).await.unwrap(), 2);
    assert_eq!(prune(20).await.unwrap(), 0);
    assert!(on.kept(3, 0).await.is_some());
}

async fn a_key_may_belong_to_no_club_yet(on: Fixture) {
    let nobody = Tenant::granted(ClubId::from(uuid::Uuid::nil()));
    on.store
        .write(nobody, move |conn| {
            idempotency::insert(conn, nobody, &answer(1, 60))
        })
        .await
        .unwrap();
    assert_eq!(on.kept(1, 0).await, None);
}
