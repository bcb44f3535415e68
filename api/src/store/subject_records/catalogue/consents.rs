//! What her family consented to, and with whom her days are shared.

use plimsoll_domain::RecordClass;

use super::column::{day, document, half, id, instant, left_out, sealed, text, truth, whole};
use super::{BY_ROLE, Erasing, Hers, SAME_CLUB, SEQUENCE, Table, versions};

const CONSENTS: Table = Table {
    name: "consents",
    means: "what her family consented to",
    class: RecordClass::Consents,
    hers: Hers::Own,
    erasing: Erasing::Deleted,
    order: &["consent_id", "version"],
    columns: versions![
        id("consent_id", "the id of the consent"),
        id("athlete_id", "her id in this club"),
        text("given_by", "who gave it"),
        sealed("purpose", ("consents.purpose", "consent_id"), "what for"),
        document("data_classes", "to which classes of data"),
        text("recipient_role", "for whom in the club").or_none(),
        left_out(
            "recipient_club",
            "which other club it is, neither club is told"
        ),
        left_out("recipient_link", "a record of that other club"),
        instant("given_at", "when it was given"),
        instant("from_at", "from when on it holds"),
        instant("until_at", "until when").or_none(),
        text("text_version", "which version of the text was read"),
        sealed(
            "evidence",
            ("consents.evidence", "consent_id"),
            "where the signed form is kept"
        )
        .or_none(),
        instant("withdrawn_at", "when it was withdrawn").or_none(),
        text("withdrawn_by", "who withdrew it").or_none(),
        sealed(
            "withdrawal_evidence",
            ("consents.withdrawal_evidence", "consent_id"),
            "where the signed withdrawal is kept"
        )
        .or_none(),
    ],
};

pub(super) const TABLES: &[Table] = &[
    CONSENTS,
    Table {
        name: "shares",
        means: "a consent by which day totals go to another club",
        class: RecordClass::Consents,
        hers: Hers::Through {
            column: "consent_id",
            of: &CONSENTS,
        },
        erasing: Erasing::Deleted,
        order: &["consent_id"],
        columns: &[
            left_out("club_id", SAME_CLUB),
            id("consent_id", "the consent"),
            left_out("copied_seq", SEQUENCE),
        ],
    },
    Table {
        name: "sharing_links",
        means: "an organisation that she trains with elsewhere",
        class: RecordClass::Consents,
        hers: Hers::Own,
        erasing: Erasing::Deleted,
        order: &["link_id"],
        columns: &[
            left_out("club_id", SAME_CLUB),
            id("link_id", "the id of the record"),
            id("athlete_id", "her id in this club"),
            sealed(
                "organisation",
                ("sharing_links.organisation", "link_id"),
                "what her family calls it",
            ),
            left_out("code_hash", "keeps the code from being guessed"),
            instant("code_until", "until when the code was good"),
            instant("made_at", "when the organisation was named"),
            instant("linked_at", "when sharing began").or_none(),
            left_out("linked_seq", SEQUENCE),
            instant("ended_at", "when sharing ended").or_none(),
            instant(
                "left_at",
                "when her family said that she no longer trains there",
            )
            .or_none(),
            whole("version", "which version of the record this is, from 1"),
        ],
    },
    Table {
        name: "shared_day_totals",
        means: "a day's total that such an organisation shares",
        class: RecordClass::Consents,
        hers: Hers::Own,
        erasing: Erasing::Deleted,
        order: &["link_id", "date", "seq"],
        columns: &[
            left_out("club_id", SAME_CLUB),
            id("link_id", "the organisation"),
            id("athlete_id", "her id in this club"),
            day("date", "the day"),
            half("load_half", "load_au", "the load, in AU"),
            whole("minutes", "minutes of training"),
            instant("received_at", "when it was received"),
            instant("superseded_at", "when another total took its place").or_none(),
            left_out("seq", SEQUENCE),
        ],
    },
];
