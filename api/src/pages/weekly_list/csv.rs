//! The weekly list as CSV (RFC 4180): one row an entry, a column a field of the JSON answer.
//!
//! A column is named by the field's path, `over_by_au.point`. What belongs to the list as a whole stands
//! on every row; a list without entries is one row, so that its note is not lost.

use serde_json::Value;

use crate::error::Problem;
use crate::pages::cell::cell;
use crate::routes::weeks::WeeklyListAnswer;

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
    "flag_id",
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

/// Columns of the list as a whole.
const WHOLE: &[&str] = &[
    "squad_id",
    "week",
    "date",
    "complete",
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
    let failed = |error: &dyn std::fmt::Display| Problem::internal(error);
    let list = serde_json::to_value(answer).map_err(|error| failed(&error))?;
    let of_entry = entry_columns();
    let names = of_entry
        .iter()
        .map(String::as_str)
        .chain(WHOLE.iter().copied());
    let mut file = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(Vec::new());
    file.write_record(names).map_err(|error| failed(&error))?;
    for entry in entries(&list) {
        let own = of_entry.iter().map(|path| cell(at(entry, path)));
        let whole = WHOLE.iter().map(|path| cell(at(&list, path)));
        let row = own.chain(whole);
        file.write_record(row).map_err(|error| failed(&error))?;
    }
    file.into_inner().map_err(|error| failed(&error))
}

fn entry_columns() -> Vec<String> {
    let plain = ENTRY.iter().map(|path| (*path).to_owned());
    let listed = LISTS.iter().flat_map(|(list, most, fields)| {
        let of_place = move |place| {
            let fields = fields.iter();
            fields.map(move |field| format!("{list}.{place}.{field}"))
        };
        (0..*most).flat_map(of_place)
    });
    plain.chain(listed).collect()
}

/// The entries; one that is null where there are none.
fn entries(list: &Value) -> &[Value] {
    match list["entries"].as_array() {
        Some(entries) if !entries.is_empty() => entries,
        _ => &[Value::Null],
    }
}

/// The value at a path; null where there is none.
fn at<'a>(value: &'a Value, path: &str) -> &'a Value {
    path.split('.').fold(value, |value, name| {
        let found = match name.parse::<usize>() {
            Ok(place) => value.get(place),
            Err(_) => value.get(name),
        };
        found.unwrap_or(&Value::Null)
    })
}
