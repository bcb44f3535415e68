//! Signatures a key was found to have made, so that a token that comes again and again is put through
//! the arithmetic once.
//!
//! A signature is good or bad by key, message and signature alone, so what was good stays good: this
//! remembers no decision that could change. Times, audience, role, revocation and whether the key is
//! still published are judged anew for each request. The memory belongs to one key and goes with it.

use std::collections::HashSet;
use std::sync::{Arc, Mutex, PoisonError};

use sha2::{Digest, Sha256};

/// Most signatures remembered; then it starts over.
const MOST: usize = 4_096;

/// Hashes of messages with their good signatures. Clones share them.
#[derive(Clone, Default)]
pub(super) struct GoodSignatures(Arc<Mutex<HashSet<[u8; 32]>>>);

impl GoodSignatures {
    /// Whether the signature is good: as remembered, else as `verify` says.
    pub(super) fn check(
        &self,
        message: &[u8],
        signature: &str,
        verify: impl FnOnce() -> bool,
    ) -> bool {
        let hash = hash(message, signature);
        if self.locked(|known| known.contains(&hash)) {
            return true;
        }
        let good = verify();
        if good {
            self.locked(|known| {
                if known.len() >= MOST {
                    known.clear();
                }
                known.insert(hash)
            });
        }
        good
    }

    fn locked<T>(&self, work: impl FnOnce(&mut HashSet<[u8; 32]>) -> T) -> T {
        work(&mut self.0.lock().unwrap_or_else(PoisonError::into_inner))
    }
}

/// The length first: no other message and signature have the same octets in a row.
fn hash(message: &[u8], signature: &str) -> [u8; 32] {
    let mut hash = Sha256::new();
    hash.update(message.len().to_be_bytes());
    hash.update(message);
    hash.update(signature);
    hash.finalize().into()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_good_signature_is_verified_once_and_a_bad_one_each_time() {
        let known = GoodSignatures::default();
        let mut asked = 0;
        let mut check = |message: &[u8], signature: &str, good: bool| {
            known.check(message, signature, || {
                asked += 1;
                good
            })
        };
        assert!(!check(b"header.payload", "bad", false));
        assert!(!check(b"header.payload", "bad", false));
        assert!(check(b"header.payload", "good", true));
        assert!(check(b"header.payload", "good", false));
        assert!(!check(b"header.other", "good", false));
        assert_eq!(asked, 4);
    }

    #[test]
    fn what_moves_from_the_message_to_the_signature_is_another_signature() {
        let known = GoodSignatures::default();
        assert!(known.check(b"ab", "cd", || true));
        assert!(!known.check(b"abc", "d", || false));
        assert!(!known.check(b"a", "bcd", || false));
    }

    #[test]
    fn another_key_knows_nothing_of_it() {
        let (known, other) = (GoodSignatures::default(), GoodSignatures::default());
        assert!(known.check(b"m", "s", || true));
        assert!(!other.check(b"m", "s", || false));
    }

    #[test]
    fn the_memory_is_bounded() {
        let known = GoodSignatures::default();
        for number in 0..=MOST {
            assert!(known.check(b"m", &number.to_string(), || true));
        }
        assert_eq!(known.locked(|known| known.len()), 1);
    }
}
