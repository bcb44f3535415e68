//! Athletes.

use plimsoll_api::store::athletes;

use crate::support::{Fixture, on_both_databases};

on_both_databases!(an_athlete_is_found_by_id);

async fn an_athlete_is_found_by_id(on: Fixture) {
    let id = on.add_athlete("Mara Lindqvist").await;
    let tenant = on.tenant;
    let found = on
        .store
        .read(move |conn| athletes::current(conn, tenant, id))
        .await
        .unwrap();
    assert_eq!(found.unwrap().content.display_name, "Mara Lindqvist");
}
