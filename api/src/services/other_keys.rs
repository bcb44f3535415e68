//! Athletes by the roster's keys: their own, and those under which they were entered a second time.

use crate::store::athletes::{self, Athlete};
use crate::store::{Conn, Known, StoreError, Tenant, Versioned, Who, second_copies};

/// An athlete, with the key that leads to her.
#[derive(Debug, Clone)]
pub struct Named {
    /// The key.
    pub external_id: String,
    /// The client whose key it is.
    pub source: String,
    /// The athlete.
    pub athlete: Versioned<Athlete>,
}

/// The current, undeleted athletes of these external ids. Only where some lead to nobody of their own, the other keys are looked at.
///
/// # Errors
/// Those of the database.
pub fn named(
    conn: &mut Conn,
    tenant: Tenant,
    external_ids: &[&str],
) -> Result<Vec<Named>, StoreError> {
    let own = athletes::by_external_ids(conn, tenant, external_ids)?;
    let mut named: Vec<Named> = own.into_iter().filter_map(under_own_key).collect();
    let is_missing = |id: &&str| named.iter().all(|one| one.external_id != **id);
    let missing: Vec<&str> = external_ids.iter().copied().filter(is_missing).collect();
    if missing.is_empty() {
        return Ok(named);
    }
    let others = second_copies::other_keys(conn, tenant, Some(&missing))?;
    let ids: Vec<_> = others.iter().map(|other| other.athlete_id).collect();
    let athletes = athletes::known(conn, tenant, Who::Athletes(&ids), Known::Now)?;
    for other in others {
        let athlete = athletes
            .iter()
            .find(|one| one.content.athlete_id == other.athlete_id);
        if let (Some(external_id), Some(athlete)) = (other.external_id, athlete) {
            named.push(Named {
                external_id,
                source: other.source,
                athlete: athlete.clone(),
            });
        }
    }
    Ok(named)
}

fn under_own_key(athlete: Versioned<Athlete>) -> Option<Named> {
    Some(Named {
        external_id: athlete.content.external_id.clone()?,
        source: athlete.content.source.clone(),
        athlete,
    })
}
