//! What is in the database, read past the program.

use std::process::{Command, Stdio};

/// Columns are separated by tabs, rows by lines, on both databases.
pub(crate) fn rows(under: &[String], database_url: &str, query: &str) -> Vec<Vec<String>> {
    let mut words = under.to_vec();
    let reader: &[&str] = match database_url.strip_prefix("sqlite://") {
        Some(path) => &["python3", "-c", ON_SQLITE, path, query],
        None => &[
            "psql",
            "--no-psqlrc",
            "--no-align",
            "--tuples-only",
            "--field-separator=\t",
            "--command",
            query,
            "--dbname",
            database_url,
        ],
    };
    words.extend(reader.iter().map(|word| (*word).to_owned()));
    let output = Command::new(&words[0])
        .args(&words[1..])
        .stdin(Stdio::null())
        .output();
    let output = output.unwrap_or_else(|error| panic!("{words:?}: {error}"));
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{query}: {said}");
    let text = String::from_utf8(output.stdout).expect("text is UTF-8");
    let row = |line: &str| line.split('\t').map(str::to_owned).collect();
    text.lines().map(row).collect()
}

const ON_SQLITE: &str = "import sqlite3, sys\n\
    database = sqlite3.connect(sys.argv[1], timeout=60)\n\
    for row in database.execute(sys.argv[2]):\n\
    \x20   print(*row, sep='\\t')\n\
    database.commit()\n";
