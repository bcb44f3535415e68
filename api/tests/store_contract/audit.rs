//! The list of reads.

use plimsoll_api::ids::AthleteId;
use plimsoll_api::store::audit::{self, AuditRead};

use crate::support::{Fixture, later, on_both_databases};

on_both_databases!(reads_are_listed_in_order, a_read_of_what_is_gone_is_kept);

fn read(on: &Fixture, athlete_id: Option<AthleteId>, second: i64) -> AuditRead {
    AuditRead {
        audit_id: on.ids.next(later(second)).into(),
        at: later(second),
        subject: "coach-7".to_owned(),
        client: "club-app".to_owned(),
        acting_role: "athletic_trainer".to_owned(),
        purpose: athlete_id.map(|_| "return to play talk".to_owned()),
        athlete_id,
        action: "load_read".to_owned(),
        outcome: "read".to_owned(),
        request_id: "0199".to_owned(),
    }
}

async fn reads_are_listed_in_order(on: Fixture) {
    let (mara, jonna) = (on.add_athlete("Mara").await, on.add_athlete("Jonna").await);
    let rows = vec![
        read(&on, Some(mara), 1),
        read(&on, Some(jonna), 2),
        read(&on, None, 3),
        read(&on, Some(mara), 4),
    ];
    let stored = rows.clone();
    on.write(later(9), move |conn, tenant, _| {
        audit::insert_many(conn, tenant, &stored)
    })
    .await
    .unwrap();
    let first = rows[0].audit_id;
    let (page, rest, maras) = on
        .read(move |conn, tenant| {
            Ok((
                audit::page(conn, tenant, None, None, 2)?,
                audit::page(conn, tenant, None, Some(first), 10)?,
                audit::page(conn, tenant, Some(mara), None, 10)?,
            ))
        })
        .await;
    assert_eq!(page, rows[..2]);
    assert_eq!(rest, rows[1..]);
    assert_eq!(maras, [rows[0].clone(), rows[3].clone()]);
}

async fn a_read_of_what_is_gone_is_kept(on: Fixture) {
    let row = read(&on, Some(on.id()), 1);
    let stored = row.clone();
    on.write(later(1), move |conn, tenant, _| {
        audit::insert_many(conn, tenant, &[stored])
    })
    .await
    .unwrap();
    assert_eq!(
        on.read(|conn, tenant| audit::page(conn, tenant, None, None, 9))
            .await,
        [row]
    );
}
