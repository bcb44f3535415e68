//! The list of reads.

use plimsoll_api::ids::AthleteId;
use plimsoll_api::store::audit::{self, AuditHead, AuditRead, ChainedRead};
use plimsoll_api::store::{Clubs, Conn, StoreError, Tenant, testing};

use crate::support::{Fixture, later, on_both_databases};

on_both_databases!(
    reads_are_listed_in_order,
    a_read_of_what_is_gone_is_kept,
    a_chain_is_read_back_in_its_order,
    a_number_is_given_once,
    another_key_is_noticed,
    reads_of_one_athlete_come_latest_first;
    filtered:
    what_was_written_stays,
    the_ends_of_all_clubs_are_listed,
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
    let outside = |length| on.read(move |conn, tenant| audit::outside_chain(conn, tenant, length));
    assert_eq!(outside(5).await, None);
    let fifth = reads[4].audit_id;
    assert_eq!(outside(4).await, Some(fifth));
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

/// What somebody may try who has the application's rights, and keeps the triggers.
fn changes(is_sqlite: bool) -> Vec<&'static str> {
    let everywhere = [
        "UPDATE audit_reads SET subject = 'nobody' WHERE number = 1",
        "UPDATE audit_reads SET number = number + 10",
        "DELETE FROM audit_reads WHERE number = 2",
        "DELETE FROM audit_reads",
    ];
    let here: &[&str] = if is_sqlite {
        &["UPDATE OR REPLACE audit_reads SET number = 1 WHERE number = 2"]
    } else {
        &[
            "TRUNCATE audit_reads",
            "TRUNCATE clubs, audit_reads CASCADE",
            "INSERT INTO audit_reads SELECT * FROM audit_reads ON CONFLICT (club_id, audit_id) DO UPDATE SET subject = 'nobody'",
        ]
    };
    everywhere.iter().chain(here).copied().collect()
}

async fn what_was_written_stays(on: Fixture) {
    let rows = [read(&on, None, 1), read(&on, Some(on.id()), 2)];
    let stored = rows.clone();
    on.write(later(9), move |conn, tenant, _| {
        append(conn, tenant, 0, &stored)
    })
    .await
    .unwrap();
    let is_sqlite = on.database.url().is_sqlite();
    for change in changes(is_sqlite) {
        let tried = on
            .store
            .write(Clubs::Every, move |conn| testing::execute(conn, change));
        let refused = tried.await.unwrap_err().to_string();
        assert!(
            refused.contains("is only ever added to"),
            "{change}: {refused}"
        );
    }
    if !is_sqlite {
        let as_replica = "SET session_replication_role = replica; DELETE FROM audit_reads";
        let refused = on.database.as_superuser(as_replica).unwrap_err();
        assert!(refused.contains("is only ever added to"), "{refused}");
    }
    if is_sqlite {
        let replace = "INSERT OR REPLACE INTO audit_reads SELECT club_id, audit_id, at, 'nobody', client, acting_role, purpose, \
                       athlete_id, action, outcome, request_id, number, link FROM audit_reads";
        let tried = on
            .store
            .write(Clubs::Every, move |conn| testing::execute(conn, replace));
        assert!(matches!(tried.await, Err(StoreError::Conflict)));
    }
    let kept = on
        .read(|conn, tenant| audit::page(conn, tenant, None, None, 9))
        .await;
    assert_eq!(kept, rows);
}

async fn the_ends_of_all_clubs_are_listed(on: Fixture) {
    let other = on.other_club().await;
    let _without_reads = on.other_club().await;
    let mut expected = Vec::new();
    for (tenant, length) in [(on.tenant, 2), (other, 3)] {
        let reads: Vec<AuditRead> = (0..length).map(|second| read(&on, None, second)).collect();
        let stored = on
            .store
            .write(tenant, move |conn| append(conn, tenant, 0, &reads));
        stored.await.unwrap();
        expected.push((tenant.club_id(), head(u8::try_from(length).unwrap())));
    }
    expected.sort_by_key(|(club, _)| *club);
    let heads = async |after, limit| {
        let heads = on
            .store
            .read(Clubs::Every, move |conn| audit::heads(conn, after, limit));
        heads.await.unwrap()
    };
    let first = expected[0].0;
    assert_eq!(heads(None, 9).await, expected);
    assert_eq!(heads(None, 1).await, expected[..1]);
    assert_eq!(heads(Some(first), 9).await, expected[1..]);
}

async fn reads_of_one_athlete_come_latest_first(on: Fixture) {
    let (mara, jonna) = (on.id(), on.id());
    let rows = [
        (Some(mara), 1),
        (Some(jonna), 2),
        (Some(mara), 3),
        (None, 4),
        (Some(mara), 5),
    ];
    let rows = rows.map(|(athlete, second)| read(&on, athlete, second));
    let stored = rows.clone();
    on.write(later(9), move |conn, tenant, _| {
        append(conn, tenant, 0, &stored)
    })
    .await
    .unwrap();
    let of_mara = |before, limit| {
        on.read(move |conn, tenant| audit::of_athlete(conn, tenant, mara, before, limit))
    };
    let latest = [rows[4].clone(), rows[2].clone(), rows[0].clone()];
    assert_eq!(of_mara(None, 9).await, latest);
    assert_eq!(of_mara(None, 2).await, latest[..2]);
    assert_eq!(of_mara(Some(rows[2].audit_id), 9).await, latest[2..]);
    let other = on.other_club().await;
    let foreign = on.store.read(other, move |conn| {
        audit::of_athlete(conn, other, mara, None, 9)
    });
    assert_eq!(foreign.await.unwrap(), []);
}
