//! That a page and a file say what the JSON says, sentence by sentence and digit by digit.

use serde_json::Value;

/// What a page tells in its own way, or does not need: times are told in the club's zone.
const TOLD_OTHERWISE: [&str; 4] = ["starts_at", "event_id", "athlete_id", "athletes"];

/// Asserts that every text and number of the list stands on the page and in its column of the file. Says how many.
pub fn assert_same_list(list: &Value, page: &str, file: &str) -> usize {
    let mut rows = csv::Reader::from_reader(file.as_bytes());
    let header = rows.headers().expect("a header").clone();
    let rows: Vec<_> = rows.records().map(|row| row.expect("a row")).collect();
    let entries = list["entries"].as_array().expect("entries");
    assert_eq!(rows.len(), entries.len().max(1), "one row an entry");
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
    for (name, value) in list.as_object().expect("a list") {
        if name != "entries" {
            leaves(name, value, &mut |path, said| check(0, path, said));
        }
    }
    for (row, entry) in entries.iter().enumerate() {
        for (name, value) in entry.as_object().expect("an entry") {
            leaves(name, value, &mut |path, said| check(row, path, said));
        }
    }
    count
}

/// Every text and number under a path; lists of ids as the file has them, in one cell.
fn leaves(path: &str, value: &Value, found: &mut impl FnMut(&str, &str)) {
    match value {
        Value::Object(fields) => {
            for (name, value) in fields {
                leaves(&format!("{path}.{name}"), value, found);
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
