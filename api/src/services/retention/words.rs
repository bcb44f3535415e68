//! What is said of records and of how long they are kept, in plain words that decide nothing.

use plimsoll_domain::RecordRegime;

use super::settings;
use crate::error::Problem;
use crate::store::{Conn, Known, Tenant};

/// Said beside every answer about terms.
pub const LOCAL_LAW: &str = "Local law decides how long records may and must be kept; ask the club's own counsel. What the club calls its \
    records changes wording alone.";

/// What a club without terms is told.
pub const KEEPS_EVERYTHING: &str =
    "No terms are set: everything is kept, also of athletes who left long ago.";

/// What a club with terms is told.
pub const ERASES: &str =
    "What is due is erased on the second night on which it is, unless a hold stands.";

/// Said beside the usual term.
pub const USUAL: &str =
    "Two seasons after leaving: common practice, no source. It holds only where the club sets it.";

/// What the records of a club are, for the foot of what is handed out.
pub const fn of_regime(regime: Option<RecordRegime>) -> &'static str {
    match regime {
        Some(RecordRegime::Education) => {
            "The club keeps these as education records; local law decides what that means for keeping and showing them."
        }
        Some(RecordRegime::HealthProvider) => {
            "The club keeps these as records of a health care provider; local law decides what that means for keeping and showing them."
        }
        Some(RecordRegime::Club) => {
            "The club keeps these as its own records; local law decides what that means for keeping and showing them."
        }
        None => {
            "The club has not said what kind of records these are; local law decides about keeping and showing them."
        }
    }
}

/// The same for a club, as it was known.
pub fn of_club(conn: &mut Conn, tenant: Tenant, known: Known) -> Result<&'static str, Problem> {
    let settings = settings::known(conn, tenant, known)?;
    Ok(of_regime(
        settings.map(|version| version.content.record_regime),
    ))
}
