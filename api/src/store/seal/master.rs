//! The master keys, which wrap the clubs' keys. They come from a file outside the database.

use aws_lc_rs::aead::{AES_256_GCM, Aad, NONCE_LEN, Nonce, RandomizedNonceKey};
use aws_lc_rs::hmac;

/// Octets of a master key.
const OCTETS: usize = 32;
/// Octets of its id.
const ID_OCTETS: usize = 8;

/// Why the master keys cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum MasterKeyError {
    /// There is none.
    #[error("there is no master key")]
    None,
    /// The library refused one.
    #[error("a master key cannot be used")]
    Refused,
}

/// Every master key of the file, the newest last. That one wraps; all of them unwrap.
pub struct MasterKeys(Vec<MasterKey>);

struct MasterKey {
    id: [u8; ID_OCTETS],
    key: RandomizedNonceKey,
}

impl MasterKeys {
    /// The keys in the order of their age, the newest last.
    ///
    /// # Errors
    /// [`MasterKeyError`].
    pub fn new(secrets: &[[u8; OCTETS]]) -> Result<Self, MasterKeyError> {
        if secrets.is_empty() {
            return Err(MasterKeyError::None);
        }
        let keys = secrets.iter().map(MasterKey::new);
        keys.collect::<Result<_, _>>().map(Self)
    }

    /// No key, for who reads and writes nothing private.
    pub fn none() -> Self {
        Self(Vec::new())
    }

    /// The id of the newest, which tells nothing of the key; empty where there is none.
    pub fn newest(&self) -> &[u8] {
        self.0.last().map_or(&[], |master| &master.id)
    }

    /// The ids of all.
    pub fn ids(&self) -> Vec<Vec<u8>> {
        self.0.iter().map(|master| master.id.to_vec()).collect()
    }

    /// Wraps with the newest key: nonce, ciphertext, tag. `None` when there is no key or no random number.
    pub(super) fn wrap(&self, bound_to: &[u8], secret: &[u8]) -> Option<Vec<u8>> {
        encrypt(&self.0.last()?.key, bound_to, &[], secret)
    }

    /// What was wrapped with the key of this id; `None` when that key is not here or the octets were changed.
    pub(super) fn unwrap(&self, id: &[u8], bound_to: &[u8], wrapped: &[u8]) -> Option<Vec<u8>> {
        let master = self.0.iter().find(|master| master.id == id)?;
        decrypt(&master.key, bound_to, wrapped)
    }
}

impl std::fmt::Debug for MasterKeys {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("MasterKeys").finish_non_exhaustive()
    }
}

impl MasterKey {
    fn new(secret: &[u8; OCTETS]) -> Result<Self, MasterKeyError> {
        let signed = hmac::sign(&hmac::Key::new(hmac::HMAC_SHA256, secret), b"master key id");
        let mut id = [0; ID_OCTETS];
        id.copy_from_slice(&signed.as_ref()[..ID_OCTETS]);
        let key =
            RandomizedNonceKey::new(&AES_256_GCM, secret).map_err(|_| MasterKeyError::Refused)?;
        Ok(Self { id, key })
    }
}

/// A head as it is, nonce, ciphertext and tag; made in one place, since a value may be long.
pub(super) fn encrypt(
    key: &RandomizedNonceKey,
    bound_to: &[u8],
    head: &[u8],
    plain: &[u8],
) -> Option<Vec<u8>> {
    let before = head.len() + NONCE_LEN;
    let mut sealed = Vec::with_capacity(before + plain.len() + AES_256_GCM.tag_len());
    sealed.extend_from_slice(head);
    sealed.extend_from_slice(&[0; NONCE_LEN]);
    sealed.extend_from_slice(plain);
    let text = sealed.get_mut(before..)?;
    let (nonce, tag) = key
        .seal_in_place_separate_tag(Aad::from(bound_to), text)
        .ok()?;
    sealed
        .get_mut(head.len()..before)?
        .copy_from_slice(nonce.as_ref());
    sealed.extend_from_slice(tag.as_ref());
    Some(sealed)
}

/// What [`encrypt`] made; `None` when any of it was changed or it was bound to something else.
pub(super) fn decrypt(key: &RandomizedNonceKey, bound_to: &[u8], sealed: &[u8]) -> Option<Vec<u8>> {
    let (nonce, text) = sealed.split_at_checked(NONCE_LEN)?;
    let nonce = Nonce::try_assume_unique_for_key(nonce).ok()?;
    let mut text = text.to_vec();
    let plain = key.open_in_place(nonce, Aad::from(bound_to), &mut text);
    let length = plain.ok()?.len();
    text.truncate(length);
    Some(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_newest_wraps_and_all_unwrap() {
        let before = MasterKeys::new(&[[1; OCTETS]]).unwrap();
        let after = MasterKeys::new(&[[1; OCTETS], [2; OCTETS]]).unwrap();
        let wrapped = before.wrap(b"club", &[7; 32]).unwrap();
        assert_eq!(
            after.unwrap(before.newest(), b"club", &wrapped),
            Some(vec![7; 32])
        );
        assert_ne!(before.newest(), after.newest());
        let newer = after.wrap(b"club", &[7; 32]).unwrap();
        assert_eq!(before.unwrap(after.newest(), b"club", &newer), None);
        assert_eq!(
            after.unwrap(after.newest(), b"club", &newer),
            Some(vec![7; 32])
        );
    }

    #[test]
    fn no_key_is_refused() {
        assert!(matches!(MasterKeys::new(&[]), Err(MasterKeyError::None)));
        assert_eq!(MasterKeys::none().wrap(b"club", &[7; 32]), None);
    }
}
