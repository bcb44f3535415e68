//! The list of reads.

use plimsoll_api::ids::AthleteId;
use plimsoll_api::store::audit::{self, AuditHead, AuditRead, ChainedRead};
use plimsoll_api::store::{Conn, StoreError, Tenant};

use crate::support::{Fixture, later, on_both_databases};

on_both_databases!(
    reads_are_listed_in_order,
    a_read_of_what_is_gone_is_kept,
    a_chain_is_read_back_in_its_order,
    a_number_is_given_once,
    another_key_is_noticed,
);

/// Where the chains of these tests end: the links are the store's to keep, not to understand.
fn head(number: u8) -> AuditHead {
    AuditHead {
        number: number.into(),
        link: vec![number; 32],
        key_id: vec![1, 2, 3],
    }
}

/// Appends the reads to the chain after as many others.
pub fn append(
    conn: &mut Conn,
    tenant: Tenant,
    after: u8,
    reads: &[AuditRead],
) -> Result<(), StoreError> {
    audit::lock_head(conn, tenant, &head(0))?;
    let chained: Vec<ChainedRead> = reads
        .iter()
        .zip(after + 1..)
        .map(|(read, number)| ChainedRead {
            read: read.clone(),
            number: number.into(),
            link: vec![number; 32],
        })
        .collect();
    let last = chained.last().map_or(after.into(), |one| one.number);
    audit::append(conn, tenant, &chained, &head(u8::try_from(last).unwrap()))
}

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
        append(conn, tenant, 0, &stored)
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
        append(conn, tenant, 0, &[stored])
    })
    .await
    .unwrap();
    assert_eq!(
        on.read(|conn, tenant| audit::page(conn, tenant, None, None, 9))
            .await,
        [row]
    );
}

async fn a_chain_is_read_back_in_its_order(on: Fixture) {
    assert_eq!(on.read(audit::head).await, None);
    let reads: Vec<AuditRead> = (1..=5).map(|second| read(&on, None, 9 - second)).collect();
    let stored = reads.clone();
    on.write(later(9), move |conn, tenant, _| {
        append(conn, tenant, 0, &stored[..2])?;
        append(conn, tenant, 2, &stored[2..])
    })
    .await
    .unwrap();
    assert_eq!(on.read(audit::head).await, Some(head(5)));
    let part = on
        .read(|conn, tenant| audit::chain(conn, tenant, (1, 4), 2))
        .await;
    let expected = [2_u8, 3].map(|number| ChainedRead {
        read: reads[usize::from(number) - 1].clone(),
        number: number.into(),
        link: vec![number; 32],
    });
    assert_eq!(part, expected);
    assert_eq!(on.read(audit::outside_chain).await, None);
}

async fn a_number_is_given_once(on: Fixture) {
    let reads = [read(&on, None, 1), read(&on, None, 2)];
    let [first, second] = reads;
    on.write(later(9), move |conn, tenant, _| {
        append(conn, tenant, 0, &[first])
    })
    .await
    .unwrap();
    let again = on
        .write(later(9), move |conn, tenant, _| {
            append(conn, tenant, 0, &[second])
        })
        .await;
    assert!(matches!(again, Err(StoreError::Conflict)), "{again:?}");
    assert_eq!(on.read(audit::head).await, Some(head(1)));
}

async fn another_key_is_noticed(on: Fixture) {
    let row = read(&on, None, 1);
    let uses_other = |id: &'static [u8]| on.read(move |conn, _| audit::uses_other_key(conn, id));
    assert!(!uses_other(&[9]).await);
    on.write(later(9), move |conn, tenant, _| {
        append(conn, tenant, 0, &[row])
    })
    .await
    .unwrap();
    assert!(!uses_other(&[1, 2, 3]).await);
    assert!(uses_other(&[9]).await);
}
