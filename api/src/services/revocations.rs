//! Tokens and subjects that are no longer accepted: looked up on every request, in memory.
//!
//! The list is read again every few seconds, and at once by the process that changes it, so that a
//! revocation holds everywhere within a minute whatever the token's own time says.

use std::collections::HashSet;
use std::sync::Arc;
use std::time::Duration;

use arc_swap::ArcSwap;

use crate::auth::Principal;
use crate::ids::ClubId;
use crate::store::{Clubs, RevocationKind, Store, StoreError, revocations};

/// How often the list is read again.
pub const EVERY: Duration = Duration::from_secs(15);

/// What is revoked, in any club.
#[derive(Debug, Default)]
pub struct Revocations(ArcSwap<HashSet<(ClubId, RevocationKind, String)>>);

impl Revocations {
    /// Reads the list anew.
    ///
    /// # Errors
    /// Those of the database; the last list then goes on being used.
    pub async fn refresh(&self, store: &Store) -> Result<(), StoreError> {
        let list = store.read(Clubs::Every, revocations::in_force).await?;
        self.0.store(Arc::new(list.into_iter().collect()));
        Ok(())
    }

    /// Whether the token, or everything of its subject, is revoked in the club.
    pub fn include(&self, club: ClubId, principal: &Principal) -> bool {
        let list = self.0.load();
        let revoked = |kind, value: &str| list.contains(&(club, kind, value.to_owned()));
        !list.is_empty()
            && (revoked(RevocationKind::Subject, &principal.subject)
                || principal
                    .token_id
                    .as_deref()
                    .is_some_and(|token| revoked(RevocationKind::Token, token)))
    }
}
