//! What is in the database, read past the program.

use std::collections::BTreeMap;
use std::process::{Command, Stdio};

/// Columns are separated by tabs, rows by lines, on both databases.
pub(crate) fn rows(under: &[String], database_url: &str, query: &str) -> Vec<Vec<String>> {
    let said = match database_url.strip_prefix("sqlite://") {
        Some(path) => run(under, &["python3", "-c", ON_SQLITE, path, query]),
        None => run(under, &on_postgres(database_url, query)),
    };
    let row = |line: &str| line.split('\t').map(str::to_owned).collect();
    said.lines().map(row).collect()
}

/// Every row as text, by table, in order.
pub(crate) fn tables(under: &[String], database_url: &str) -> BTreeMap<String, Vec<String>> {
    let said = match database_url.strip_prefix("sqlite://") {
        Some(path) => run(under, &["python3", "-c", ALL_OF_SQLITE, path]),
        None => run(under, &on_postgres(database_url, ALL_OF_POSTGRES)),
    };
    let mut tables: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for line in said.lines() {
        let (table, row) = line.split_once('\t').expect("a table's name and a row");
        let rows = tables.entry(table.to_owned()).or_default();
        rows.extend((!row.is_empty()).then(|| row.to_owned()));
    }
    tables.values_mut().for_each(|rows| rows.sort_unstable());
    tables
}

fn on_postgres<'a>(database_url: &'a str, query: &'a str) -> [&'a str; 9] {
    [
        "psql",
        "--no-psqlrc",
        "--no-align",
        "--tuples-only",
        "--field-separator=\t",
        "--command",
        query,
        "--dbname",
        database_url,
    ]
}

/// What a program says, run as the words of another.
fn run(under: &[String], reader: &[&str]) -> String {
    let mut words = under.to_vec();
    words.extend(reader.iter().map(|word| (*word).to_owned()));
    let output = Command::new(&words[0])
        .args(&words[1..])
        // Rows of all clubs, whoever looks.
        .env("PGOPTIONS", "-c plimsoll.every_club=on")
        .stdin(Stdio::null())
        .output();
    let output = output.unwrap_or_else(|error| panic!("{words:?}: {error}"));
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{words:?}: {said}");
    String::from_utf8(output.stdout).expect("text is UTF-8")
}

const ON_SQLITE: &str = "import sqlite3, sys\n\
    database = sqlite3.connect(sys.argv[1], timeout=60)\n\
    for row in database.execute(sys.argv[2]):\n\
    \x20   print(*row, sep='\\t')\n\
    database.commit()\n";

/// A table without rows has one empty line.
const ALL_OF_SQLITE: &str = "import sqlite3, sys\n\
    database = sqlite3.connect(sys.argv[1], timeout=60)\n\
    for (name,) in database.execute(\"SELECT name FROM sqlite_schema WHERE type = 'table'\").fetchall():\n\
    \x20   print(name, '', sep='\\t')\n\
    \x20   for row in database.execute(f'SELECT * FROM {name}'):\n\
    \x20       print(name, repr([value.hex() if isinstance(value, bytes) else value for value in row]), sep='\\t')\n";

const ALL_OF_POSTGRES: &str = "SELECT tablename, row FROM pg_tables, LATERAL (SELECT '' UNION ALL \
    SELECT translate(one::text, E'\\n\\t', '  ') FROM unnest(xpath('/table/row', \
    query_to_xml(format('SELECT * FROM %I', tablename), true, false, ''))) one) rows (row) WHERE schemaname = 'public'";
