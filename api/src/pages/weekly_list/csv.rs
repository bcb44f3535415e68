//! The weekly list as CSV (RFC 4180): a column a field of the JSON answer, named by the field's path.
//!
//! One row an entry, then one row an athlete of the week ahead (`ahead.…`), then one row a flag that was
//! corrected after the close (`correction.withdrawn.…` and so on). What belongs to the list as a whole
//! stands on every row; a list without any is one row, so that its note is not lost.

use serde_json::Value;

use crate::error::Problem;
use crate::pages::rows::{self, Column, at};
use crate::routes::weeks::WeeklyListAnswer;

/// The list of the entries.
const ENTRIES: &str = "entries";

/// Columns of an entry, before its lists.
const ENTRY: &[&str] = &[
    "display_name",
    "athlete_id",
    "finding",
    "certainty",
    "sentence",
    "week_load_au.point",
    "week_load_au.low",
    "week_load_au.high",
    "limit_au.point",
    "limit_au.low",
    "limit_au.high",
    "over_by_au.point",
    "over_by_au.low",
    "over_by_au.high",
    "ratio.kind",
    "ratio.point",
    "ratio.low",
    "ratio.high",
    "monotony.point",
    "monotony.low",
    "monotony.high",
    "rule.code",
    "rule.policy_version",
    "rule.limit",
    "rule.source_note",
    "own_highest.week",
    "own_highest.load_au",
    "own_highest.weeks_used",
    "change_from_own_highest.au",
    "change_from_own_highest.pct.point",
    "change_from_own_highest.pct.low",
    "change_from_own_highest.pct.high",
    "change_from_own_highest.reason",
    "returning.absence.from",
    "returning.absence.to",
    "returning.absence.days",
    "returning.week",
    "returning.from",
    "returning.to",
    "returning.step",
    "returning.load_au.point",
    "returning.load_au.low",
    "returning.load_au.high",
    "returning.ceiling_au.point",
    "returning.ceiling_au.low",
    "returning.ceiling_au.high",
    "returning.binding",
    "returning.pre_absence_week_au",
    "returning.weeks_used",
    "returning.share_of_pre_absence_pct",
    "returning.four_week_mean_pct",
    "reason",
    "first_ratio_date",
    "usual.label",
    "usual.week_load_au.low",
    "usual.week_load_au.high",
    "usual.ratio.kind",
    "usual.ratio.low",
    "usual.ratio.high",
    "usual_week.weeks_used",
    "usual_week.mean_au",
    "usual_week.standard_deviation_au",
    "usual_week.z",
    "usual_week.median_au",
    "usual_week.median_deviation_au",
    "usual_week.robust_z",
    "rating_note",
    "age_note",
    "flag_id",
    "flag_version",
    "acknowledged.action",
    "acknowledged.note",
    "acknowledged.by",
    "acknowledged.role",
    "acknowledged.at",
];

/// The lists of an entry, how long each can be, and the fields of its elements.
const LISTS: &[(&str, usize, &[&str])] = &[
    ("made_up_of", 7, &["setting", "au"]),
    (
        "missing",
        plimsoll_domain::missing::MOST,
        &[
            "event_id",
            "starts_at",
            "setting",
            "kind",
            "minutes",
            "settles_above_au",
            "rules_out_below_au",
        ],
    ),
    ("also", 3, &["rule", "certainty"]),
];

/// A flag that was corrected.
const CORRECTED: &[&str] = &["display_name", "athlete_id", "rule", "cause", "flag_id"];

/// The lists beside the entries whose elements have rows of their own, and the fields of these.
const ROWS: &[(&str, &[&str])] = &[
    (
        "ahead",
        &[
            "display_name",
            "athlete_id",
            "rule",
            "certainty",
            "sentence",
            "planned_au.low",
            "planned_au.high",
            "limit_au.low",
            "limit_au.high",
            "over_by_au.low",
            "over_by_au.high",
            "planned_sessions",
            "without_intended_rpe",
        ],
    ),
    ("correction.withdrawn", CORRECTED),
    ("correction.raised", CORRECTED),
    ("correction.changed", CORRECTED),
];

/// Columns of the list as a whole.
const WHOLE: &[&str] = &[
    "squad_id",
    "week",
    "date",
    "complete",
    "closed_at",
    "late",
    "corrected_at",
    "correction.at",
    "correction.sentence",
    "as_of",
    "policy_version",
    "not_listed",
    "nothing_logged",
    "mostly_unlogged.expected_sessions",
    "mostly_unlogged.unlogged_sessions",
    "mostly_unlogged.athletes",
    "mostly_unlogged.sentence",
    "settings_not_shared",
    "note",
    "caution",
    "ratio_note",
];

/// The file.
///
/// # Errors
/// An internal one, where writing to memory fails.
pub fn write(answer: &WeeklyListAnswer) -> Result<Vec<u8>, Problem> {
    let list = serde_json::to_value(answer).map_err(|error| Problem::internal(&error))?;
    let own = entry_columns().into_iter().chain(listed_columns());
    rows::write(&own.collect::<Vec<_>>(), &rows_of(&list), (&list, WHOLE))
}

fn entry_columns() -> Vec<Column> {
    let plain = ENTRY.iter().map(|path| (*path).to_owned());
    let listed = LISTS.iter().flat_map(|(list, most, fields)| {
        let of_place = move |place| {
            let fields = fields.iter();
            fields.map(move |field| format!("{list}.{place}.{field}"))
        };
        (0..*most).flat_map(of_place)
    });
    let paths = plain.chain(listed);
    paths.map(|path| Column::own(ENTRIES, path)).collect()
}

/// Columns of the elements that have rows of their own.
fn listed_columns() -> impl Iterator<Item = Column> {
    let lists = ROWS.iter();
    lists.flat_map(|(list, fields)| fields.iter().map(|field| Column::of(list, field)))
}

/// What has a row, with the list it is of.
fn rows_of(list: &Value) -> Vec<(&'static str, &Value)> {
    let lists = std::iter::once(ENTRIES).chain(ROWS.iter().map(|(list, _)| *list));
    let rows = lists.flat_map(|name| {
        let elements = at(list, name).as_array();
        elements.into_iter().flatten().map(move |one| (name, one))
    });
    rows.collect()
}
