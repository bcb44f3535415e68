//! The code by which a family ties an athlete's records in two clubs together.
//!
//! It is made in the club that is to receive totals and handed over, by the family alone, in the club that is to share them. It is
//! `base64url(club || link || secret)` (RFC 4648 section 5): 16 octets each of the receiving club and of the link, and 32 random
//! octets, of which only their SHA-256 is stored. Whoever does not hold it can name neither the link nor the athlete.

use aws_lc_rs::constant_time;
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use serde::Deserialize;
use sha2::{Digest, Sha256};
use uuid::Uuid;

use crate::ids::{ClubId, LinkId};

/// Octets of the secret.
const SECRET: usize = 32;

/// A code as it was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SharingCode {
    /// The club that is to receive totals.
    pub club: ClubId,
    /// The link there.
    pub link: LinkId,
    secret: [u8; SECRET],
}

impl SharingCode {
    /// A code with this secret, which has to be random.
    pub fn new(club: ClubId, link: LinkId, secret: [u8; SECRET]) -> Self {
        Self { club, link, secret }
    }

    /// Reads a code.
    pub fn parse(text: &str) -> Option<Self> {
        let octets = URL_SAFE_NO_PAD.decode(text).ok()?;
        let (club, rest) = octets.split_at_checked(16)?;
        let (link, secret) = rest.split_at_checked(16)?;
        Some(Self {
            club: Uuid::from_slice(club).ok()?.into(),
            link: Uuid::from_slice(link).ok()?.into(),
            secret: secret.try_into().ok()?,
        })
    }

    /// The code in a body, before the body is checked: which club is locked depends on it.
    pub fn of_body(body: &[u8]) -> Option<Self> {
        #[derive(Deserialize)]
        struct WithCode {
            sharing_code: Option<String>,
        }
        let body: WithCode = serde_json::from_slice(body).ok()?;
        Self::parse(&body.sharing_code?)
    }

    /// As it is handed over.
    pub fn text(&self) -> String {
        let club = self.club.uuid();
        let link = self.link.uuid();
        let octets = [&club.as_bytes()[..], &link.as_bytes()[..], &self.secret].concat();
        URL_SAFE_NO_PAD.encode(octets)
    }

    /// What is stored of the secret.
    pub fn hash(&self) -> Vec<u8> {
        Sha256::digest(self.secret).to_vec()
    }

    /// Whether the stored hash is that of the secret.
    pub fn fits(&self, hash: &[u8]) -> bool {
        constant_time::verify_slices_are_equal(&self.hash(), hash).is_ok()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_comes_back_as_it_went_out() {
        let (club, link) = (Uuid::from_u128(7), Uuid::from_u128(8));
        let code = SharingCode::new(club.into(), link.into(), [9; SECRET]);
        let read = SharingCode::parse(&code.text()).unwrap();
        assert_eq!(read, code);
        assert!(read.fits(&code.hash()));
        let other = SharingCode::new(club.into(), link.into(), [10; SECRET]);
        assert!(!other.fits(&code.hash()));
        let body = format!(r#"{{"sharing_code": "{}", "more": [1]}}"#, code.text());
        assert_eq!(SharingCode::of_body(body.as_bytes()), Some(code));
    }

    #[test]
    fn what_is_no_code_is_none() {
        let whole = SharingCode::new(Uuid::nil().into(), Uuid::nil().into(), [0; SECRET]).text();
        for wrong in ["", "x", "%%%", &whole[1..], &format!("{whole}AAAA")] {
            assert_eq!(SharingCode::parse(wrong), None, "{wrong}");
        }
        for body in ["", "[]", "{}", r#"{"sharing_code": 7}"#] {
            assert_eq!(SharingCode::of_body(body.as_bytes()), None, "{body}");
        }
    }
}
