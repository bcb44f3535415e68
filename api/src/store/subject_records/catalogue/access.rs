//! Who read what of her.

use plimsoll_domain::RecordClass;

use super::column::{document, id, instant, left_out, text};
use super::{BY_ROLE, Erasing, Hers, SAME_CLUB, Table};

pub(super) const TABLES: &[Table] = &[
    Table {
        name: "audit_reads",
        means: "a look at her record",
        class: RecordClass::AccessTrail,
        hers: Hers::Own,
        erasing: Erasing::Stays(
            "the list of who read what is only ever added to; it holds ids and roles, and nothing that was read",
        ),
        order: &["audit_id"],
        columns: &[
            left_out("club_id", SAME_CLUB),
            id("audit_id", "the id of the row"),
            instant("at", "when"),
            left_out("subject", BY_ROLE),
            left_out("client", "the program of whoever read"),
            text("acting_role", "in which role"),
            text("purpose", "what for, where that was asked").or_none(),
            // Null in rows that are about nobody; none of them is hers.
            id("athlete_id", "her id in this club").or_none(),
            text("action", "what was read"),
            text("outcome", "what came of it"),
            left_out("request_id", "tells lines of a log apart"),
            left_out("number", "counts the reads of the whole club"),
            left_out("link", "keeps the list from being changed"),
        ],
    },
    Table {
        name: "erasures",
        means: "an erasure of her records",
        class: RecordClass::AccessTrail,
        hers: Hers::Own,
        erasing: Erasing::Stays(
            "it is the proof that her records were erased; it holds ids and counts",
        ),
        order: &["erasure_id"],
        columns: &[
            left_out("club_id", SAME_CLUB),
            id("erasure_id", "the id of the erasure"),
            id("athlete_id", "her id in this club"),
            instant("at", "when"),
            left_out("by_subject", BY_ROLE),
            text("acting_role", "in which role"),
            text("reason", "why"),
            document("counts", "how many rows of each table were erased"),
            instant("filed_at", "when it was written down outside the database").or_none(),
            instant(
                "cleaned_at",
                "when the database was made to forget the bytes too",
            )
            .or_none(),
            left_out("seq", "counts changes of the club, not of her"),
        ],
    },
];
