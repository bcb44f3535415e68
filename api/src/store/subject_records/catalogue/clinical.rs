//! What clinicians wrote and measured.

use plimsoll_domain::RecordClass;

use super::column::{day, document, id, instant, left_out, sealed, text, truth, whole};
use super::{BY_ROLE, Erasing, Hers, SAME_CLUB, SEQUENCE, Table, versions};

const QUESTION: &str = "question_id";
const RESTRICTION: &str = "restriction_id";

pub(super) const TABLES: &[Table] = &[
    Table {
        name: "pain_reports",
        means: "what she said about pain on a day",
        class: RecordClass::Clinical,
        hers: Hers::Own,
        erasing: Erasing::Deleted,
        order: &["pain_report_id", "version"],
        columns: versions![
            id("pain_report_id", "the id of the report"),
            id("athlete_id", "her id in this club"),
            day("felt_on", "which day it is about"),
            text("area", "where it hurts; nothing where nothing does").or_none(),
            text("side", "on which side").or_none(),
        ],
    },
    Table {
        name: "questions",
        means: "what she or a guardian asked about a session or an item of a programme, and what was answered",
        class: RecordClass::Clinical,
        hers: Hers::Own,
        erasing: Erasing::Deleted,
        order: &[QUESTION, "version"],
        columns: versions![
            id(QUESTION, "the id of the question"),
            id("athlete_id", "her id in this club"),
            document("about", "what it is about"),
            truth("hurts", "whether something hurt"),
            sealed("text", ("questions.text", QUESTION), "what was asked"),
            text("asked_by", "in which role it was asked"),
            instant("asked_at", "when it was asked"),
            truth("is_open", "whether it waits for somebody"),
            sealed("reply", ("questions.reply", QUESTION), "what was answered").or_none(),
        ],
    },
    Table {
        name: "restrictions",
        means: "what a clinician limited",
        class: RecordClass::Clinical,
        hers: Hers::Own,
        erasing: Erasing::Deleted,
        order: &[RESTRICTION, "version"],
        columns: versions![
            id(RESTRICTION, "the id of the restriction"),
            id("athlete_id", "her id in this club"),
            day("from_date", "the first day"),
            day("until_date", "the last day").or_none(),
            day("review_date", "from when on it is looked at again"),
            text("availability", "how far she takes part"),
            whole("max_minutes", "minutes of a session, at most").or_none(),
            whole("max_week_au", "load of a week in AU, at most").or_none(),
            whole("max_contacts", "contacts of a session, at most").or_none(),
            truth("no_games", "whether games are out"),
            truth("no_jumps", "whether jumps are out"),
            truth("no_throws", "whether throws are out"),
            truth("no_contact", "whether contact is out"),
            sealed(
                "instruction",
                ("restrictions.instruction", RESTRICTION),
                "what coaches are told"
            )
            .or_none(),
            sealed(
                "note",
                ("restrictions.note", RESTRICTION),
                "the clinician's note"
            )
            .or_none(),
            text("written_clearance", "which written clearance it waits for").or_none(),
            sealed(
                "reason",
                ("restrictions.reason", RESTRICTION),
                "why it was taken back"
            )
            .or_none(),
        ],
    },
    Table {
        name: "clearance_records",
        means: "what a clinician decided",
        class: RecordClass::Clinical,
        hers: Hers::Own,
        erasing: Erasing::Deleted,
        order: &["clearance_id"],
        columns: &[
            left_out("club_id", SAME_CLUB),
            id("clearance_id", "the id of the decision"),
            id("athlete_id", "her id in this club"),
            id(RESTRICTION, "the restriction that it ends or upholds").or_none(),
            text("decision", "the decision"),
            sealed(
                "scope",
                ("clearance_records.scope", "clearance_id"),
                "what it covers",
            ),
            left_out(
                "name",
                "the name of the clinician, who is told by the kind of licence",
            ),
            text("licence_type", "the kind of licence of who decided"),
            day("decided_on", "the day of the decision"),
            sealed(
                "document_reference",
                ("clearance_records.document_reference", "clearance_id"),
                "where the document is kept",
            ),
            instant("received_at", "when it was received"),
            left_out("seq", SEQUENCE),
            left_out("author", BY_ROLE),
            text("acting_role", "in which role it was entered"),
        ],
    },
    Table {
        name: "test_results",
        means: "the trials of a physical test",
        class: RecordClass::Clinical,
        hers: Hers::Own,
        erasing: Erasing::Deleted,
        order: &["test_result_id", "version"],
        columns: versions![
            id("test_result_id", "the id of the result"),
            id("athlete_id", "her id in this club"),
            text("test", "which test"),
            text("unit", "the unit of its results"),
            text("better", "whether more or less is better"),
            text("side", "which side"),
            document("trials", "each trial, in thousandths of the unit"),
            day("tested_on", "the day of the test"),
            left_out("tester", "the name of who measured, who is told by role"),
            text("phase", "when in her course it was"),
        ],
    },
    Table {
        name: "injuries",
        means: "which side was hurt and when",
        class: RecordClass::Clinical,
        hers: Hers::Own,
        erasing: Erasing::Deleted,
        order: &["injury_id", "version"],
        columns: versions![
            id("injury_id", "the id of the record"),
            id("athlete_id", "her id in this club"),
            text("side", "which side"),
            day("injured_on", "when it was hurt"),
            day("surgery_on", "the day of an operation").or_none(),
        ],
    },
];
