//! Whoever owns the database can take its triggers away and change any row: then the chain and its signed ends say where.
//!
//! Tampers are drawn at random, tried in a transaction that is undone, and looked for in every club. The seed is printed;
//! `PLIMSOLL_TEST_SEED` draws the same again.
#![allow(
    clippy::print_stdout,
    reason = "the seed and what was found are to be seen"
)]

mod chains;
mod kinds;

use std::collections::BTreeMap;

use plimsoll_api::ids::Ids;
use plimsoll_api::services::audit_chain::{self, Break};
use plimsoll_api::store::audit::{self, AuditHead, ChainedRead};
use plimsoll_api::store::{Clubs, Conn, StoreError, testing};
use rand::SeedableRng;
use rand_chacha::ChaCha20Rng;

use crate::support::{Fixture, on_both_databases};
use chains::Chains;
use kinds::Tamper;

on_both_databases!(
    ; filtered:
    every_one_of_a_thousand_tampers_is_found,
    what_was_signed_cannot_be_written_anew_with_the_key,
);

const TAMPERS: usize = 1_000;

fn seed() -> u64 {
    match std::env::var("PLIMSOLL_TEST_SEED") {
        Ok(text) => text.parse().unwrap(),
        Err(_) => u64::from_le_bytes(Ids::random().unwrap().bytes()),
    }
}

type Found = Vec<Result<AuditHead, Break>>;

/// What a check of these clubs says.
fn verify(conn: &mut Conn, chains: &Chains, clubs: &[usize]) -> Result<Found, StoreError> {
    let clubs = clubs.iter().map(|club| &chains.clubs[*club]);
    let checks = clubs.map(|club| {
        let signed = chains.kept.of(club.tenant.club_id());
        audit_chain::verify(conn, club.tenant, &chains.key, signed)
    });
    checks.collect()
}

/// Whether every chain is as it was written.
async fn assert_whole(on: &Fixture, chains: &Chains) {
    let (read, all) = (chains.clone(), chains.all());
    let found = on
        .store
        .read(Clubs::Every, move |conn| verify(conn, &read, &all))
        .await;
    let whole: Found = chains.clubs.iter().map(|club| Ok(club.head())).collect();
    assert_eq!(found.unwrap(), whole);
}

/// Tries one, looks for it, and takes it back.
async fn try_out(on: &Fixture, chains: &Chains, tamper: &Tamper, clubs: &[usize]) {
    let (tried, sql, looked_at) = (chains.clone(), tamper.sql.clone(), clubs.to_vec());
    let found = on.store.trial(Clubs::Every, move |conn| {
        testing::execute(conn, &sql)?;
        verify(conn, &tried, &looked_at)
    });
    let expected = clubs.iter().map(|club| {
        let broken = tamper.found.iter().find(|(of, _)| of == club);
        broken.map_or_else(
            || Ok(chains.clubs[*club].head()),
            |(_, broken)| Err(broken.clone()),
        )
    });
    let expected: Found = expected.collect();
    assert_eq!(found.await.unwrap(), expected, "{}", tamper.sql);
}

async fn every_one_of_a_thousand_tampers_is_found(on: Fixture) {
    let seed = seed();
    println!("PLIMSOLL_TEST_SEED={seed}");
    let chains = Chains::write(&on, seed).await;
    assert_whole(&on, &chains).await;
    let drop_triggers = chains.drop_triggers();
    on.store
        .write(Clubs::Every, move |conn| {
            testing::execute(conn, drop_triggers)
        })
        .await
        .unwrap();
    let mut random = ChaCha20Rng::seed_from_u64(seed);
    let mut kinds = BTreeMap::new();
    for at in 0..TAMPERS {
        let tamper = kinds::draw(&chains, &mut random);
        // Every tenth time the clubs that were left alone are looked at too.
        let clubs = match at % 10 {
            0 => chains.all(),
            _ => tamper.found.iter().map(|(club, _)| *club).collect(),
        };
        try_out(&on, &chains, &tamper, &clubs).await;
        *kinds.entry(tamper.kind).or_insert(0) += 1;
    }
    let rows: usize = chains.clubs.iter().map(|club| club.rows.len()).sum();
    println!("{TAMPERS} tampers of {rows} rows, each found at its first row: {kinds:?}");
    assert_eq!(kinds.len(), kinds::KINDS);
    assert_whole(&on, &chains).await;
}

/// Makes the rows of the first club anew from a number on, the first of them with another subject.
fn write_anew(conn: &mut Conn, chains: &Chains, from: i64) -> Result<(), StoreError> {
    let club = &chains.clubs[0];
    let (good, anew) = club.rows.split_at(usize::try_from(from - 1).unwrap());
    let mut head = match good.last() {
        None => chains.key.start(),
        Some(last) => AuditHead {
            number: last.number,
            link: last.link.clone(),
            ..chains.key.start()
        },
    };
    testing::execute(conn, &chains.delete_from(0, from))?;
    let extended = anew.iter().map(|row| {
        let mut read = row.read.clone();
        if row.number == from {
            read.subject = "nobody".to_owned();
        }
        chains.key.extend(club.tenant, &mut head, read).unwrap()
    });
    let extended: Vec<ChainedRead> = extended.collect();
    audit::append(conn, club.tenant, &extended, &head)
}

async fn what_was_signed_cannot_be_written_anew_with_the_key(on: Fixture) {
    let chains = Chains::write(&on, 1).await;
    let [first, second, last] = chains.signed_at(0);
    let tries = [
        (1, first, 0),
        (first, first, 0),
        (first + 1, second, first),
        (last, last, second),
    ];
    for (from, row, good) in tries {
        let tried = chains.clone();
        let found = on.store.trial(Clubs::Every, move |conn| {
            testing::execute(conn, tried.drop_triggers())?;
            write_anew(conn, &tried, from)?;
            let club = tried.clubs[0].tenant;
            let by_chain = audit_chain::verify(conn, club, &tried.key, &[])?;
            Ok::<_, StoreError>((by_chain, verify(conn, &tried, &[0])?.swap_remove(0)))
        });
        let (by_chain, by_heads) = found.await.unwrap();
        assert!(by_chain.is_ok(), "the chain alone is whole: {by_chain:?}");
        let at = chains.signing_time();
        assert_eq!(
            by_heads,
            Err(Break::Rewritten { row, good, at }),
            "anew from row {from}"
        );
    }
}
