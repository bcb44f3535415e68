//! The classes of records kept of an athlete.
//!
//! A class says which records are erased, or kept for a term, together. What belongs to a class is for the store to say; how long a
//! class may or must be kept is for local law and the club to say.

use crate::coded::coded_enum;

coded_enum! {
    /// What kind of record a row about an athlete is.
    RecordClass {
        /// Who she is and which squads she belongs to: names, ids, birth date, memberships.
        Identity = "identity",
        /// What she did and was to do: reports, day totals, planned sessions, attendance, rest days, technique signed off.
        Load = "load",
        /// When she was away.
        Availability = "availability",
        /// What clinicians wrote: restrictions, clearance records, injuries, results of tests.
        Clinical = "clinical",
        /// What was found in her weeks, what staff did about it, and what was sent out of it.
        Findings = "findings",
        /// What her family consented to, and with whom her days are shared.
        Consents = "consents",
        /// Who read what of her.
        AccessTrail = "access_trail",
    }
}
