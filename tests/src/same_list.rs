//! That a page and a file say what the JSON says, sentence by sentence and digit by digit.

use serde_json::Value;

/// What a page tells in its own way, or does not need: times are told in the club's zone.
const TOLD_OTHERWISE: [&str; 4] = ["starts_at", "event_id", "athlete_id", "athletes"];

/// Lists of a weekly list whose elements have a row each in the file; those of the first have columns without its name.
const LIST_ROWS: [&str; 5] = [
    "entries",
    "ahead",
    "correction.withdrawn",
    "correction.raised",
    "correction.changed",
];

/// The same of a history; all have columns with their names.
const HISTORY_ROWS: [&str; 14] = [
    "restrictions",
    "weeks",
    "since_return",
    "share_of_pre_absence",
    "tests",
    "injuries",
    "pain_reports",
    "sign_offs",
    "absences",
    "flags",
    "clearance_records",
    "not_known.days",
    "not_known.not_shared",
    "not_included",
];

/// Asserts that every text and number of the list stands on the page and in its column of the file. Says how many.
pub fn assert_same_list(list: &Value, page: &str, file: &str) -> usize {
    assert_same(list, page, file, &LIST_ROWS, 0)
}

/// Asserts the same of a history.
pub fn assert_same_history(history: &Value, page: &str, file: &str) -> usize {
    assert_same(history, page, file, &HISTORY_ROWS, 0)
}

/// The same of a squad's day; who is expected at what has rows of its own, which are counted alone.
pub fn assert_same_day(day: &Value, page: &str, file: &str) -> usize {
    let mut day = day.clone();
    let mut expected = 0;
    // Read at another instant than page and file.
    day["as_of"] = Value::Null;
    for athlete in day["athletes"].as_array_mut().into_iter().flatten() {
        expected += athlete["expected_at"].as_array().map_or(0, Vec::len);
        athlete["expected_at"] = Value::Null;
    }
    assert_same(&day, page, file, &["athletes", "sessions"], expected)
}

/// Asserts that every text and number of an answer stands on its page. Says how many.
pub fn assert_on_page(answer: &Value, page: &str) -> usize {
    let mut count = 0;
    leaves("", answer, &mut |path, said| {
        assert!(stands(page, said), "{path}: {said} is not on the page");
        count += 1;
    });
    count
}

/// The elements of `lists` have a row each in the file, those of the first under their plain names.
fn assert_same(
    answer: &Value,
    page: &str,
    file: &str,
    lists: &[&'static str],
    more_rows: usize,
) -> usize {
    let mut rows = csv::Reader::from_reader(file.as_bytes());
    let header = rows.headers().expect("a header").clone();
    let rows: Vec<_> = rows.records().map(|row| row.expect("a row")).collect();
    let elements: Vec<_> = lists
        .iter()
        .flat_map(|list| elements(answer, list))
        .collect();
    assert_eq!(
        rows.len(),
        (elements.len() + more_rows).max(1),
        "one row each"
    );
    let cell = |row: usize, path: &str| {
        let column = header.iter().position(|name| name == path);
        let column = column.unwrap_or_else(|| panic!("no column {path}"));
        rows[row][column].to_owned()
    };
    let mut count = 0;
    let mut check = |row: usize, path: &str, said: &str| {
        assert_eq!(cell(row, path).trim_start_matches('\''), said, "{path}");
        if !TOLD_OTHERWISE.iter().any(|name| path.ends_with(name)) {
            assert!(stands(page, said), "{path}: {said} is not on the page");
        }
        count += 1;
    };
    leaves("", answer, &mut |path, said| {
        let of_row = |list: &str| {
            path.strip_prefix(list)
                .is_some_and(|rest| rest.starts_with('.'))
        };
        if !lists.iter().any(|list| of_row(list)) {
            check(0, path, said);
        }
    });
    for (row, (list, element)) in elements.into_iter().enumerate() {
        let name = if list == lists[0] { "" } else { list };
        leaves(name, element, &mut |path, said| check(row, path, said));
    }
    count
}

/// The elements that have a row each, with the list they are of.
fn elements<'a>(
    list: &'a Value,
    rows: &'static str,
) -> impl Iterator<Item = (&'static str, &'a Value)> {
    let elements = rows.split('.').fold(list, |value, name| &value[name]);
    let elements = elements.as_array().into_iter().flatten();
    elements.map(move |element| (rows, element))
}

/// Every text and number under a path; lists of ids as the file has them, in one cell.
fn leaves(path: &str, value: &Value, found: &mut impl FnMut(&str, &str)) {
    match value {
        Value::Object(fields) => {
            for (name, value) in fields {
                let below = format!("{path}.{name}");
                leaves(below.trim_start_matches('.'), value, found);
            }
        }
        Value::Array(values) if values.iter().any(Value::is_object) => {
            for (place, value) in values.iter().enumerate() {
                leaves(&format!("{path}.{place}"), value, found);
            }
        }
        Value::Array(ids) => {
            let ids: Vec<&str> = ids.iter().filter_map(Value::as_str).collect();
            if !ids.is_empty() {
                found(path, &ids.join(" "));
            }
        }
        Value::String(text) => found(path, text),
        Value::Number(number) => found(path, &number.as_f64().expect("a number").to_string()),
        Value::Null | Value::Bool(_) => {}
    }
}

/// Whether a text stands on a page; a number as a whole one, a code as words.
fn stands(page: &str, said: &str) -> bool {
    let text = said
        .replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;");
    if said.parse::<f64>().is_ok() {
        return is_whole_number(page, said);
    }
    page.contains(&text) || page.contains(&text.replace('_', " "))
}

fn is_whole_number(page: &str, number: &str) -> bool {
    let part_of_one = |c: char| c.is_ascii_digit() || c == '-';
    page.match_indices(number).any(|(at, _)| {
        let before = page[..at].chars().next_back();
        let mut after = page[at + number.len()..].chars();
        let next = after.next();
        let fraction = next == Some('.') && after.next().is_some_and(|c| c.is_ascii_digit());
        !before.is_some_and(|c| part_of_one(c) || c == '.')
            && !next.is_some_and(part_of_one)
            && !fraction
    })
}
