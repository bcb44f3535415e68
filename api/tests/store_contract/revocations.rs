//! Revocations: in force until lifted, listed for good.

use plimsoll_api::store::RevocationKind;
use plimsoll_api::store::revocations::{self, NewRevocation};

use crate::support::{AUTHOR, Fixture, later, on_both_databases};

on_both_databases!(a_revocation_holds_until_it_is_lifted);

async fn a_revocation_holds_until_it_is_lifted(on: Fixture) {
    let new = NewRevocation {
        revocation_id: on.id(),
        kind: RevocationKind::Subject,
        value: "coach-3".to_owned(),
        reason: "telephone lost".to_owned(),
    };
    let id = new.revocation_id;
    let stored = on
        .write(later(1), move |conn, tenant, moment| {
            revocations::insert(conn, tenant, moment, AUTHOR, new)
        })
        .await
        .unwrap();
    let club = on.tenant.club_id();
    let listed = on.read(|conn, _| revocations::in_force(conn)).await;
    assert_eq!(
        listed,
        [(club, RevocationKind::Subject, "coach-3".to_owned())]
    );

    let lift =
        move |conn: &mut _, tenant, moment: &mut _| revocations::lift(conn, tenant, moment, id);
    assert!(on.write(later(2), lift).await.unwrap());
    let again = on.write(later(3), lift).await.unwrap();
    assert!(!again, "it was lifted before");
    assert_eq!(on.read(|conn, _| revocations::in_force(conn)).await, []);
    let page = on
        .read(|conn, tenant| revocations::page(conn, tenant, None, 10))
        .await;
    assert_eq!(page.len(), 1);
    assert_eq!(
        (page[0].lifted_at, &page[0].value),
        (Some(later(2)), &stored.value)
    );

    let other = on.other_club().await;
    let foreign = on
        .read(move |conn, _| revocations::page(conn, other, None, 10))
        .await;
    assert_eq!(foreign, []);
}
