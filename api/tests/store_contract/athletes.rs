//! Athletes: look-ups, search, pages.

use plimsoll_api::store::athletes::{self, NameMatch};
use plimsoll_api::store::{Change, Known, NameKey, StoreError, Who};

use crate::support::{AUTHOR, Fixture, later, now, on_both_databases, september};

on_both_databases!(
    a_row_reads_back_as_it_was_stored,
    an_external_id_finds_its_athlete_until_she_is_deleted,
    a_search_is_limited_to_the_reach,
    a_page_is_stable_under_inserts,
    the_roster_of_an_instant,
    an_identity_tells_when_it_was_made,
);

async fn a_row_reads_back_as_it_was_stored(on: Fixture) {
    let mut plain = on.athlete("Mara Lindqvist");
    plain.external_id = None;
    plain.birth_date = None;
    let mut full = on.athlete("Jonna Åberg");
    full.time_zone = Some("America/Toronto".to_owned());
    let stored = vec![plain, full];
    let rows = stored.clone();
    on.write(now(), move |conn, tenant, moment| {
        athletes::insert(conn, tenant, moment, AUTHOR, &rows)
    })
    .await
    .unwrap();
    let found = on
        .read(|conn, tenant| athletes::known(conn, tenant, Who::WholeClub, Known::Now))
        .await;
    let contents: Vec<_> = found.into_iter().map(|athlete| athlete.content).collect();
    assert_eq!(contents, stored);
}

async fn an_external_id_finds_its_athlete_until_she_is_deleted(on: Fixture) {
    let id = on.add_athlete("Mara").await;
    let ids = ["ext-Mara", "ext-nobody"];
    let found = on
        .read(move |conn, tenant| athletes::by_external_ids(conn, tenant, &ids))
        .await;
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].content.athlete_id, id);

    let change = Change {
        replaces: 1,
        content: found[0].content.clone(),
        deleted: true,
    };
    on.write(later(1), move |conn, tenant, moment| {
        athletes::supersede(conn, tenant, moment, AUTHOR, &[change])
    })
    .await
    .unwrap();
    let found = on
        .read(move |conn, tenant| athletes::by_external_ids(conn, tenant, &ids))
        .await;
    assert!(found.is_empty());

    // The external id is free again for somebody else.
    let again = on.add_athlete("Mara").await;
    assert_ne!(again, id);
}

async fn a_search_is_limited_to_the_reach(on: Fixture) {
    let girls = on.add_squad("U17 girls").await;
    let inside = on.add_athlete("Mara Lindqvist").await;
    let outside = on.add_athlete("Mara Olsen").await;
    on.add_membership(on.membership(inside, girls), now()).await;
    let search = |squads: Vec<_>, ids: Option<Vec<_>>| {
        on.read(move |conn, tenant| {
            let who = match &ids {
                Some(ids) => Who::Athletes(ids),
                None => Who::Squads(&squads, september(7)),
            };
            athletes::search(conn, tenant, who, "mara", NameMatch::Prefix, 10)
        })
    };
    let names = |found: Vec<plimsoll_api::store::Versioned<athletes::Athlete>>| {
        found
            .into_iter()
            .map(|athlete| athlete.content.athlete_id)
            .collect::<Vec<_>>()
    };
    assert_eq!(names(search(vec![girls], None).await), [inside]);
    assert_eq!(names(search(vec![], None).await), []);
    assert_eq!(names(search(vec![], Some(vec![outside])).await), [outside]);
}

async fn a_page_is_stable_under_inserts(on: Fixture) {
    let mut expected = Vec::new();
    for number in 0..7 {
        expected.push(on.add_athlete(&format!("Athlete {number}")).await);
    }
    let first = on
        .read(|conn, tenant| athletes::page(conn, tenant, Who::WholeClub, None, 3))
        .await;
    let last = first[2].content.athlete_id;

    // Somebody who comes before the cursor and somebody who comes after it.
    let mut early = on.athlete("Early");
    early.athlete_id = uuid::Uuid::from_u128(1).into();
    on.write(now(), move |conn, tenant, moment| {
        athletes::insert(conn, tenant, moment, AUTHOR, &[early])
    })
    .await
    .unwrap();
    expected.push(on.add_athlete("Late").await);

    let rest = on
        .read(move |conn, tenant| athletes::page(conn, tenant, Who::WholeClub, Some(last), 100))
        .await;
    let seen: Vec<_> = first
        .iter()
        .chain(&rest)
        .map(|athlete| athlete.content.athlete_id)
        .collect();
    assert_eq!(seen, expected);
}

async fn the_roster_of_an_instant(on: Fixture) {
    let id = on.add_athlete("Mara Lindqvist").await;
    let current = on
        .read(move |conn, tenant| athletes::current(conn, tenant, id))
        .await
        .unwrap();
    let mut married = current.content.clone();
    married.display_name = "Mara Olsen".to_owned();
    married.name_key = NameKey::of(&married.display_name);
    let change = Change {
        replaces: 1,
        content: married,
        deleted: false,
    };
    on.write(later(60), move |conn, tenant, moment| {
        athletes::supersede(conn, tenant, moment, AUTHOR, &[change])
    })
    .await
    .unwrap();
    let mut names = Vec::new();
    for instant in [later(-1), later(0), later(59), later(60)] {
        let found = on
            .read(move |conn, tenant| {
                athletes::known(conn, tenant, Who::Athletes(&[id]), Known::AsOf(instant))
            })
            .await;
        names.push(
            found
                .into_iter()
                .next()
                .map(|athlete| athlete.content.display_name),
        );
    }
    let names: Vec<_> = names.iter().map(Option::as_deref).collect();
    assert_eq!(
        names,
        [
            None,
            Some("Mara Lindqvist"),
            Some("Mara Lindqvist"),
            Some("Mara Olsen")
        ]
    );
}

async fn an_identity_tells_when_it_was_made(on: Fixture) {
    let id = on.add_athlete("Mara").await;
    assert_eq!(
        on.read(move |conn, tenant| athletes::created_at(conn, tenant, id))
            .await,
        Some(now())
    );
    let nobody = on.id();
    assert_eq!(
        on.read(move |conn, tenant| athletes::created_at(conn, tenant, nobody))
            .await,
        None
    );

    // An id is taken once, and an external id by one athlete.
    let twin = on.athlete("Mara");
    let refused = on
        .write(now(), move |conn, tenant, moment| {
            athletes::insert(conn, tenant, moment, AUTHOR, &[twin])
        })
        .await;
    assert!(matches!(refused, Err(StoreError::Conflict)), "{refused:?}");
}
