//! Memberships: who belongs to which squad, when, as known when.

use jiff::civil::date;
use plimsoll_api::store::{Change, Known, memberships};

use crate::support::{AUTHOR, Fixture, later, now, on_both_databases, september};

on_both_databases!(
    athletes_come_with_their_squads,
    a_squad_has_members_from_day_to_day,
    a_reach_is_judged_by_what_is_known_now,
    a_squad_of_an_instant,
);

async fn athletes_come_with_their_squads(on: Fixture) {
    let (girls, women) = (
        on.add_squad("U17 girls").await,
        on.add_squad("Women 2").await,
    );
    let (mara, jonna) = (on.add_athlete("Mara").await, on.add_athlete("Jonna").await);
    let first = on.membership(mara, girls);
    let mut call_up = on.membership(mara, women);
    call_up.from_date = september(12);
    call_up.to_date = Some(september(13));
    call_up.is_primary = false;
    for membership in [&first, &call_up] {
        on.add_membership(membership.clone(), now()).await;
    }
    let found = on
        .read(move |conn, tenant| {
            memberships::of_athletes(conn, tenant, &[jonna, mara], Known::Now)
        })
        .await;
    let seen: Vec<_> = found
        .iter()
        .map(|(membership, squad)| (membership.content.clone(), squad.name.as_str()))
        .collect();
    assert_eq!(seen, [(first, "U17 girls"), (call_up, "Women 2")]);
}

async fn a_squad_has_members_from_day_to_day(on: Fixture) {
    let girls = on.add_squad("U17 girls").await;
    let mara = on.add_athlete("Mara").await;
    let mut membership = on.membership(mara, girls);
    membership.from_date = september(5);
    membership.to_date = Some(september(20));
    on.add_membership(membership, now()).await;
    let spans = [(1, 4), (1, 5), (20, 25), (21, 25), (1, 30), (10, 10)];
    let mut member = Vec::new();
    for (from, to) in spans {
        let (from, to) = (september(from), september(to));
        let found = on
            .read(move |conn, tenant| {
                memberships::of_squads(conn, tenant, &[girls], from, to, Known::Now)
            })
            .await;
        member.push(found.len() == 1);
    }
    assert_eq!(member, [false, true, true, false, true, true]);
}

async fn a_reach_is_judged_by_what_is_known_now(on: Fixture) {
    let (girls, women) = (
        on.add_squad("U17 girls").await,
        on.add_squad("Women 2").await,
    );
    let mara = on.add_athlete("Mara").await;
    let membership = on.membership(mara, girls);
    on.add_membership(membership.clone(), now()).await;
    let reach = |squads: Vec<_>, day| {
        on.read(move |conn, tenant| {
            let exists = memberships::exists_in_squads(conn, tenant, mara, &squads, day)?;
            let listed = memberships::athletes_of_squads(conn, tenant, &squads, day)?;
            assert_eq!(exists, listed == [mara]);
            Ok(exists)
        })
    };
    assert!(reach(vec![girls, women], september(7)).await);
    assert!(!reach(vec![women], september(7)).await);
    assert!(!reach(vec![], september(7)).await);
    assert!(!reach(vec![girls], date(2026, 6, 30)).await);

    let mut ended = membership;
    ended.to_date = Some(september(6));
    let change = Change {
        replaces: 1,
        content: ended,
        deleted: false,
    };
    on.write(later(1), move |conn, tenant, moment| {
        memberships::supersede(conn, tenant, moment, AUTHOR, &[change])
    })
    .await
    .unwrap();
    assert!(reach(vec![girls], september(6)).await);
    assert!(!reach(vec![girls], september(7)).await);
}

async fn a_squad_of_an_instant(on: Fixture) {
    let girls = on.add_squad("U17 girls").await;
    let mara = on.add_athlete("Mara").await;
    let membership = on.membership(mara, girls);
    on.add_membership(membership.clone(), later(10)).await;
    let change = Change {
        replaces: 1,
        content: membership,
        deleted: true,
    };
    on.write(later(20), move |conn, tenant, moment| {
        memberships::supersede(conn, tenant, moment, AUTHOR, &[change])
    })
    .await
    .unwrap();
    let mut members = Vec::new();
    for known in [
        Known::AsOf(later(9)),
        Known::AsOf(later(19)),
        Known::AsOf(later(20)),
        Known::Now,
    ] {
        let found = on
            .read(move |conn, tenant| {
                memberships::of_squads(conn, tenant, &[girls], september(1), september(1), known)
            })
            .await;
        members.push(found.len());
    }
    assert_eq!(members, [0, 1, 0, 0]);
}
