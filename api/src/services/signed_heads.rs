//! Ends of audit lists, signed so that they can be kept elsewhere and held against the list later.
//!
//! `signature = Ed25519(key, text)` (RFC 8032), where `text` is the head without its signature in canonical JSON (RFC 8785).
//! The key is not the chain's: who checks signatures needs the public half alone, and with it can sign nothing; who holds the
//! chain's key can write a chain anew, but not what was signed of it.

use std::collections::BTreeMap;
use std::io::{self, BufRead};
use std::path::Path;

use aws_lc_rs::signature::{self, Ed25519KeyPair, KeyPair, UnparsedPublicKey};
use base64::Engine;
use base64::engine::general_purpose::{STANDARD, URL_SAFE_NO_PAD};
use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use crate::auth::LocalKeyError;
use crate::auth::keys::PublicKey;
use crate::auth::local_key::private_key;
use crate::ids::ClubId;
use crate::store::audit::AuditHead;

/// What comes before the 32 octets of an Ed25519 key in a public key file (RFC 8410 section 4, in DER).
const PUBLIC_PREFIX: [u8; 12] = [
    0x30, 0x2a, 0x30, 0x05, 0x06, 0x03, 0x2b, 0x65, 0x70, 0x03, 0x21, 0x00,
];
const PUBLIC_BEGIN: &str = "-----BEGIN PUBLIC KEY-----";
const PUBLIC_END: &str = "-----END PUBLIC KEY-----";

/// Where a club's audit list ended at an instant, and who says so. As it is written: names in their order, so that the line is
/// canonical JSON too (its number stays below 2^53).
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SignedHead {
    /// When it was signed.
    pub at: Timestamp,
    /// Whose list.
    pub club_id: ClubId,
    /// Which key signed: its thumbprint (RFC 7638).
    pub key_id: String,
    /// The link of the last row, hexadecimal.
    pub link: String,
    /// The number of the last row.
    pub number: i64,
    /// Ed25519 over the fields above, base64url.
    pub signature: String,
}

/// The fields of a head that are signed.
#[derive(Serialize)]
struct Statement<'a> {
    at: Timestamp,
    club_id: ClubId,
    key_id: &'a str,
    link: &'a str,
    number: i64,
}

impl SignedHead {
    fn text(&self) -> Result<Vec<u8>, serde_json::Error> {
        serde_json::to_vec(&Statement {
            at: self.at,
            club_id: self.club_id,
            key_id: &self.key_id,
            link: &self.link,
            number: self.number,
        })
    }

    /// The line it is kept as, without its end.
    ///
    /// # Errors
    /// Those of serde.
    pub fn line(&self) -> Result<String, serde_json::Error> {
        serde_json::to_string(self)
    }
}

/// The key that signs heads.
pub struct SignKey {
    pair: Ed25519KeyPair,
    public: HeadKey,
}

impl SignKey {
    /// Reads the key from `path`; makes it when there is no such file.
    ///
    /// # Errors
    /// [`LocalKeyError`].
    pub fn open(path: &Path) -> Result<Self, LocalKeyError> {
        let pair = Ed25519KeyPair::from_pkcs8(&private_key(path)?);
        let pair = pair.map_err(|_| LocalKeyError::NotAKey)?;
        let octets = <[u8; 32]>::try_from(pair.public_key().as_ref());
        let public = HeadKey::new(octets.map_err(|_| LocalKeyError::NotAKey)?);
        let public = public.ok_or(LocalKeyError::NotAKey)?;
        Ok(Self { pair, public })
    }

    /// The half that only checks.
    pub fn public(&self) -> &HeadKey {
        &self.public
    }

    /// Signs where a club's list ends.
    ///
    /// # Errors
    /// Those of serde.
    pub fn sign(
        &self,
        club_id: ClubId,
        head: &AuditHead,
        at: Timestamp,
    ) -> Result<SignedHead, serde_json::Error> {
        let mut signed = SignedHead {
            at,
            club_id,
            key_id: self.public.id.clone(),
            link: hexadecimal(&head.link),
            number: head.number,
            signature: String::new(),
        };
        let signature = self.pair.sign(&signed.text()?);
        signed.signature = URL_SAFE_NO_PAD.encode(signature);
        Ok(signed)
    }
}

impl std::fmt::Debug for SignKey {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("SignKey")
            .field("public", &self.public)
            .finish_non_exhaustive()
    }
}

/// The public half of a key that signs heads.
#[derive(Debug, Clone)]
pub struct HeadKey {
    octets: [u8; 32],
    id: String,
}

impl HeadKey {
    fn new(octets: [u8; 32]) -> Option<Self> {
        let id = PublicKey::ed25519(&octets).thumbprint()?;
        Some(Self { octets, id })
    }

    /// As a public key file (PEM, RFC 7468 and RFC 8410), which general tools read too.
    pub fn to_pem(&self) -> String {
        let body = STANDARD.encode([&PUBLIC_PREFIX[..], &self.octets].concat());
        format!("{PUBLIC_BEGIN}\n{body}\n{PUBLIC_END}\n")
    }

    /// Reads a public key file; `None` where it holds something else.
    pub fn from_pem(text: &str) -> Option<Self> {
        let body = text.trim().strip_prefix(PUBLIC_BEGIN)?;
        let body = body.strip_suffix(PUBLIC_END)?.trim();
        let der = STANDARD.decode(body).ok()?;
        let octets = der.strip_prefix(&PUBLIC_PREFIX)?;
        Self::new(octets.try_into().ok()?)
    }

    fn signed(&self, head: &SignedHead) -> bool {
        let (Ok(text), Ok(signature)) = (head.text(), URL_SAFE_NO_PAD.decode(&head.signature))
        else {
            return false;
        };
        let key = UnparsedPublicKey::new(&signature::ED25519, &self.octets);
        key.verify(&text, &signature).is_ok()
    }
}

/// What is wrong with a line of kept heads.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum BadLine {
    /// It is something else, or was cut.
    #[error("is no signed head")]
    NotAHead,
    /// Another key signed it.
    #[error("was signed with another key than those given")]
    OtherKey,
    /// It was changed after it was signed.
    #[error("is not what was signed")]
    NotSigned,
}

/// Heads that were kept: the good ones of each club by rising number, and the bad lines by theirs.
#[derive(Debug, Default)]
pub struct KeptHeads {
    /// What was signed.
    pub of_clubs: BTreeMap<ClubId, Vec<SignedHead>>,
    /// What cannot be relied on.
    pub bad: Vec<(usize, BadLine)>,
}

impl KeptHeads {
    /// Reads heads, a line each, and checks who signed them. Empty lines are passed over.
    ///
    /// # Errors
    /// Those of reading.
    pub fn read(lines: impl BufRead, keys: &[HeadKey]) -> io::Result<Self> {
        let mut kept = Self::default();
        for (line, number) in lines.split(b'\n').zip(1..) {
            let line = line?;
            if line.trim_ascii().is_empty() {
                continue;
            }
            match checked(&line, keys) {
                Ok(head) => kept.of_clubs.entry(head.club_id).or_default().push(head),
                Err(why) => kept.bad.push((number, why)),
            }
        }
        for heads in kept.of_clubs.values_mut() {
            heads.sort_by_key(|head| head.number);
        }
        Ok(kept)
    }

    /// What was signed of a club.
    pub fn of(&self, club: ClubId) -> &[SignedHead] {
        self.of_clubs.get(&club).map_or(&[], Vec::as_slice)
    }
}

fn checked(line: &[u8], keys: &[HeadKey]) -> Result<SignedHead, BadLine> {
    let head: SignedHead = serde_json::from_slice(line).map_err(|_| BadLine::NotAHead)?;
    let key = keys.iter().find(|key| key.id == head.key_id);
    match key.ok_or(BadLine::OtherKey)?.signed(&head) {
        true => Ok(head),
        false => Err(BadLine::NotSigned),
    }
}

/// Octets as digits.
pub fn hexadecimal(octets: &[u8]) -> String {
    let digits = octets.iter().map(|octet| format!("{octet:02x}"));
    digits.collect()
}

#[cfg(test)]
mod tests;
