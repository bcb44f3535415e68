//! Squads.

use plimsoll_api::store::StoreError;
use plimsoll_api::store::squads::{self, SquadContent};

use crate::support::{Fixture, later, now, on_both_databases};

on_both_databases!(
    a_row_reads_back_as_it_was_stored,
    an_update_wants_the_version_that_was_seen,
    names_are_changed_together_and_nothing_else_is,
    a_page_goes_on_after_its_key_and_keeps_to_the_reach,
    an_external_id_is_one_squads,
);

async fn a_row_reads_back_as_it_was_stored(on: Fixture) {
    let id = on.add_squad("U17 girls").await;
    let squad = on
        .read(move |conn, tenant| squads::find(conn, tenant, id))
        .await
        .unwrap();
    assert_eq!(
        (squad.squad_id, squad.name.as_str(), squad.version),
        (id, "U17 girls", 1)
    );
    assert_eq!(squad.external_id.as_deref(), Some("ext-U17 girls"));
    assert_eq!((squad.created_at, squad.updated_at), (now(), now()));
}

async fn an_update_wants_the_version_that_was_seen(on: Fixture) {
    let id = on.add_squad("U17 girls").await;
    let change = |squad_id, version| {
        let content = SquadContent {
            squad_id,
            name: "U18 girls".to_owned(),
            external_id: None,
        };
        on.write(later(5), move |conn, tenant, moment| {
            squads::update(conn, tenant, version, moment, &content)
        })
    };
    let squad = change(id, 1).await.unwrap();
    assert_eq!(
        (squad.name.as_str(), squad.version, squad.external_id),
        ("U18 girls", 2, None)
    );
    assert_eq!((squad.created_at, squad.updated_at), (now(), later(5)));
    assert!(matches!(change(id, 1).await, Err(StoreError::Conflict)));
    assert!(matches!(
        change(on.id(), 1).await,
        Err(StoreError::NotFound)
    ));
}

async fn names_are_changed_together_and_nothing_else_is(on: Fixture) {
    let (first, second) = (on.add_squad("A").await, on.add_squad("B").await);
    let renamed = on
        .write(later(5), move |conn, tenant, moment| {
            let mut squads = squads::page(conn, tenant, Some(&[first]), None, 10)?;
            squads[0].name = "A girls".to_owned();
            squads::rename(conn, tenant, moment, &squads)?;
            squads::rename(conn, tenant, moment, &[])?;
            squads::all(conn, tenant)
        })
        .await
        .unwrap();
    let told: Vec<_> = renamed
        .iter()
        .map(|squad| (squad.squad_id, squad.name.as_str(), squad.version))
        .collect();
    assert_eq!(told, [(first, "A girls", 2), (second, "B", 1)]);
    assert_eq!(renamed[0].external_id.as_deref(), Some("ext-A"));
    assert_eq!(
        (renamed[0].created_at, renamed[0].updated_at),
        (now(), later(5))
    );
}

async fn a_page_goes_on_after_its_key_and_keeps_to_the_reach(on: Fixture) {
    let mut ids = Vec::new();
    for name in ["A", "B", "C", "D"] {
        ids.push(on.add_squad(name).await);
    }
    let second = ids[1];
    let page = on
        .read(move |conn, tenant| squads::page(conn, tenant, None, Some(second), 10))
        .await;
    assert_eq!(
        page.iter().map(|squad| squad.squad_id).collect::<Vec<_>>(),
        ids[2..]
    );
    let (first, last) = (ids[0], ids[3]);
    let page = on
        .read(move |conn, tenant| squads::page(conn, tenant, Some(&[last, first]), None, 10))
        .await;
    assert_eq!(
        page.iter().map(|squad| squad.squad_id).collect::<Vec<_>>(),
        [first, last]
    );
    let none = on
        .read(|conn, tenant| squads::page(conn, tenant, Some(&[]), None, 10))
        .await;
    assert!(none.is_empty());
}

async fn an_external_id_is_one_squads(on: Fixture) {
    let id = on.add_squad("U17 girls").await;
    let found = on
        .read(|conn, tenant| squads::by_external_ids(conn, tenant, &["ext-U17 girls", "ext-none"]))
        .await;
    assert_eq!(
        found
            .into_iter()
            .map(|squad| squad.squad_id)
            .collect::<Vec<_>>(),
        [id]
    );
    let twin = SquadContent {
        squad_id: on.id(),
        name: "Twin".to_owned(),
        external_id: Some("ext-U17 girls".to_owned()),
    };
    let refused = on
        .write(now(), move |conn, tenant, moment| {
            squads::insert(conn, tenant, moment, &[twin])
        })
        .await;
    assert!(matches!(refused, Err(StoreError::Conflict)), "{refused:?}");
    // Any number of squads may have none.
    let nameless: Vec<_> = (0..2)
        .map(|_| SquadContent {
            squad_id: on.id(),
            name: "Guests".to_owned(),
            external_id: None,
        })
        .collect();
    on.write(now(), move |conn, tenant, moment| {
        squads::insert(conn, tenant, moment, &nameless)
    })
    .await
    .unwrap();
}
