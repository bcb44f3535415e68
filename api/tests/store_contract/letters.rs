//! Letters: each edition once, rewritten while unsent, counted once they have left; and what mail waits for.

use jiff::SignedDuration;
use plimsoll_api::ids::LeaseId;
use plimsoll_api::store::notices::deliveries::{self, Attempt, Start};
use plimsoll_api::store::notices::letters::{self, Letter};
use plimsoll_api::store::notices::outbox::{self, Next};
use plimsoll_api::store::{
    AttemptOutcome, Channel, DeliveryState, NoticeKind, StoreError, WaitingFor,
};

use crate::notices::due_to;
use crate::support::{Fixture, later, now, on_both_databases, september};

on_both_databases!(
    an_edition_of_a_week_is_written_once,
    a_letter_is_rewritten_until_somebody_begins_to_send_it,
    a_letter_waits_until_somebody_begins_to_send_it,
    what_has_left_and_what_is_leaving_counts_for_the_quota,
    what_is_put_off_says_what_it_waits_for,
);

async fn an_edition_of_a_week_is_written_once(on: Fixture) {
    let (endpoint, delivery) = due_to(&on, Channel::Email).await;
    let letter = |edition| Letter {
        endpoint_id: endpoint.endpoint_id,
        monday: september(7),
        edition,
        delivery_id: delivery.delivery_id,
    };
    let write = |edition| {
        let letter = letter(edition);
        on.write(now(), move |conn, tenant, _| {
            letters::insert(conn, tenant, vec![letter])
        })
    };
    write(0).await.unwrap();
    assert!(matches!(write(0).await, Err(StoreError::Conflict)));
    write(1).await.unwrap();
    let id = endpoint.endpoint_id;
    let last = on
        .read(move |conn, tenant| letters::last(conn, tenant, id, september(7)))
        .await;
    assert_eq!(last, Some(letter(1)));
    let other = on
        .read(move |conn, tenant| letters::last(conn, tenant, id, september(14)))
        .await;
    assert_eq!(other, None);
}

async fn a_letter_is_rewritten_until_somebody_begins_to_send_it(on: Fixture) {
    let (endpoint, delivery) = due_to(&on, Channel::Email).await;
    let (recipient, id) = (endpoint.endpoint_id, delivery.delivery_id);
    let rewrite = |body: &'static str| {
        on.write(now(), move |conn, tenant, _| {
            letters::rewrite_unsent(conn, tenant, id, body)
        })
    };
    assert!(rewrite("{\"a\": 1}").await.unwrap());
    let lease: LeaseId = on.id();
    let taken = on
        .write(now(), move |conn, tenant, _| {
            let until = now() + SignedDuration::from_secs(60);
            outbox::claim(conn, tenant, (recipient, None), lease, (now(), until))
        })
        .await
        .unwrap();
    assert_eq!(taken.unwrap().body, "{\"a\": 1}");
    assert!(!rewrite("{\"a\": 2}").await.unwrap(), "it is being sent");
    settle(&on, id, lease, AttemptOutcome::Refused).await;
    assert!(!rewrite("{\"a\": 2}").await.unwrap(), "it has been sent");
    on.write(now(), move |conn, tenant, _| {
        deliveries::redeliver(conn, tenant, id, Start::at(now()))
    })
    .await
    .unwrap();
    assert!(!rewrite("{\"a\": 2}").await.unwrap(), "it is sent again");
}

async fn a_letter_waits_until_somebody_begins_to_send_it(on: Fixture) {
    let (endpoint, delivery) = due_to(&on, Channel::Email).await;
    let (other, _) = due_to(&on, Channel::Email).await;
    let (recipient, id) = (endpoint.endpoint_id, delivery.delivery_id);
    let waits = |recipient, kind| {
        on.read(move |conn, tenant| letters::waits(conn, tenant, recipient, kind))
    };
    assert!(waits(recipient, NoticeKind::WeekClosed).await);
    assert!(
        !waits(recipient, NoticeKind::QuestionAsked).await,
        "another kind"
    );
    let lease: LeaseId = on.id();
    on.write(now(), move |conn, tenant, _| {
        let until = now() + SignedDuration::from_secs(60);
        outbox::claim(conn, tenant, (recipient, None), lease, (now(), until))
    })
    .await
    .unwrap();
    assert!(
        !waits(recipient, NoticeKind::WeekClosed).await,
        "it is being sent"
    );
    settle(&on, id, lease, AttemptOutcome::Accepted).await;
    assert!(
        !waits(recipient, NoticeKind::WeekClosed).await,
        "it has been sent"
    );
    assert!(
        waits(other.endpoint_id, NoticeKind::WeekClosed).await,
        "another recipient's"
    );
}

async fn settle(
    on: &Fixture,
    id: plimsoll_api::ids::DeliveryId,
    lease: LeaseId,
    outcome: AttemptOutcome,
) {
    let attempt = Attempt {
        delivery_id: id,
        attempt: 1,
        at: later(1),
        outcome,
        status: None,
        answer_bytes: None,
    };
    let next = Next {
        state: DeliveryState::Delivered,
        due_at: later(1),
        waiting_for: None,
    };
    let settled = on.write(later(1), move |conn, tenant, _| {
        outbox::settle(conn, tenant, lease, &attempt, next)
    });
    assert!(settled.await.unwrap());
}

async fn what_has_left_and_what_is_leaving_counts_for_the_quota(on: Fixture) {
    let left = |minutes: i64| {
        on.read(move |conn, tenant| {
            letters::left_since(conn, tenant, later(-minutes), later(minutes))
        })
    };
    assert_eq!(left(1).await, 0);
    let outcomes = [
        (Channel::Email, AttemptOutcome::Accepted),
        (Channel::Email, AttemptOutcome::Unknown),
        (Channel::Email, AttemptOutcome::Refused),
        (Channel::Email, AttemptOutcome::NotSent),
        (Channel::Webhook, AttemptOutcome::Accepted),
    ];
    for (channel, outcome) in outcomes {
        let (endpoint, delivery) = due_to(&on, channel).await;
        let (recipient, lease): (_, LeaseId) = (endpoint.endpoint_id, on.id());
        on.write(now(), move |conn, tenant, _| {
            let until = now() + SignedDuration::from_secs(60);
            outbox::claim(conn, tenant, (recipient, None), lease, (now(), until))
        })
        .await
        .unwrap();
        settle(&on, delivery.delivery_id, lease, outcome).await;
    }
    assert_eq!(left(1).await, 2);
    let (endpoint, _) = due_to(&on, Channel::Email).await;
    let (recipient, lease): (_, LeaseId) = (endpoint.endpoint_id, on.id());
    on.write(now(), move |conn, tenant, _| {
        let until = now() + SignedDuration::from_hours(24);
        outbox::claim(conn, tenant, (recipient, None), lease, (now(), until))
    })
    .await
    .unwrap();
    assert_eq!(left(1).await, 3);
}

async fn what_is_put_off_says_what_it_waits_for(on: Fixture) {
    let (endpoint, delivery) = due_to(&on, Channel::Email).await;
    let (recipient, id) = (endpoint.endpoint_id, delivery.delivery_id);
    on.write(now(), move |conn, tenant, _| {
        let hold = (later(60), WaitingFor::MailQuota);
        outbox::put_off(conn, tenant, recipient, now(), hold)
    })
    .await
    .unwrap();
    let find = || on.read(move |conn, tenant| deliveries::find(conn, tenant, id));
    let found = find().await.unwrap();
    let wanted = (later(60), Some(WaitingFor::MailQuota));
    assert_eq!((found.due_at, found.waiting_for), wanted);
    let waiting = |what| on.read(move |conn, _| outbox::waiting_for(conn, what));
    assert_eq!(waiting(WaitingFor::MailQuota).await, 1);
    assert_eq!(waiting(WaitingFor::MailServer).await, 0);
    let lease: LeaseId = on.id();
    on.write(later(60), move |conn, tenant, _| {
        outbox::claim(
            conn,
            tenant,
            (recipient, None),
            lease,
            (later(60), later(61)),
        )
    })
    .await
    .unwrap();
    assert_eq!(find().await.unwrap().waiting_for, None);
}
