//! Look-aheads: made once a club and week, for clubs that want them.

use plimsoll_api::store::look_aheads::{self, LookAhead, LookAheadTime};
use plimsoll_api::store::{Clubs, StoreError, Tenant};

use crate::support::{Fixture, later, now, on_both_databases, september, write_as, write_of};

on_both_databases!(
    a_week_is_looked_at_once,
    clubs_that_want_it_are_listed,
    a_look_ahead_of_no_club_is_refused,
);

fn look(number: i64, policy_version: Option<i32>) -> LookAhead {
    LookAhead {
        monday: september(7),
        made_at: later(number),
        seq: number,
        policy_version,
    }
}

fn time(enabled: bool, version: i32) -> LookAheadTime {
    LookAheadTime {
        enabled,
        weekday: 4,
        minute: 1080,
        set_at: now(),
        version,
    }
}

async fn a_week_is_looked_at_once(on: Fixture) {
    let made = on
        .write(now(), |conn, tenant, _| {
            Ok([
                look_aheads::make(conn, tenant, &look(1, Some(2)))?,
                look_aheads::make(conn, tenant, &look(2, None))?,
            ])
        })
        .await
        .unwrap();
    assert_eq!(made, [true, false]);
    let stored = on
        .read(|conn, tenant| look_aheads::made(conn, tenant, september(7)))
        .await;
    assert_eq!(stored, Some(look(1, Some(2))));
    let other = on
        .read(|conn, tenant| look_aheads::made(conn, tenant, september(14)))
        .await;
    assert_eq!(other, None);
}

async fn clubs_that_want_it_are_listed(on: Fixture) {
    let own = on.tenant.club_id();
    let other = on.other_club().await;
    let set = |tenant: Tenant, time: LookAheadTime| {
        write_as(&on.store, tenant, now(), move |conn, tenant, _| {
            look_aheads::set_time(conn, tenant, &time)
        })
    };
    let listed = || {
        on.read(move |conn, _| {
            let all = look_aheads::looking(conn, None, 1_000)?;
            Ok(all
                .into_iter()
                .filter(|club| *club == own || *club == other.club_id())
                .count())
        })
    };
    assert_eq!(on.read(look_aheads::time).await, None);
    set(on.tenant, time(true, 1)).await.unwrap();
    set(other, time(false, 1)).await.unwrap();
    assert_eq!(listed().await, 1);
    set(on.tenant, time(false, 2)).await.unwrap();
    assert_eq!(on.read(look_aheads::time).await, Some(time(false, 2)));
    assert_eq!(listed().await, 0);
}

async fn a_look_ahead_of_no_club_is_refused(on: Fixture) {
    let nobody = Tenant::granted(on.id());
    let refused = write_of(
        &on.store,
        Clubs::Two(on.tenant, nobody),
        on.tenant,
        now(),
        move |conn, _, _| look_aheads::make(conn, nobody, &look(1, None)),
    )
    .await;
    assert!(matches!(refused, Err(StoreError::Reference)), "{refused:?}");
}
