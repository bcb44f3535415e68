//! Who may decide as a clinician: somebody licensed, about somebody else.

use super::licences;
use super::write::Change;
use crate::auth::Reference;
use crate::error::{Code, Problem};
use crate::ids::AthleteId;
use crate::store::athletes;
use crate::store::licences::Licence;

/// The caller's licence on file.
///
/// # Errors
/// 403 without one that holds.
pub fn licensed(change: &mut Change<'_>) -> Result<Licence, Problem> {
    licences::of_caller(change)
}

/// Refuses a decision about oneself or one's own child: a token that names the athlete, or whose subject is
/// the athlete's own.
///
/// # Errors
/// 403.
pub fn not_about_herself(change: &mut Change<'_>, athlete_id: AthleteId) -> Result<(), Problem> {
    let tenant = change.tenant();
    let athlete = athletes::current(change.conn, tenant, athlete_id)?;
    let athlete = athlete.ok_or_else(Problem::not_found)?.content;
    let who = &change.caller.principal;
    let is_named = who.athletes.iter().any(|named| match named {
        Reference::Id(id) => *id == athlete_id.uuid(),
        Reference::External {
            source,
            external_id,
        } => *source == athlete.source && Some(external_id) == athlete.external_id.as_ref(),
    });
    let is_subject =
        who.subject == athlete_id.to_string() || athlete.external_id.as_ref() == Some(&who.subject);
    if is_named || is_subject {
        let detail = "The token is the athlete's own, or a guardian's of hers.";
        return Err(Problem::new(Code::OwnRecord, detail));
    }
    Ok(())
}
