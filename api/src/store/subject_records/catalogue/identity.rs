//! Who she is, and where she belongs.

use plimsoll_domain::RecordClass;

use super::column::{day, document, id, instant, left_out, text, truth, whole};
use super::{BY_ROLE, Erasing, Hers, SAME_CLUB, SEQUENCE, Table, versions};

const MEMBERSHIPS: Table = Table {
    name: "memberships",
    means: "a time in a squad",
    class: RecordClass::Identity,
    hers: Hers::Own,
    erasing: Erasing::Deleted,
    order: &["membership_id", "version"],
    columns: versions![
        id("membership_id", "the id of the membership"),
        id("squad_id", "the squad"),
        id("athlete_id", "her id in this club"),
        text("role", "as what she belongs to the squad"),
        day("from_date", "the first day"),
        day("to_date", "the last day").or_none(),
        truth("is_primary", "whether it is her primary squad"),
    ],
};

pub(super) const TABLES: &[Table] = &[
    Table {
        name: "athletes",
        means: "the athlete as this club knows her",
        class: RecordClass::Identity,
        hers: Hers::Own,
        erasing: Erasing::Deleted,
        order: &["athlete_id"],
        columns: &[
            left_out("club_id", SAME_CLUB),
            id("athlete_id", "her id in this club"),
            instant("created_at", "when she was first entered"),
        ],
    },
    Table {
        name: "athlete_versions",
        means: "what the roster says of her",
        class: RecordClass::Identity,
        hers: Hers::Own,
        erasing: Erasing::Deleted,
        order: &["version"],
        columns: versions![
            id("athlete_id", "her id in this club"),
            text("external_id", "her id in the club's own lists").or_none(),
            text("source", "the program that the entry came from"),
            text("display_name", "her name"),
            left_out("name_key", "her name once more, written for searching"),
            day("birth_date", "her birth date").or_none(),
            day("joined_on", "her first day in the club"),
            text("time_zone", "her time zone, where it is not the club's").or_none(),
        ],
    },
    MEMBERSHIPS,
    Table {
        name: "guardian_links",
        means: "whom a roster names as her guardian",
        class: RecordClass::Identity,
        hers: Hers::Own,
        erasing: Erasing::Deleted,
        order: &["guardian_link_id", "version"],
        columns: versions![
            id("guardian_link_id", "the id of the entry"),
            id("athlete_id", "her id in this club"),
            text("external_id", "the guardian's id in the roster"),
            day("from_date", "the first day"),
            day("to_date", "the last day").or_none(),
        ],
    },
    Table {
        name: "second_copies",
        means: "whether she was entered a second time under another key",
        class: RecordClass::Identity,
        hers: Hers::OwnAnd("of_athlete_id"),
        erasing: Erasing::Deleted,
        order: &["second_copy_id", "version"],
        columns: versions![
            id("second_copy_id", "the id of the entry"),
            id("athlete_id", "the later record"),
            id("of_athlete_id", "the record that was there before"),
            text("decision", "open, same_person or two_people"),
            document(
                "carried",
                "what was carried over from the one to the other, by id"
            )
            .or_none(),
        ],
    },
    Table {
        name: "directory_entries",
        means: "what a directory that keeps the roster says of her",
        class: RecordClass::Identity,
        hers: Hers::Own,
        erasing: Erasing::Deleted,
        order: &["entry_id", "version"],
        columns: versions![
            id("entry_id", "the id of the entry, which is hers"),
            id("athlete_id", "her id in this club").or_none(),
            left_out("squad_id", "an entry about her is about no squad"),
            text("user_name", "what the directory knows her by").or_none(),
            left_out("user_name_key", "the same once more, written for searching"),
            text(
                "external_id",
                "the directory's id of somebody who is no athlete"
            )
            .or_none(),
            text("display_name", "the name of somebody who is no athlete").or_none(),
            text("roles", "what she is in the club, with commas between"),
            truth("active", "whether she is still there"),
        ],
    },
    Table {
        name: "retention_holds",
        means: "why nothing of hers was erased by itself",
        class: RecordClass::Identity,
        hers: Hers::Own,
        erasing: Erasing::Deleted,
        order: &["hold_id", "version"],
        columns: versions![
            id("hold_id", "the id of the hold"),
            id("athlete_id", "her id in this club"),
            text("reason", "what for"),
            day("until_date", "its last day").or_none(),
            text("lifted", "why it was lifted").or_none(),
        ],
    },
    Table {
        name: "squads",
        means: "a squad that she was in",
        class: RecordClass::Identity,
        hers: Hers::Through {
            column: "squad_id",
            of: &MEMBERSHIPS,
        },
        erasing: Erasing::Stays(
            "a squad is the club's, and says nothing of her without the membership",
        ),
        order: &["squad_id"],
        columns: &[
            left_out("club_id", SAME_CLUB),
            id("squad_id", "the id of the squad"),
            text("name", "what the squad is called"),
            text("external_id", "its id in the club's own lists").or_none(),
            left_out("version", "counts changes of the squad, not of her"),
            left_out("created_at", "about the squad, not about her"),
            left_out("updated_at", "about the squad, not about her"),
            left_out("seq", "counts changes of the club, not of her"),
        ],
    },
];
