//! Session reports from and to files, by the command line.

use std::path::{Path, PathBuf};
use std::process::Output;

use e2e::{Database, Server, assert_ends, on_both_databases};
use serde_json::{Value, json};

fn text(path: &Path) -> &str {
    path.to_str().expect("a path in UTF-8")
}

fn import(server: &Server, file: &Path, club: &str, more: &[&str]) -> Output {
    let fixed = ["import", "sessions", text(file), "--club", club];
    server.run(&[&fixed[..], &["--source", "paper"], more].concat())
}

fn export(server: &Server, club: &str, format: &str) -> PathBuf {
    let out = server.folder().join(format!("out.{format}"));
    let export = server.run(&[
        "export",
        "sessions",
        "--club",
        club,
        "--format",
        format,
        "--out",
        text(&out),
    ]);
    assert_ends(&export, 0, "");
    out
}

const ROWS: &str = "\
external_id,athlete_external_id,started_at,minutes,rpe,setting,kind,given_at,note
a-1,P-07,2026-09-07T17:30:00+02:00,90,6,club,practice,2026-09-07T19:25:00+02:00,=1+1
a-2,P-07,2026-09-08T16:00:00+02:00,45,11,prescribed_home,strength,2026-09-08T17:00:00+02:00,
a-3,P-99,2026-09-08T16:00:00+02:00,45,5,prescribed_home,strength,2026-09-08T17:00:00+02:00,
a-4,P-07,2026-09-12T11:00:00+02:00,80,8.5,club,game,2026-09-12T13:00:00+02:00,two courts
";

/// Reports with what is easily lost on the way through a file, one an hour from 8 o'clock on 3 November.
fn odd_reports() -> Vec<Value> {
    let odd = [
        json!({"external_id": " blanks "}),
        json!({"external_id": "=cmd", "note": "'quoted'"}),
        json!({"external_id": "'", "event_external_id": "-1 "}),
        json!({"note": "two\r\nlines, \"quoted\""}),
        json!({"external_id": "＝", "note": "\t=1"}),
        json!({"external_id": "no-zone", "started_at": "2026-11-04T10:00:00.25Z"}),
        json!({"external_id": "place", "started_at": "2026-11-05T10:00:00", "time_zone": "Atlantic/Faroe"}),
        json!({"external_id": "end", "minutes": null, "ended_at": "2026-11-03T15:29:29+01:00"}),
        json!({"external_id": "late", "started_at": "2026-10-01T17:00:00+02:00", "reason": "found on paper"}),
        json!({"external_id": "by", "given_by": "guardian", "basis": "took_part"}),
    ];
    let complete = |(hour, odd): (usize, Value)| {
        let mut report = json!({
            "athlete_external_id": "P-07", "started_at": format!("2026-11-03T{hour:02}:00:00+01:00"),
            "minutes": 30, "rpe": 5, "setting": "free", "kind": "other",
        });
        for (name, value) in odd.as_object().expect("an object") {
            report[name] = value.clone();
        }
        let fields = report.as_object_mut().expect("an object");
        fields.retain(|_, value| !value.is_null());
        report
    };
    (8..).zip(odd).map(complete).collect()
}

on_both_databases! {
    async fn rows_that_are_wrong_are_named_and_the_others_land(database: Database) {
        let server = Server::start(database).await;
        let club = server.club("Havneby Handball").await;
        club.squad("U16").await.athlete("P-07").await;
        let file = server.folder().join("season.csv");
        std::fs::write(&file, ROWS).expect("a file");

        let trial = import(&server, &file, club.id(), &["--dry-run"]);
        assert_ends(&trial, 1, "2 would be accepted, 0 unchanged, 2 rejected");
        let first = import(&server, &file, club.id(), &[]);
        for part in [
            "row 2: rpe_out_of_range /rpe, given 11, allowed 0 to 10 in steps of 0.5\n",
            "row 3: unknown_person /athlete_external_id, given \"P-99\"",
            "2 accepted, 0 unchanged, 2 rejected\n",
        ] {
            assert_ends(&first, 1, part);
        }
        for format in ["csv", "ndjson"] {
            let out = export(&server, club.id(), format);
            let exported = std::fs::read_to_string(&out).expect("an export");
            assert!(exported.contains("a-4"), "{exported}");
            assert_eq!(exported.contains("'=1+1"), format == "csv", "{exported}");
            assert_ends(&import(&server, &out, club.id(), &[]), 0, "0 accepted, 2 unchanged, 0 rejected");
        }
    }

    async fn what_is_exported_changes_nothing_when_it_is_imported_again(database: Database) {
        let server = Server::start(database).await;
        let club = server.club("Havneby Handball").await;
        club.squad("U16").await.athlete("P-07").await;
        let reports = odd_reports();
        let file = server.folder().join("odd.json");
        std::fs::write(&file, json!({ "sessions": reports }).to_string()).expect("a file");
        let all = reports.len();
        assert_ends(&import(&server, &file, club.id(), &[]), 0, &format!("{all} accepted"));
        for format in ["csv", "ndjson"] {
            let out = export(&server, club.id(), format);
            let again = import(&server, &out, club.id(), &[]);
            assert_ends(&again, 0, &format!("0 accepted, {all} unchanged, 0 rejected"));
        }
    }

    async fn an_unknown_club_is_named(database: Database) {
        let server = Server::start(database).await;
        let nobody = e2e::FREE_ID;
        let file = server.folder().join("none.csv");
        std::fs::write(&file, ROWS).expect("a file");
        let said = format!("no club has the id {nobody}");
        assert_ends(&import(&server, &file, nobody, &[]), 1, &said);
        assert_ends(&server.run(&["export", "sessions", "--club", nobody]), 1, &said);
        let close = ["close-week", "--week", "2026-W45", "--club", nobody];
        assert_ends(&server.run(&close), 1, &said);
    }
}

#[tokio::test]
async fn a_file_that_cannot_be_read_is_named() {
    let server = Server::start(Database::Sqlite).await;
    let club = server.club("Havneby Handball").await;
    let file = |name: &str, content: &[u8]| {
        let path = server.folder().join(name);
        std::fs::write(&path, content).expect("a file");
        path
    };
    let folder = server.folder().join("folder.ndjson");
    std::fs::create_dir(&folder).expect("a folder");
    for (path, code, part) in [
        (folder, 1, "folder.ndjson: "),
        (server.folder().join("absent.csv"), 1, "absent.csv: "),
        (file("rows.txt", b""), 2, "ends in .csv, .json or .ndjson"),
        (
            file("half.json", b"{\"sessions\": ["),
            1,
            "half.json: Not readable as JSON",
        ),
        (
            file("bytes.csv", b"rpe\n\xff\n"),
            1,
            "bytes.csv: Line 2 is not UTF-8",
        ),
        (
            file("bytes.ndjson", b"\n\xff\n{}\n"),
            1,
            "row 1: not_json, given",
        ),
        (
            file("twice.ndjson", b"{\"rpe\":1,\"rpe\":2}"),
            1,
            "row 1: duplicate_field /rpe",
        ),
    ] {
        assert_ends(&import(&server, &path, club.id(), &[]), code, part);
    }
}
