//! Entity tags: a hash of what a resource says. Memberships change a resource without a version of its own, so there is no number to
//! take, and the tag is weak (RFC 7644, section 3.14).

use serde_json::{Map, Value};
use sha2::{Digest, Sha256};

use crate::error::{Code, Problem};

/// The tag of a resource, whatever its id and its instants.
pub fn of(resource: &Map<String, Value>) -> String {
    let mut hash = Sha256::new();
    for (name, value) in resource {
        if !["id", "meta"].contains(&name.as_str()) {
            hash.update(name.as_bytes());
            hash.update([0]);
            hash.update(value.to_string().as_bytes());
            hash.update([0]);
        }
    }
    let hash = hash.finalize();
    let octets = hash.iter().take(8);
    let hex: String = octets.map(|octet| format!("{octet:02x}")).collect();
    format!("W/\"{hex}\"")
}

/// Whether a list of tags, or `*`, names this one.
pub fn is_among(given: &str, tag: &str) -> bool {
    given.trim() == "*" || given.split(',').any(|one| one.trim() == tag)
}

/// Refuses what was meant for another state, where the request says for which it is meant.
///
/// # Errors
/// 412.
pub fn require(given: Option<&str>, tag: &str) -> Result<(), Problem> {
    match given {
        Some(given) if !is_among(given, tag) => Err(Problem::new(
            Code::PreconditionFailed,
            "The If-Match value is not the current ETag.",
        )),
        _ => Ok(()),
    }
}
