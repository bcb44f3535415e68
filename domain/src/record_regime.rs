//! Under which name a club keeps its records of athletes.

use crate::coded::coded_enum;

coded_enum! {
    /// What a club calls its records. It changes wording alone and decides nothing: which law holds for them is for local law.
    RecordRegime {
        /// Education records, of a school or of somebody who acts for one.
        Education = "education",
        /// The records of somebody who provides health care.
        HealthProvider = "health_provider",
        /// A club's own records.
        Club = "club",
    }
}
