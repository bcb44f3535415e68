//! Three clubs with chains of different lengths, and heads that were signed of them.

use jiff::Timestamp;
use plimsoll_api::ids::AthleteId;
use plimsoll_api::services::audit_chain::ChainKey;
use plimsoll_api::services::signed_heads::{KeptHeads, SignKey};
use plimsoll_api::store::Tenant;
use plimsoll_api::store::audit::{self, AuditHead, AuditRead, ChainedRead};
use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha20Rng;
use std::sync::Arc;
use uuid::Uuid;

use crate::support::{Fixture, later};

/// Rows of each club's chain.
const LENGTHS: [usize; 3] = [600, 700, 800];
/// Rows that were signed, beside the last.
const SIGNED: [i64; 2] = [100, 350];

/// One club's chain as it was written.
pub(super) struct Chain {
    pub(super) tenant: Tenant,
    pub(super) rows: Vec<ChainedRead>,
    key_id: Vec<u8>,
}

impl Chain {
    pub(super) fn length(&self) -> i64 {
        self.rows.len().try_into().unwrap()
    }

    pub(super) fn row(&self, number: i64) -> &ChainedRead {
        &self.rows[usize::try_from(number - 1).unwrap()]
    }

    pub(super) fn head(&self) -> AuditHead {
        let last = self.rows.last().unwrap();
        AuditHead {
            number: last.number,
            link: last.link.clone(),
            key_id: self.key_id.clone(),
        }
    }
}

/// The chains, their key, and what was signed.
#[derive(Clone)]
pub(super) struct Chains {
    pub(super) clubs: Arc<Vec<Chain>>,
    pub(super) key: ChainKey,
    pub(super) kept: Arc<KeptHeads>,
    is_sqlite: bool,
}

impl Chains {
    /// Writes them.
    pub(super) async fn write(on: &Fixture, seed: u64) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let key = ChainKey::open(&folder.path().join("audit.key")).unwrap();
        let mut random = ChaCha20Rng::seed_from_u64(seed);
        let tenants = [on.tenant, on.other_club().await, on.other_club().await];
        let mut clubs = Vec::new();
        for (tenant, length) in tenants.into_iter().zip(LENGTHS) {
            let mut head = key.start();
            let reads = (0..length).map(|at| read(on, i64::try_from(at).unwrap(), &mut random));
            let rows = reads.map(|read| key.extend(tenant, &mut head, read).unwrap());
            let rows: Vec<_> = rows.collect();
            let (stored, start) = (rows.clone(), key.start());
            let stored = on.store.write(tenant, move |conn| {
                audit::lock_head(conn, tenant, &start)?;
                audit::append(conn, tenant, &stored, &head)
            });
            stored.await.unwrap();
            let key_id = key.id().to_vec();
            clubs.push(Chain {
                tenant,
                rows,
                key_id,
            });
        }
        let sign_key = SignKey::open(&folder.path().join("sign.key")).unwrap();
        let chains = Self {
            clubs: Arc::new(clubs),
            key,
            kept: Arc::default(),
            is_sqlite: on.database.url().is_sqlite(),
        };
        let kept = Arc::new(chains.sign(&sign_key));
        Self { kept, ..chains }
    }

    /// Every club.
    pub(super) fn all(&self) -> Vec<usize> {
        (0..self.clubs.len()).collect()
    }

    /// Signed heads of every club, as they are read from a file.
    fn sign(&self, key: &SignKey) -> KeptHeads {
        let mut text = String::new();
        for (at, club) in self.clubs.iter().enumerate() {
            for number in self.signed_at(at) {
                let row = club.row(number);
                let head = AuditHead {
                    number,
                    link: row.link.clone(),
                    key_id: club.key_id.clone(),
                };
                let signed = key.sign(club.tenant.club_id(), &head, self.signing_time());
                text += &(signed.unwrap().line().unwrap() + "\n");
            }
        }
        let kept = KeptHeads::read(text.as_bytes(), &[key.public().clone()]).unwrap();
        assert_eq!(kept.bad, []);
        kept
    }

    /// The rows of a club that were signed.
    pub(super) fn signed_at(&self, club: usize) -> [i64; 3] {
        [SIGNED[0], SIGNED[1], self.clubs[club].length()]
    }

    pub(super) fn signing_time(&self) -> Timestamp {
        later(90_000)
    }

    /// What an intruder with the owner's rights does first.
    pub(super) fn drop_triggers(&self) -> &'static str {
        if self.is_sqlite {
            "DROP TRIGGER audit_reads_no_update; DROP TRIGGER audit_reads_no_delete; DROP TRIGGER audit_reads_no_replace;"
        } else {
            "DROP TRIGGER audit_reads_kept ON audit_reads;"
        }
    }

    pub(super) fn delete_from(&self, club: usize, number: i64) -> String {
        let club = self.club(club);
        format!("DELETE FROM audit_reads WHERE club_id = {club} AND number >= {number};")
    }

    /// A club's id in SQL.
    pub(super) fn club(&self, club: usize) -> String {
        self.id(self.clubs[club].tenant.club_id().uuid())
    }

    /// An id in SQL.
    pub(super) fn id(&self, id: Uuid) -> String {
        if self.is_sqlite {
            format!("x'{}'", id.simple())
        } else {
            format!("'{id}'::uuid")
        }
    }

    /// Octets in SQL.
    pub(super) fn octets(&self, octets: &[u8]) -> String {
        let digits: String = octets.iter().map(|octet| format!("{octet:02x}")).collect();
        if self.is_sqlite {
            format!("x'{digits}'")
        } else {
            format!("'\\x{digits}'::bytea")
        }
    }

    /// An instant that no calendar has, in SQL.
    pub(super) fn never(&self) -> &'static str {
        if self.is_sqlite {
            "9000000000000000000"
        } else {
            "'infinity'"
        }
    }

    /// An instant moved by microseconds, in SQL.
    pub(super) fn moved(&self, by: i64) -> String {
        if self.is_sqlite {
            format!("at + ({by})")
        } else {
            format!("at + interval '{by} microseconds'")
        }
    }
}

fn read(on: &Fixture, at: i64, random: &mut ChaCha20Rng) -> AuditRead {
    let athlete: u64 = random.random_range(1..=20);
    let athlete = AthleteId::from(Uuid::from_u64_pair(7, athlete));
    let purposes = ["screening", "return_to_sport"];
    AuditRead {
        audit_id: on.ids.next(later(at)).into(),
        at: later(at),
        subject: format!("coach-{}", random.random_range(1..9)),
        client: "club-app".to_owned(),
        acting_role: "athletic_trainer".to_owned(),
        purpose: random
            .random_bool(0.5)
            .then(|| purposes[random.random_range(0..2)].to_owned()),
        athlete_id: random.random_bool(0.9).then_some(athlete),
        action: "read_history".to_owned(),
        outcome: "read".to_owned(),
        request_id: format!("{:016x}", random.next_u64()),
    }
}
