//! The keys of one club, and what they do.

use std::collections::BTreeMap;

use aws_lc_rs::aead::{AES_256_GCM, RandomizedNonceKey};
use aws_lc_rs::rand;

use super::master::{MasterKeys, decrypt, encrypt};
use crate::ids::ClubId;
use crate::store::StoreError;
use crate::store::types::Sealed;

/// The first octet of a value that is kept as it is.
const AS_IT_IS: u8 = 1;
/// The first octet of a sealed value.
const SEALED: u8 = 2;
/// Before nonce, ciphertext and tag: the first octet and the key's number.
const HEAD: usize = 5;

/// Octets of a club's key.
const KEY_OCTETS: usize = 32;

/// Where a value is kept: what its tag covers beside itself.
#[derive(Debug, Clone, Copy)]
pub(in crate::store) struct Place<'a> {
    /// `table.column`.
    pub(in crate::store) column: &'static str,
    /// The id that the row is found by.
    pub(in crate::store) row: &'a [u8],
}

impl Place<'_> {
    /// The row comes with its length, the club has a fixed one, and the column is the rest: no two places are the same octets.
    fn bound_to(self, club: ClubId) -> Vec<u8> {
        let length = u64::try_from(self.row.len()).unwrap_or(u64::MAX);
        [
            club.uuid().as_bytes(),
            length.to_be_bytes().as_slice(),
            self.row,
            self.column.as_bytes(),
        ]
        .concat()
    }
}

/// What a row is found by, as octets.
pub(in crate::store) trait RowKey: Sized {
    fn octets(&self) -> Vec<u8>;

    /// `None` when the octets are none of this key.
    fn from_octets(octets: &[u8]) -> Option<Self>;
}

/// The hash that an answer is kept under.
impl RowKey for Vec<u8> {
    fn octets(&self) -> Vec<u8> {
        self.clone()
    }

    fn from_octets(octets: &[u8]) -> Option<Self> {
        Some(octets.to_vec())
    }
}

/// A club's key as it is kept.
#[derive(Debug)]
pub(in crate::store) struct DataKey {
    /// 1, 2, 3, …
    pub(in crate::store) number: i32,
    /// Wrapped by a master key.
    pub(in crate::store) wrapped: Vec<u8>,
    /// That key's id.
    pub(in crate::store) master_key: Vec<u8>,
}

impl DataKey {
    /// A new one, at random.
    pub(in crate::store) fn make(
        masters: &MasterKeys,
        club: ClubId,
        number: i32,
    ) -> Result<Self, StoreError> {
        let mut secret = [0; KEY_OCTETS];
        rand::fill(&mut secret).map_err(|_| not_made())?;
        Self::wrap(masters, club, number, &secret)
    }

    /// The same key, wrapped by the newest master key.
    pub(in crate::store) fn rewrapped(
        &self,
        masters: &MasterKeys,
        club: ClubId,
    ) -> Result<Self, StoreError> {
        Self::wrap(masters, club, self.number, &self.unwrap(masters, club)?)
    }

    fn wrap(
        masters: &MasterKeys,
        club: ClubId,
        number: i32,
        secret: &[u8],
    ) -> Result<Self, StoreError> {
        Ok(Self {
            number,
            wrapped: masters
                .wrap(&bound_to(club, number), secret)
                .ok_or_else(not_made)?,
            master_key: masters.newest().to_vec(),
        })
    }

    fn unwrap(&self, masters: &MasterKeys, club: ClubId) -> Result<Vec<u8>, StoreError> {
        masters
            .unwrap(
                &self.master_key,
                &bound_to(club, self.number),
                &self.wrapped,
            )
            .ok_or(StoreError::NotOpened("club_keys.wrapped"))
    }
}

/// What a wrapped key's tag covers: another club's key, or another number's, unwraps nowhere else.
fn bound_to(club: ClubId, number: i32) -> Vec<u8> {
    [club.uuid().as_bytes(), number.to_be_bytes().as_slice()].concat()
}

fn not_made() -> StoreError {
    StoreError::Internal(
        "a key or a nonce could not be made: no master key, or no random number".to_owned(),
    )
}

/// The keys of one club, unwrapped.
#[derive(Debug)]
pub(in crate::store) struct ClubKeys {
    club: ClubId,
    keys: BTreeMap<i32, RandomizedNonceKey>,
}

impl ClubKeys {
    /// No key at all: opens what is kept as it is, and keeps as it is what is of no club.
    pub(in crate::store) fn none(club: ClubId) -> Self {
        Self {
            club,
            keys: BTreeMap::new(),
        }
    }

    pub(in crate::store) fn unwrap(
        masters: &MasterKeys,
        club: ClubId,
        kept: &[DataKey],
    ) -> Result<Self, StoreError> {
        let mut keys = BTreeMap::new();
        for data in kept {
            let secret = data.unwrap(masters, club)?;
            let key = RandomizedNonceKey::new(&AES_256_GCM, &secret);
            keys.insert(
                data.number,
                key.map_err(|_| StoreError::NotOpened("club_keys.wrapped"))?,
            );
        }
        Ok(Self { club, keys })
    }

    /// The number of the newest key, under which values are sealed.
    pub(in crate::store) fn newest(&self) -> Option<i32> {
        self.keys.last_key_value().map(|(number, _)| *number)
    }

    pub(in crate::store) fn has(&self, number: i32) -> bool {
        self.keys.contains_key(&number)
    }

    /// Seals a value for its place under the newest key.
    pub(in crate::store) fn seal(
        &self,
        place: Place<'_>,
        plain: &[u8],
    ) -> Result<Sealed, StoreError> {
        match self.keys.last_key_value() {
            Some((number, key)) => {
                let sealed = encrypt(key, &place.bound_to(self.club), &head(*number), plain);
                sealed.map(Sealed).ok_or_else(not_made)
            }
            // Before there is a club, an answer about it has no key to be under; it holds the club's name and zone.
            None if self.club.uuid().is_nil() => Ok(Sealed([&[AS_IT_IS], plain].concat())),
            None => Err(StoreError::NotOpened("club_keys.wrapped")),
        }
    }

    /// Opens a value of this place.
    pub(in crate::store) fn open(
        &self,
        place: Place<'_>,
        sealed: &Sealed,
    ) -> Result<Vec<u8>, StoreError> {
        let opened = match (sealed.0.first(), sealed.number()) {
            (Some(&AS_IT_IS), _) => Some(sealed.0[1..].to_vec()),
            (_, Some(number)) => self
                .keys
                .get(&number)
                .and_then(|key| decrypt(key, &place.bound_to(self.club), &sealed.0[HEAD..])),
            _ => None,
        };
        opened.ok_or(StoreError::NotOpened(place.column))
    }
}

fn head(number: i32) -> [u8; HEAD] {
    let [a, b, c, d] = number.to_be_bytes();
    [SEALED, a, b, c, d]
}

impl Sealed {
    /// An empty value, kept as it is: what is left of an endpoint's address once it is forgotten.
    pub(in crate::store) fn nothing() -> Self {
        Self(vec![AS_IT_IS])
    }

    /// Where the values under a key begin, in the order of their octets; they end where those of the next number begin.
    pub(in crate::store) fn first_under(number: i32) -> Self {
        Self(head(number).to_vec())
    }

    /// The number of the key it is under; `None` when it is kept as it is.
    pub(in crate::store) fn number(&self) -> Option<i32> {
        match *self.0.first_chunk::<HEAD>()? {
            [SEALED, a, b, c, d] => Some(i32::from_be_bytes([a, b, c, d])),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use uuid::Uuid;

    use super::*;

    const PLACE: Place<'static> = Place {
        column: "restrictions.note",
        row: &[7; 16],
    };

    fn club(number: u128) -> ClubId {
        Uuid::from_u128(number).into()
    }

    fn keys(number: u128, of_keys: i32) -> ClubKeys {
        let masters = MasterKeys::new(&[[3; 32]]).unwrap();
        let made = (1..=of_keys).map(|key| DataKey::make(&masters, club(number), key).unwrap());
        ClubKeys::unwrap(&masters, club(number), &made.collect::<Vec<_>>()).unwrap()
    }

    #[test]
    fn a_value_opens_in_its_place_alone() {
        let keys = keys(1, 1);
        let sealed = keys.seal(PLACE, b"knee").unwrap();
        assert_eq!(keys.open(PLACE, &sealed).unwrap(), b"knee");
        let elsewhere = [
            Place {
                column: "restrictions.reason",
                ..PLACE
            },
            Place {
                row: &[8; 16],
                ..PLACE
            },
            Place {
                row: &[7; 15],
                ..PLACE
            },
        ];
        for place in elsewhere {
            let refused = keys.open(place, &sealed).unwrap_err();
            assert!(
                matches!(refused, StoreError::NotOpened(column) if column == place.column),
                "{place:?}"
            );
        }
        let other = ClubKeys {
            club: club(2),
            ..keys
        };
        assert!(
            other.open(PLACE, &sealed).is_err(),
            "the same key in another club"
        );
    }

    #[test]
    fn a_changed_octet_opens_nothing() {
        let keys = keys(1, 2);
        let sealed = keys.seal(PLACE, b"knee").unwrap();
        assert_eq!(sealed.0.len(), HEAD + 12 + 4 + 16);
        for bit in 0..sealed.0.len() * 8 {
            let mut changed = sealed.clone();
            changed.0[bit / 8] ^= 1 << (bit % 8);
            let opened = keys.open(PLACE, &changed);
            // From the first octet of a sealed value to that of one kept as it is are two bits.
            assert!(opened.is_err(), "bit {bit}");
        }
        for length in 0..sealed.0.len() {
            assert!(
                keys.open(PLACE, &Sealed(sealed.0[..length].to_vec()))
                    .is_err(),
                "{length} octets"
            );
        }
    }

    #[test]
    fn the_newest_key_seals_and_its_number_orders_the_values() {
        let keys = keys(1, 300);
        let sealed = keys.seal(PLACE, b"").unwrap();
        assert_eq!(sealed.number(), Some(300));
        assert!(Sealed::first_under(300).0 <= sealed.0 && sealed.0 < Sealed::first_under(301).0);
        assert!(sealed.0 > Sealed::first_under(255).0);
        assert_eq!(Sealed::nothing().number(), None);
        assert!(keys.open(PLACE, &Sealed::nothing()).unwrap().is_empty());
    }

    #[test]
    fn a_key_of_another_club_or_number_does_not_unwrap() {
        let masters = MasterKeys::new(&[[3; 32]]).unwrap();
        let key = DataKey::make(&masters, club(1), 1).unwrap();
        assert!(key.unwrap(&masters, club(1)).is_ok());
        assert!(key.unwrap(&masters, club(2)).is_err());
        let renumbered = DataKey { number: 2, ..key };
        assert!(renumbered.unwrap(&masters, club(1)).is_err());
    }

    #[test]
    fn without_a_key_a_club_seals_nothing() {
        assert!(ClubKeys::none(club(1)).seal(PLACE, b"knee").is_err());
        let nobody = ClubKeys::none(Uuid::nil().into());
        let kept = nobody.seal(PLACE, b"a club's name").unwrap();
        assert_eq!(nobody.open(PLACE, &kept).unwrap(), b"a club's name");
    }
}
