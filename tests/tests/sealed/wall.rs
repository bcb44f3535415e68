//! The octets of the database hold nothing of what was planted.

use std::fs;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;

use crate::*;

/// Whatever a reader of the database's files finds: on SQLite the files with their log, on PostgreSQL every column of every row, in
/// which octets are hexadecimal digits.
fn raw(server: &Server, database: Database) -> String {
    match database {
        Database::Sqlite => {
            let files = fs::read_dir(server.folder()).expect("the server's folder");
            let paths = files.map(|file| file.expect("a file").path());
            let ours = paths.filter(|path| path.to_string_lossy().contains("plimsoll.sqlite"));
            let octets = ours.flat_map(|path| fs::read(path).expect("a file of the database"));
            octets.map(char::from).collect()
        }
        Database::Postgres => {
            let tables = server.rows("SELECT tablename FROM pg_tables WHERE schemaname = 'public'");
            let rows = tables.iter().flat_map(|table| {
                server.rows(&format!("SELECT one::text FROM \"{}\" AS one", table[0]))
            });
            rows.flatten().collect::<Vec<_>>().join("\n")
        }
    }
}

/// Whether these octets are there, as they are or in hexadecimal digits. Each octet of a file is a sign of the text, so that the
/// library's search is to be had.
fn holds(raw: &str, what: &[u8]) -> bool {
    let hex: String = what.iter().map(|octet| format!("{octet:02x}")).collect();
    let octets: String = what.iter().copied().map(char::from).collect();
    raw.contains(&octets) || raw.contains(&hex)
}

on_both_databases! {
    async fn no_octet_of_the_database_tells_what_is_private(database: Database) {
        let server = Server::start(database).await;
        let (_writes, secrets) = plant(&server).await;
        for column in COLUMNS {
            let (all, open) = values(&server, database, column, 1);
            assert_ne!(all, "0", "{column} is empty");
            assert_eq!(open, "0", "of {column}");
        }
        let raw = raw(&server, database);
        for text in PLANTED {
            assert!(!holds(&raw, text.as_bytes()), "{text} is readable");
        }
        for secret in &secrets {
            let octets = STANDARD.decode(secret.trim_start_matches("whsec_")).expect("base64");
            assert!(!holds(&raw, &octets), "a secret is readable");
            assert!(!holds(&raw, secret.as_bytes()), "a secret is readable as it was told");
        }
        // The search finds what is there: a name is needed for searching and is not sealed.
        assert!(holds(&raw, b"Havneby Handball") && holds(&raw, b"P-07"));
    }
}
