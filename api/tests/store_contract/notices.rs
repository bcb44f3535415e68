//! The outbox: one taker a delivery, a lease that runs out, an end that is written down once.

use jiff::SignedDuration;
use plimsoll_api::ids::LeaseId;
use plimsoll_api::store::notices::deliveries::{self, Attempt, Delivery, Start, StoredNotice};
use plimsoll_api::store::notices::endpoints::{self, Endpoint};
use plimsoll_api::store::notices::outbox::{self, Next};
use plimsoll_api::store::{AttemptOutcome, Channel, DeliveryState, NoticeKind, WaitingFor};
use serde_json::json;

use crate::support::{Fixture, later, now, on_both_databases, september};

on_both_databases!(
    a_delivery_is_taken_by_one_until_its_lease_runs_out,
    an_end_is_written_down_once,
    another_club_sees_no_endpoint_and_no_delivery,
    an_endpoint_is_confirmed_by_the_challenge_that_counts,
    what_is_kept_back_is_let_go_or_given_up,
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
        }
        .into(),
        squads: vec![on.id()],
        secret: Some(vec![7; 32].into()),
        old_secret: None,
        old_secret_until: None,
        failing_since: None,
        disabled_at: None,
        disabled_why: None,
        version: 1,
        created_at: now(),
        confirmed_at: Some(now()),
        challenge_id: None,
        entered_by: None,
        questions: false,
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
        outbox::claim(conn, tenant, (id, None), lease, (at, until))
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

/// The delivery as it is now.
async fn read(on: &Fixture, delivery: &Delivery) -> Delivery {
    let id = delivery.delivery_id;
    let found = on.read(move |conn, tenant| deliveries::find(conn, tenant, id));
    found.await.unwrap()
}

async fn an_endpoint_is_confirmed_by_the_challenge_that_counts(on: Fixture) {
    let (mut endpoint, _) = due(&on).await;
    let (id, asked, former) = (endpoint.endpoint_id, on.id(), on.id());
    endpoint.confirmed_at = None;
    endpoint.challenge_id = Some(asked);
    let other = on.other_club().await;
    let answers = on.write(now(), move |conn, tenant, _| {
        endpoints::save(conn, tenant, &endpoint)?;
        Ok([
            endpoints::confirm(conn, tenant, id, former, later(5))?,
            endpoints::confirm(conn, other, id, asked, later(5))?,
            endpoints::confirm(conn, tenant, id, asked, later(5))?,
            endpoints::confirm(conn, tenant, id, asked, later(9))?,
        ])
    });
    assert_eq!(answers.await.unwrap(), [false, false, true, false]);
    let found = on.read(move |conn, tenant| endpoints::find(conn, tenant, id));
    assert_eq!(found.await.unwrap().confirmed_at, Some(later(5)));
}

async fn what_is_kept_back_is_let_go_or_given_up(on: Fixture) {
    let (endpoint, kept) = due(&on).await;
    let id = endpoint.endpoint_id;
    let asked = StoredNotice {
        notice_id: on.id(),
        kind: NoticeKind::Challenge,
        monday: september(7),
        created_at: now(),
        payload: json!({ "challenge": "c" }),
    };
    let challenge = Delivery {
        delivery_id: on.id(),
        notice_id: asked.notice_id,
        ..kept.clone()
    };
    let (notice, row) = (asked.notice_id, challenge.clone());
    let keep_back = |at: i64, until: i64| {
        on.write(later(at), move |conn, tenant, _| {
            let hold = (later(until), WaitingFor::Confirmation);
            outbox::keep_back(conn, tenant, (id, notice), later(at), hold)
        })
    };
    on.write(now(), move |conn, tenant, _| {
        deliveries::insert(conn, tenant, vec![asked], vec![row])
    })
    .await
    .unwrap();
    keep_back(0, 60).await.unwrap();
    let waits = (later(60), Some(WaitingFor::Confirmation));
    let found = read(&on, &kept).await;
    assert_eq!((found.due_at, found.waiting_for), waits);
    assert_eq!(read(&on, &challenge).await, challenge);

    // A span sent again leaves the challenge alone.
    let start = Start {
        due_at: later(30),
        waiting_for: Some(WaitingFor::Confirmation),
    };
    let again = on.write(now(), move |conn, tenant, _| {
        deliveries::redeliver_made(conn, tenant, id, (now(), now()), start)
    });
    assert_eq!(again.await.unwrap(), 1);
    assert_eq!(read(&on, &challenge).await, challenge);
    on.write(later(1), move |conn, tenant, _| {
        outbox::let_go(conn, tenant, id, later(1))
    })
    .await
    .unwrap();
    let found = read(&on, &kept).await;
    assert_eq!((found.due_at, found.waiting_for), (later(1), None));

    keep_back(2, 60).await.unwrap();
    keep_back(60, 120).await.unwrap();
    let given_up = (DeliveryState::Failed, Some(WaitingFor::Confirmation));
    let found = read(&on, &kept).await;
    assert_eq!((found.state, found.waiting_for), given_up);

    on.write(now(), move |conn, tenant, _| {
        deliveries::end(conn, tenant, notice)
    })
    .await
    .unwrap();
    assert_eq!(read(&on, &challenge).await.state, DeliveryState::Disabled);
}
