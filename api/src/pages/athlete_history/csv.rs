//! An athlete's history as CSV (RFC 4180): a column a field of the JSON answer, named by the field's path.
//!
//! One row an element of each list: weeks, weeks since the absence, parts of the load, tests and so on. What belongs to the history as a
//! whole stands on every row.

use serde_json::Value;

use crate::error::Problem;
use crate::pages::rows::{self, Column, at};
use crate::routes::history::HistoryAnswer;

/// A list whose elements have a row each: its path, the fields of an element, and the lists in it with how long each can be.
struct Rows {
    path: &'static str,
    fields: &'static [&'static str],
    lists: &'static [(&'static str, usize, &'static [&'static str])],
}

const fn plain(path: &'static str, fields: &'static [&'static str]) -> Rows {
    Rows {
        path,
        fields,
        lists: &[],
    }
}

const ROWS: &[Rows] = &[
    plain(
        "restrictions",
        &[
            "from",
            "review_date",
            "until",
            "availability",
            "instruction",
        ],
    ),
    Rows {
        path: "weeks",
        fields: &[
            "week",
            "days",
            "load_au.point",
            "load_au.low",
            "load_au.high",
            "minutes",
            "sessions",
            "expected",
            "unlogged",
            "days_absent",
        ],
        lists: &[(
            "by_kind",
            6,
            &[
                "kind",
                "load_au.point",
                "load_au.low",
                "load_au.high",
                "sessions",
                "minutes",
                "unlogged",
            ],
        )],
    },
    plain(
        "since_return",
        &[
            "week",
            "from",
            "to",
            "step",
            "load_au.point",
            "load_au.low",
            "load_au.high",
            "ceiling_au.point",
            "ceiling_au.low",
            "ceiling_au.high",
            "binding",
            "over_by_au",
            "share_of_pre_absence_pct",
        ],
    ),
    plain(
        "share_of_pre_absence",
        &[
            "part",
            "before_au_week",
            "now_au_week.point",
            "now_au_week.low",
            "now_au_week.high",
            "before_count_week.mean",
            "before_count_week.at_least",
            "before_count_week.sessions_not_counted",
            "now_count_week.mean",
            "now_count_week.at_least",
            "now_count_week.sessions_not_counted",
            "share_pct.point",
            "share_pct.low",
            "share_pct.high",
            "share_pct.reason",
        ],
    ),
    Rows {
        path: "tests",
        fields: &[
            "test",
            "unit",
            "better",
            "tested_on",
            "involved_side",
            "symmetry_pct",
            "reason",
            "against_pre_injury_other_side_pct",
            "against_reason",
            "other_side_lost_pct",
            "days_since_injury",
            "days_since_surgery",
        ],
        lists: &[(
            "sides",
            3,
            &[
                "side",
                "value",
                "trials",
                "tester",
                "pre_injury_value",
                "pre_injury_tested_on",
                "of_itself_before_pct",
            ],
        )],
    },
    plain("pain_reports", &["date", "hurts", "area", "side"]),
    plain(
        "sign_offs",
        &["exercise", "signed_on", "by_role", "state", "next"],
    ),
    plain("injuries", &["side", "injured_on", "surgery_on"]),
    plain("absences", &["from", "to", "category"]),
    plain(
        "flags",
        &["flag_id", "week", "rule", "state", "certainty", "action"],
    ),
    plain(
        "clearance_records",
        &[
            "clearance_id",
            "decision",
            "scope",
            "name",
            "licence_type",
            "decided_on",
            "document_reference",
        ],
    ),
    plain("not_known.days", &["state", "days"]),
    plain("not_known.not_shared", &["organisation"]),
    plain("not_included", &["what", "why"]),
];

/// Columns of the history as a whole.
const WHOLE: &[&str] = &[
    "athlete_id",
    "display_name",
    "asked_by.role",
    "purpose",
    "span.from",
    "span.to",
    "as_of",
    "today",
    "policy_version",
    "not_known.unlogged_sessions",
    "not_known.settings_not_shared",
    "not_known.member_since",
    "not_known.span_au.point",
    "not_known.span_au.low",
    "not_known.span_au.high",
    "absence.from",
    "absence.to",
    "absence.days",
    "pre_absence.chronic_au_week",
    "pre_absence.weeks",
    "pre_absence.reason",
    "trials",
    "tests_note",
    "decision",
    "evidence",
    "caution",
    "record_note",
    "age_note",
    "note",
];

/// The file.
///
/// # Errors
/// An internal one, where writing to memory fails.
pub fn write(answer: &HistoryAnswer) -> Result<Vec<u8>, Problem> {
    let history = serde_json::to_value(answer).map_err(|error| Problem::internal(&error))?;
    let columns: Vec<Column> = ROWS.iter().flat_map(Rows::columns).collect();
    let elements: Vec<_> = ROWS.iter().flat_map(|rows| rows.of(&history)).collect();
    rows::write(&columns, &elements, (&history, WHOLE))
}

impl Rows {
    /// The elements of a history's list.
    fn of<'a>(&self, history: &'a Value) -> impl Iterator<Item = (&'static str, &'a Value)> {
        let path = self.path;
        let elements = at(history, path).as_array();
        elements.into_iter().flatten().map(move |one| (path, one))
    }

    /// The columns of an element.
    fn columns(&self) -> Vec<Column> {
        let fields = self.fields.iter().map(|field| (*field).to_owned());
        let listed = self.lists.iter().flat_map(|(list, most, fields)| {
            let of_place = move |place| {
                let fields = fields.iter();
                fields.map(move |field| format!("{list}.{place}.{field}"))
            };
            (0..*most).flat_map(of_place)
        });
        let paths = fields.chain(listed);
        paths.map(|path| Column::of(self.path, &path)).collect()
    }
}
