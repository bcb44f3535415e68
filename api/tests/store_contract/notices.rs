//! The outbox: one taker a delivery, a lease that runs out, an end that is written down once.

use jiff::SignedDuration;
use plimsoll_api::ids::LeaseId;
use plimsoll_api::store::notices::deliveries::{self, Attempt, Delivery, StoredNotice};
use plimsoll_api::store::notices::endpoints::{self, Endpoint};
use plimsoll_api::store::notices::outbox::{self, Next};
use plimsoll_api::store::{AttemptOutcome, Channel, DeliveryState, NoticeKind};
use serde_json::json;

use crate::support::{Fixture, later, now, on_both_databases, september};

on_both_databases!(
    a_delivery_is_taken_by_one_until_its_lease_runs_out,
    an_end_is_written_down_once,
    another_club_sees_no_endpoint_and_no_delivery,
);

/// A webhook with one delivery due now.
async fn due(on: &Fixture) -> (Endpoint, Delivery) {
    due_to(on, Channel::Webhook).await
}

/// An endpoint of a channel with one delivery due now.
pub async fn due_to(on: &Fixture, channel: Channel) -> (Endpoint, Delivery) {
    let endpoint_id = on.id();
    let endpoint = Endpoint {
        endpoint_id,
        channel,
        address: match channel {
            Channel::Webhook => "https://club.example.org/notices".to_owned(),
            Channel::Email => format!("{endpoint_id}@club.example.org"),
        },
        squads: vec![on.id()],
        secret: Some(vec![7; 32]),
        old_secret: None,
        old_secret_until: None,
        failing_since: None,
        disabled_at: None,
        disabled_why: None,
        version: 1,
        created_at: now(),
    };
    let notice = StoredNotice {
        notice_id: on.id(),
        kind: NoticeKind::WeekClosed,
        monday: september(7),
        created_at: now(),
        payload: json!({ "late": false }),
    };
    let delivery = Delivery {
        delivery_id: on.id(),
        notice_id: notice.notice_id,
        endpoint_id: endpoint.endpoint_id,
        body: "{\"id\": 1}".to_owned(),
        state: DeliveryState::Pending,
        due_at: now(),
        attempts: 0,
        last_status: None,
        created_at: now(),
        waiting_for: None,
    };
    let rows = (endpoint.clone(), delivery.clone());
    on.write(now(), move |conn, tenant, _| {
        endpoints::insert(conn, tenant, &rows.0)?;
        deliveries::insert(conn, tenant, vec![notice], vec![rows.1])
    })
    .await
    .unwrap();
    (endpoint, delivery)
}

async fn claim(
    on: &Fixture,
    endpoint: &Endpoint,
    lease: LeaseId,
    seconds: i64,
) -> Option<Delivery> {
    let id = endpoint.endpoint_id;
    let at = later(seconds);
    on.write(at, move |conn, tenant, _| {
        let until = at + SignedDuration::from_secs(60);
        outbox::claim(conn, tenant, id, lease, at, until)
    })
    .await
    .unwrap()
}

async fn settle(on: &Fixture, delivery: &Delivery, lease: LeaseId) -> bool {
    let attempt = Attempt {
        delivery_id: delivery.delivery_id,
        attempt: 1,
        at: later(1),
        outcome: AttemptOutcome::Accepted,
        status: Some(204),
        answer_bytes: Some(0),
    };
    let next = Next {
        state: DeliveryState::Delivered,
        due_at: later(1),
        waiting_for: None,
    };
    on.write(later(1), move |conn, tenant, _| {
        outbox::settle(conn, tenant, lease, &attempt, next)
    })
    .await
    .unwrap()
}

async fn a_delivery_is_taken_by_one_until_its_lease_runs_out(on: Fixture) {
    let (endpoint, delivery) = due(&on).await;
    let stored = on.read(endpoints::enabled).await;
    assert_eq!(stored, std::slice::from_ref(&endpoint));
    let taken = claim(&on, &endpoint, on.id(), 0).await;
    assert_eq!(taken, Some(delivery.clone()));
    assert_eq!(claim(&on, &endpoint, on.id(), 0).await, None);
    let waiting = on.read(|conn, _| outbox::waiting(conn, now())).await;
    assert_eq!(waiting, (1, Some(now())));
    let much_later = 24 * 60;
    assert_eq!(
        claim(&on, &endpoint, on.id(), much_later).await,
        Some(delivery)
    );
}

async fn an_end_is_written_down_once(on: Fixture) {
    let (endpoint, delivery) = due(&on).await;
    let (lease, stranger) = (on.id(), on.id());
    claim(&on, &endpoint, lease, 0).await.unwrap();
    assert!(!settle(&on, &delivery, stranger).await, "not the holder");
    assert!(settle(&on, &delivery, lease).await);
    assert!(!settle(&on, &delivery, lease).await, "it is over");
    let notice = delivery.notice_id;
    let attempts = on
        .read(move |conn, tenant| deliveries::attempts_of_notice(conn, tenant, notice))
        .await;
    let numbers: Vec<i32> = attempts.iter().map(|attempt| attempt.attempt).collect();
    assert_eq!(numbers, [1, 2, 3], "every attempt is listed all the same");
    let rows = on
        .read(move |conn, tenant| deliveries::of_notice(conn, tenant, notice))
        .await;
    assert_eq!(
        (rows[0].state, rows[0].attempts),
        (DeliveryState::Delivered, 1)
    );
}

async fn another_club_sees_no_endpoint_and_no_delivery(on: Fixture) {
    let (endpoint, delivery) = due(&on).await;
    let other = on.other_club().await;
    let (id, notice, sent) = (
        endpoint.endpoint_id,
        delivery.notice_id,
        delivery.delivery_id,
    );
    let found = on
        .read(move |conn, _| {
            Ok((
                endpoints::find(conn, other, id)?,
                endpoints::page(conn, other, None, 10)?,
                deliveries::find(conn, other, sent)?,
                deliveries::find_notice(conn, other, notice)?,
                deliveries::of_notice(conn, other, notice)?,
            ))
        })
        .await;
    assert_eq!(found, (None, vec![], None, None, vec![]));
}
