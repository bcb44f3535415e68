//! Identifiers: one type a thing, so that an athlete's id cannot be passed where a squad's is due.
//!
//! Ids are UUIDs of version 7 (RFC 9562): they begin with the time they were made, so rows made
//! together lie together in an index. The clock is the caller's; this module never reads one.

use std::sync::{Arc, Mutex, PoisonError};

use jiff::Timestamp;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha20Rng;
use uuid::Uuid;

macro_rules! id {
    ($(#[doc = $doc:literal] $name:ident,)+) => {$(
        #[doc = $doc]
        #[derive(
            Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash,
            serde::Serialize, serde::Deserialize, utoipa::ToSchema,
        )]
        #[serde(transparent)]
        #[schema(value_type = Uuid)]
        pub struct $name(Uuid);

        impl $name {
            /// The bare UUID.
            pub fn uuid(self) -> Uuid {
                self.0
            }
        }

        impl From<Uuid> for $name {
            fn from(uuid: Uuid) -> Self {
                Self(uuid)
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                self.0.hyphenated().fmt(f)
            }
        }

        impl std::str::FromStr for $name {
            type Err = uuid::Error;

            fn from_str(text: &str) -> Result<Self, Self::Err> {
                text.parse().map(Self)
            }
        }
    )+};
}

id! {
    /// A club: the border no row crosses.
    ClubId,
    /// A policy that nobody has approved yet.
    PolicyDraftId,
    /// A squad of a club.
    SquadId,
    /// An athlete as one club knows them; the same child in two clubs has two ids.
    AthleteId,
    /// One athlete's time in one squad.
    MembershipId,
    /// A new athlete who is perhaps one that was known.
    SecondCopyId,
    /// The time in which somebody is an athlete's guardian.
    GuardianLinkId,
    /// Somebody, or a squad, as a directory knows them: of an athlete and of a squad the id that they have.
    DirectoryEntryId,
    /// A session report, whatever its version.
    SessionId,
    /// A day declared as rest.
    RestDayId,
    /// A span of days away.
    AbsenceId,
    /// The trials of one test on one side on one day.
    TestResultId,
    /// An injury, as far as tests need it.
    InjuryId,
    /// What was said about pain on a day.
    PainReportId,
    /// What a club adds to the catalogue under one code.
    ExerciseId,
    /// A technique signed off.
    SignOffId,
    /// What was asked about a session or an item of a programme.
    QuestionId,
    /// A programme, whatever its version.
    ProgrammeId,
    /// Who does a programme from when to when.
    ProgrammeAssignmentId,
    /// A clinician's licence on file.
    LicenceId,
    /// What a clinician limits.
    RestrictionId,
    /// A clinician's decision.
    ClearanceId,
    /// What a family consented to.
    ConsentId,
    /// What keeps an athlete's records from being erased.
    HoldId,
    /// What ties an athlete to an organisation that she trains with elsewhere.
    LinkId,
    /// A planned session, whatever its version.
    EventId,
    /// A calendar that planned sessions come from.
    CalendarId,
    /// A roster app that is pulled.
    RosterSourceId,
    /// What the attendance list says of one athlete at one planned session.
    AttendanceId,
    /// What a joiner says of the time before.
    DeclaredHistoryId,
    /// A flag: one club, athlete, rule and ISO week.
    FlagId,
    /// What somebody did about a flag.
    AcknowledgementId,
    /// A revocation of tokens.
    RevocationId,
    /// A place notices go to.
    NoticeEndpointId,
    /// Something there is to tell.
    NoticeId,
    /// One notice on its way to one endpoint.
    DeliveryId,
    /// Whoever is sending a delivery just now.
    LeaseId,
    /// A row of the audit list.
    AuditId,
    /// An erasure of what was kept of an athlete.
    ErasureId,
}

/// Makes ids: random, or repeatable from a seed for tests and the demo. Clones share one sequence.
#[derive(Clone)]
pub struct Ids(Arc<Mutex<Sequence>>);

impl std::fmt::Debug for Ids {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Ids")
    }
}

impl Ids {
    /// Ids that nobody can repeat, seeded by the operating system.
    ///
    /// # Errors
    /// When the operating system has no randomness to give.
    pub fn random() -> Result<Self, rand::rngs::SysError> {
        ChaCha20Rng::try_from_rng(&mut rand::rngs::SysRng).map(Self::from_generator)
    }

    /// The same ids for the same seed and the same instants.
    pub fn seeded(seed: u64) -> Self {
        Self::from_generator(ChaCha20Rng::seed_from_u64(seed))
    }

    fn from_generator(generator: ChaCha20Rng) -> Self {
        Self(Arc::new(Mutex::new(Sequence {
            generator,
            millisecond: 0,
            tail: 0,
        })))
    }

    /// As many random bytes, for a secret.
    pub fn bytes<const N: usize>(&self) -> [u8; N] {
        let mut bytes = [0; N];
        let mut sequence = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        sequence.generator.fill_bytes(&mut bytes);
        bytes
    }

    /// The next id at `now`; greater than the one before it within the same millisecond.
    pub fn next(&self, now: Timestamp) -> Uuid {
        // A poisoned lock only means that another thread panicked elsewhere: the state is whole.
        self.0
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .next(now)
    }
}

/// The 74 bits of a version 7 UUID that are neither time nor version nor variant.
const TAIL_BITS: u32 = 74;
const TAIL_MASK: u128 = (1 << TAIL_BITS) - 1;

struct Sequence {
    generator: ChaCha20Rng,
    millisecond: u64,
    tail: u128,
}

impl Sequence {
    /// RFC 9562, section 6.2, method 2: within a millisecond the random part grows by a random step.
    fn next(&mut self, now: Timestamp) -> Uuid {
        let millisecond = u64::try_from(now.as_millisecond()).unwrap_or(0);
        if millisecond == self.millisecond {
            self.tail = (self.tail + 1 + u128::from(self.generator.next_u32())) & TAIL_MASK;
        } else {
            // The highest bit starts at zero, so that the steps of one millisecond cannot overflow.
            self.tail = self.random_tail() >> 1;
            self.millisecond = millisecond;
        }
        version_7(millisecond, self.tail)
    }

    fn random_tail(&mut self) -> u128 {
        let high = u128::from(self.generator.next_u64()) << 64;
        (high | u128::from(self.generator.next_u64())) & TAIL_MASK
    }
}

/// Lays out 48 bits of time, the version, 12 bits, the variant and 62 bits (RFC 9562, section 5.7).
fn version_7(millisecond: u64, tail: u128) -> Uuid {
    let time = u128::from(millisecond) << 80;
    let head = (tail >> 62) << 64;
    let rest = tail & ((1 << 62) - 1);
    Uuid::from_u128(time | (7 << 76) | head | (2 << 62) | rest)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(millisecond: i64) -> Timestamp {
        Timestamp::from_millisecond(millisecond).unwrap()
    }

    #[test]
    fn an_id_is_a_version_7_uuid_of_its_instant() {
        let id = Ids::seeded(1).next(at(1_789_000_000_123));
        assert_eq!(id.get_version_num(), 7);
        assert_eq!(id.get_variant(), uuid::Variant::RFC4122);
        assert_eq!(
            id.get_timestamp().unwrap().to_unix(),
            (1_789_000_000, 123_000_000)
        );
    }

    #[test]
    fn ids_grow_within_a_millisecond() {
        let ids = Ids::seeded(7);
        let made: Vec<_> = (0..10_000)
            .map(|_| ids.next(at(1_789_000_000_123)))
            .collect();
        assert!(made.is_sorted_by(|a, b| a < b));
    }

    #[test]
    fn a_seed_repeats_and_random_ids_do_not() {
        assert_eq!(Ids::seeded(3).next(at(5)), Ids::seeded(3).next(at(5)));
        assert_ne!(Ids::seeded(3).next(at(5)), Ids::seeded(4).next(at(5)));
        assert_ne!(
            Ids::random().unwrap().next(at(5)),
            Ids::random().unwrap().next(at(5))
        );
    }

    #[test]
    fn an_id_reads_back_from_its_text_and_its_json() {
        let id = AthleteId::from(Ids::seeded(9).next(at(1_789_000_000_123)));
        assert_eq!(id.to_string().parse::<AthleteId>().unwrap(), id);
        let json = serde_json::to_string(&id).unwrap();
        assert_eq!(json, format!("\"{id}\""));
        assert_eq!(serde_json::from_str::<AthleteId>(&json).unwrap(), id);
    }
}
