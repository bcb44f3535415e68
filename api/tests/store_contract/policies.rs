//! Policies: which one holds on a day, as known when.

use jiff::civil::Date;
use plimsoll_api::store::policies::{self, NewPolicy};
use plimsoll_api::store::{Clubs, Known, StoreError, Tenant};
use serde_json::json;

use crate::support::{AUTHOR, Fixture, later, now, on_both_databases, september, write_of};

on_both_databases!(
    a_version_reads_back_as_it_was_stored,
    the_policy_of_a_day_is_the_one_that_became_effective_last,
    a_policy_of_no_club_is_refused,
);

fn policy(effective_from: Date, limit: &str) -> NewPolicy {
    NewPolicy {
        effective_from,
        approved_by: "Board of HSG Nordufer".to_owned(),
        source_note: "common practice, no source".to_owned(),
        body: json!({ "rules": [{ "code": "week_end_ratio", "limit": limit }], "midnight": null }),
        approver: None,
    }
}

async fn a_version_reads_back_as_it_was_stored(on: Fixture) {
    assert_eq!(on.read(policies::latest).await, None);
    let new = policy(september(1), "1.5");
    let stored = on
        .write(later(3), move |conn, tenant, moment| {
            policies::append(conn, tenant, moment, AUTHOR, &new)
        })
        .await
        .unwrap();
    assert_eq!(
        (stored.version, stored.seq, stored.received_at),
        (1, 1, later(3))
    );
    assert_eq!(
        (stored.author.as_str(), stored.effective_from),
        ("suite", september(1))
    );
    assert_eq!(stored.body, policy(september(1), "1.5").body);
    assert_eq!(on.read(policies::latest).await.as_ref(), Some(&stored));
    assert_eq!(
        on.read(|conn, tenant| policies::find(conn, tenant, 1))
            .await,
        Some(stored)
    );
    assert_eq!(
        on.read(|conn, tenant| policies::find(conn, tenant, 2))
            .await,
        None
    );
}

async fn the_policy_of_a_day_is_the_one_that_became_effective_last(on: Fixture) {
    // Version 3 was decided last and takes effect before version 2.
    for (number, day) in [(1, 1), (2, 20), (3, 10)] {
        let new = policy(september(day), "1.5");
        on.write(later(number), move |conn, tenant, moment| {
            policies::append(conn, tenant, moment, AUTHOR, &new)
        })
        .await
        .unwrap();
    }
    let mut held = Vec::new();
    for (day, known) in [
        (september(9), Known::Now),
        (september(10), Known::Now),
        (september(19), Known::Now),
        (september(20), Known::Now),
        (september(19), Known::AsOf(later(2))),
        (september(19), Known::AsOf(now())),
        ("2026-08-31".parse().unwrap(), Known::Now),
    ] {
        let found = on
            .read(move |conn, tenant| policies::in_force(conn, tenant, day, known))
            .await;
        held.push(found.map(|policy| policy.version));
    }
    assert_eq!(
        held,
        [Some(1), Some(3), Some(3), Some(2), Some(1), None, None]
    );
    let known = on
        .read(|conn, tenant| policies::history(conn, tenant, Known::AsOf(later(2))))
        .await;
    assert_eq!(
        known
            .iter()
            .map(|policy| policy.version)
            .collect::<Vec<_>>(),
        [1, 2]
    );
}

async fn a_policy_of_no_club_is_refused(on: Fixture) {
    let nobody = Tenant::granted(on.id());
    let refused = write_of(
        &on.store,
        Clubs::Two(on.tenant, nobody),
        on.tenant,
        now(),
        move |conn, _, moment| {
            policies::append(conn, nobody, moment, AUTHOR, &policy(september(1), "1.5"))
        },
    )
    .await;
    assert!(matches!(refused, Err(StoreError::Reference)), "{refused:?}");
}
