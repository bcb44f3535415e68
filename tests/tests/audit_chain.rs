//! The audit list is a chain: who can write to the database but has not the key changes nothing unnoticed.

use std::path::Path;

use e2e::{Club, Database, Identity, Server, assert_ends, on_both_databases, until};
use serde_json::{Value, json};

/// What whoever owns the database does first: the triggers that keep the list from being changed are gone.
fn drop_triggers(server: &Server, database: Database) {
    let (names, of_table): (&[&str], _) = match database {
        Database::Sqlite => (
            &[
                "audit_reads_no_update",
                "audit_reads_no_delete",
                "audit_reads_no_replace",
            ],
            "",
        ),
        Database::Postgres => (&["audit_reads_kept"], " ON audit_reads"),
    };
    for name in names {
        server.rows(&format!("DROP TRIGGER {name}{of_table}"));
    }
}

/// A club whose audit list has 12 rows.
async fn club_with_reads(server: &Server) -> Club {
    let club = server.club("Havneby Handball").await;
    let athlete = club.squad("U16").await.athlete("P-07").await;
    let coach = club.as_role("coach");
    for _ in 0..12 {
        coach
            .get(format!("athletes/{}/load", athlete.id()))
            .await
            .expect(200);
    }
    club
}

/// What `audit verify` says of the club, and its exit code.
fn verify(server: &Server, club: &Club) -> (String, i32) {
    let output = server.run(&["audit", "verify", "--club", club.id()]);
    let said = String::from_utf8(output.stdout).expect("text");
    let line = said
        .trim()
        .strip_prefix(club.id())
        .expect("the club's id")
        .trim();
    (line.to_owned(), output.status.code().expect("an exit code"))
}

#[track_caller]
fn assert_whole(server: &Server, club: &Club, rows: u32) {
    let (line, code) = verify(server, club);
    assert!(
        line.starts_with(&format!("whole, {rows} rows, ")) && code == 0,
        "{line}"
    );
}

/// What someone does to the list, and where it shows.
const TAMPERS: [(&str, &str); 18] = [
    (
        "UPDATE audit_reads SET subject = 'nobody' WHERE number = 7",
        "row 7 ",
    ),
    (
        "UPDATE audit_reads SET client = 'other' WHERE number = 1",
        "row 1 ",
    ),
    (
        "UPDATE audit_reads SET acting_role = 'operator' WHERE number = 12",
        "row 12 ",
    ),
    (
        "UPDATE audit_reads SET purpose = 'asked' WHERE number = 3",
        "row 3 ",
    ),
    (
        "UPDATE audit_reads SET athlete_id = NULL WHERE number = 4",
        "row 4 ",
    ),
    (
        "UPDATE audit_reads SET action = 'read_events' WHERE number = 5",
        "row 5 ",
    ),
    (
        "UPDATE audit_reads SET outcome = 'refused' WHERE number = 6",
        "row 6 ",
    ),
    (
        "UPDATE audit_reads SET request_id = '' WHERE number = 8",
        "row 8 ",
    ),
    (
        "UPDATE audit_reads SET at = (SELECT min(at) FROM audit_reads) WHERE number = 9",
        "row 9 ",
    ),
    (
        "UPDATE audit_reads SET link = (SELECT link FROM audit_reads WHERE number = 1) WHERE number = 2",
        "row 2 ",
    ),
    (
        "UPDATE audit_reads SET number = NULL, link = NULL WHERE number = 10",
        "row 10 is missing",
    ),
    (
        "DELETE FROM audit_reads WHERE number = 6",
        "row 6 is missing",
    ),
    (
        "DELETE FROM audit_reads WHERE number = 1",
        "row 1 is missing",
    ),
    (
        "DELETE FROM audit_reads WHERE number > 9",
        "row 10 is missing",
    ),
    ("DELETE FROM audit_reads", "row 1 is missing"),
    ("DELETE FROM audit_heads", "the end of the chain is gone"),
    (
        "UPDATE audit_heads SET number = 9",
        "row 9 is not the one the chain is said to end with",
    ),
    (
        "UPDATE audit_heads SET link = (SELECT link FROM audit_reads WHERE number = 1)",
        "row 12 is not the one",
    ),
];

on_both_databases! {
    async fn every_change_to_the_list_is_found(database: Database) {
        let server = Server::start(database).await;
        let club = club_with_reads(&server).await;
        assert_whole(&server, &club, 12);
        drop_triggers(&server, database);
        for table in ["audit_reads", "audit_heads"] {
            server.rows(&format!("CREATE TABLE kept_{table} AS SELECT * FROM {table}"));
        }
        for (tamper, expected) in TAMPERS {
            server.rows(tamper);
            let (line, code) = verify(&server, &club);
            assert!(line.starts_with("broken: ") && line.contains(expected) && code == 1, "{tamper}: {line}");
            for table in ["audit_reads", "audit_heads"] {
                server.rows(&format!("DELETE FROM {table}"));
                server.rows(&format!("INSERT INTO {table} SELECT * FROM kept_{table}"));
            }
        }
        assert_whole(&server, &club, 12);
    }

    async fn a_row_slipped_in_is_found(database: Database) {
        let server = Server::start(database).await;
        let club = club_with_reads(&server).await;
        // The id of the last row but for its end, so that it comes later than the first of the chain.
        server.rows("CREATE TABLE slipped AS SELECT * FROM audit_reads WHERE number = 12");
        server.rows("UPDATE slipped SET number = NULL, link = NULL");
        let other_id = match database {
            Database::Sqlite => "UPDATE slipped SET audit_id = CAST(substr(audit_id, 1, 14) || x'0000' AS BLOB)",
            Database::Postgres => "UPDATE slipped SET audit_id = overlay(audit_id::text placing '000000000000' from 25)::uuid",
        };
        server.rows(other_id);
        server.rows("INSERT INTO audit_reads SELECT * FROM slipped");
        let (line, code) = verify(&server, &club);
        assert!(line.contains("was added outside the chain") && code == 1, "{line}");
    }

    async fn two_servers_write_one_chain_and_a_crash_does_not_break_it(database: Database) {
        let mut server = Server::start(database).await;
        let club = club_with_reads(&server).await;
        let other = server.beside().await;
        let athlete = club.as_role("coach").get("athletes").await.expect(200)["items"][0]["athlete_id"].clone();
        let path = format!("athletes/{}/load", athlete.as_str().expect("an id"));
        let there = other.client(Identity::role("coach").club(club.id()), Some(club.id()));
        let here = club.as_role("coach");
        for _ in 0..20 {
            let (ours, theirs) = tokio::join!(here.get(&path), there.get(&path));
            ours.expect(200);
            theirs.expect(200);
        }
        server.kill();
        server.restart().await;
        here.get(&path).await.expect(200);
        assert_whole(&server, &club, 12 + 40 + 1);
    }

    async fn another_key_is_refused(database: Database) {
        let server = Server::start(database).await;
        club_with_reads(&server).await;
        let output = server.run_with(&[("PLIMSOLL_AUDIT_KEY", "other.key")], &["audit", "verify"]);
        assert_ends(&output, 2, "begun with another key");
    }

    async fn signed_ends_show_what_was_cut_off(database: Database) {
        let mut server = Server::setup(database).setting("PLIMSOLL_JOBS", "on").start().await;
        let club = club_with_reads(&server).await;
        // The job looks at the start, and then every hour.
        server.restart().await;
        let file = server.folder().join("audit-heads.jsonl");
        let kept = signed(&file, 1).await;
        assert_eq!((&kept[0]["club_id"], &kept[0]["number"]), (&json!(club.id()), &json!(12)));
        let line = logged(&server, "the end of an audit list was signed").await;
        assert!(line.contains(club.id()) && line.contains(kept[0]["link"].as_str().expect("a link")), "{line}");
        assert!(!line.contains("coach"), "{line}");
        server.restart().await;
        let (said, code) = verify_with(&server, &["--heads", "audit-heads.jsonl"]);
        assert!(said.contains("whole, 12 rows") && code == 0, "{said}");
        assert_eq!(signed(&file, 1).await.len(), 1, "what has not moved is not signed again");

        drop_triggers(&server, database);
        server.rows("DELETE FROM audit_reads WHERE number > 9");
        server.rows("UPDATE audit_heads SET number = 9, link = (SELECT link FROM audit_reads WHERE number = 9)");
        assert_whole(&server, &club, 9);
        let (said, code) = verify_with(&server, &["--heads", "audit-heads.jsonl"]);
        assert!(said.contains("broken: row 10 is missing: the end was cut off, for row 12 was signed at ") && code == 1, "{said}");
        server.restart().await;
        assert_eq!(signed(&file, 2).await[1]["number"], 9);
        // The file is written first.
        logged(&server, "does not go on from where it was signed before").await;

        // A list that was removed whole is missed too.
        server.rows("DELETE FROM audit_reads");
        server.rows("DELETE FROM audit_heads");
        let (said, code) = verify_with(&server, &["--heads", "audit-heads.jsonl"]);
        assert!(said.contains("broken: row 1 is missing") && code == 1, "{said}");
    }

    async fn the_public_half_of_the_key_is_enough_to_check(database: Database) {
        let server = Server::start(database).await;
        let club = club_with_reads(&server).await;
        let (heads, code) = run(&server, &["audit", "heads"]);
        assert_eq!((heads.lines().count(), code), (1, 0), "{heads}");
        let (pem, _) = run(&server, &["audit", "public-key"]);
        let write = |name: &str, text: &str| std::fs::write(server.folder().join(name), text).expect("a file");
        write("kept.jsonl", &heads);
        write("sign.pem", &pem);
        // As on another machine, where the file with the private half is not.
        let elsewhere = [("PLIMSOLL_AUDIT_SIGN_KEY", "absent.key")];
        let with_key = ["audit", "verify", "--heads", "kept.jsonl", "--public-key", "sign.pem"];
        let output = server.run_with(&elsewhere, &with_key);
        assert!(output.status.success(), "{output:?}");
        let output = server.run_with(&elsewhere, &with_key[..4]);
        assert_ends(&output, 2, "--public-key");
        assert!(!server.folder().join("absent.key").exists(), "checking makes no key");

        let (line, _) = run(&server, &["audit", "heads", "--club", club.id()]);
        write("kept.jsonl", &format!("{heads}{}", line.replace("\"number\":12", "\"number\":11")));
        let (said, code) = verify_with(&server, &["--heads", "kept.jsonl"]);
        assert!(said.starts_with("heads line 2 is not what was signed\n") && said.contains("whole, 12 rows") && code == 1, "{said}");
        let (_, code) = verify_with(&server, &["--heads", "absent.jsonl"]);
        assert_eq!(code, 1);
    }
}

/// What a command of the program says, and its exit code.
fn run(server: &Server, arguments: &[&str]) -> (String, i32) {
    let output = server.run(arguments);
    let said = String::from_utf8(output.stdout).expect("text");
    (said, output.status.code().expect("an exit code"))
}

fn verify_with(server: &Server, arguments: &[&str]) -> (String, i32) {
    run(server, &[&["audit", "verify"], arguments].concat())
}

/// The heads in a file once there are so many.
async fn signed(file: &Path, count: usize) -> Vec<Value> {
    until(async || {
        let text = std::fs::read_to_string(file).unwrap_or_default();
        if text.lines().count() < count {
            return Err(text);
        }
        let heads = text.lines().map(serde_json::from_str);
        Ok(heads.collect::<Result<_, _>>().expect("heads"))
    })
    .await
}

/// A line of the log that says this, which is written after what it tells of.
async fn logged(server: &Server, said: &str) -> String {
    until(async || {
        let log = server.log();
        let line = log.lines().find(|line| line.contains(said));
        line.map(str::to_owned)
            .ok_or(format!("no line says {said:?}: {log}"))
    })
    .await
}
