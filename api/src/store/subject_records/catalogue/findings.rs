//! What was found in her weeks, what was done about it, and what was sent of it.

use plimsoll_domain::RecordClass;

use super::column::{Form, day, document, id, instant, left_out, sealed, text, whole};
use super::{BY_ROLE, Erasing, Hers, SAME_CLUB, SEQUENCE, Table};

const THROUGH_FLAGS: Hers = Hers::Through {
    column: "flag_id",
    of: &FLAGS,
};

pub(in crate::store::subject_records) const FLAGS: Table = Table {
    name: "flags",
    means: "a finding in one of her weeks",
    class: RecordClass::Findings,
    hers: Hers::Own,
    erasing: Erasing::Deleted,
    order: &["flag_id"],
    columns: &[
        left_out("club_id", SAME_CLUB),
        id("flag_id", "the id of the finding"),
        id("athlete_id", "her id in this club"),
        text("rule", "the rule of the club that it comes from"),
        day("monday", "the Monday of the week"),
        instant("created_at", "when it was first raised"),
    ],
};

const NOTICES: Table = Table {
    name: "notices",
    means: "a notice that named a finding of hers by its id",
    class: RecordClass::Findings,
    hers: Hers::Notified,
    erasing: Erasing::TakenOut("payload", Form::Document),
    order: &["notice_id"],
    columns: &[
        left_out("club_id", SAME_CLUB),
        id("notice_id", "the id of the notice"),
        text("kind", "what it tells of"),
        day("monday", "the Monday of the week"),
        instant("created_at", "when it was written"),
        left_out("payload", "ids of findings, which may be of others too"),
    ],
};

pub(super) const TABLES: &[Table] = &[
    FLAGS,
    Table {
        name: "flag_versions",
        means: "how a finding was judged, each time it was",
        class: RecordClass::Findings,
        hers: THROUGH_FLAGS,
        erasing: Erasing::Deleted,
        order: &["flag_id", "version"],
        columns: &[
            left_out("club_id", SAME_CLUB),
            id("flag_id", "the id of the finding"),
            whole("version", "which judgement of it this is, from 1"),
            text("state", "whether it stands"),
            text("certainty", "how sure that is"),
            whole(
                "policy_version",
                "which version of the club's policy it was judged by",
            ),
            text("cause", "what made it be judged"),
            document("body", "the figures that it was judged on"),
            instant("received_at", "when it was judged"),
            instant("superseded_at", "when it was judged again").or_none(),
            left_out("seq", SEQUENCE),
            instant(
                "hidden_at",
                "from when on it is not shown to anybody any more",
            )
            .or_none(),
        ],
    },
    Table {
        name: "flag_acknowledgements",
        means: "what staff did about a finding",
        class: RecordClass::Findings,
        hers: THROUGH_FLAGS,
        erasing: Erasing::Deleted,
        order: &["flag_id", "acknowledgement_id"],
        columns: &[
            left_out("club_id", SAME_CLUB),
            id("flag_id", "the id of the finding"),
            id("acknowledgement_id", "the id of the record"),
            whole("flag_version", "which judgement was seen"),
            id("squad_id", "for which squad").or_none(),
            text("action", "what was done"),
            sealed(
                "note",
                ("flag_acknowledgements.note", "acknowledgement_id"),
                "a note",
            )
            .or_none(),
            left_out("by_subject", BY_ROLE),
            text("acting_role", "in which role it was done"),
            instant("received_at", "when it was received"),
            left_out("seq", SEQUENCE),
        ],
    },
    NOTICES,
    Table {
        name: "deliveries",
        means: "such a notice on its way to a recipient",
        class: RecordClass::Findings,
        hers: Hers::Through {
            column: "notice_id",
            of: &NOTICES,
        },
        erasing: Erasing::TakenOut("body", Form::Text),
        order: &["notice_id", "delivery_id"],
        columns: &[
            left_out("club_id", SAME_CLUB),
            id("delivery_id", "the id of the delivery"),
            id("notice_id", "the notice"),
            left_out("endpoint_id", "names the recipient, who is another"),
            left_out(
                "body",
                "the same ids as the notice, which may be of others too",
            ),
            text("state", "how it stands"),
            left_out("due_at", "when it is tried next; about the sending alone"),
            left_out("lease_owner", "about the sending alone"),
            left_out("lease_until", "about the sending alone"),
            whole("attempts", "how often it was tried"),
            left_out("last_status", "what the recipient's machine answered"),
            instant("created_at", "when it was made"),
            left_out("waiting_for", "about the sending alone"),
        ],
    },
];
