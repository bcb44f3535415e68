//! The commands, as an operator and club IT run them.

use std::path::Path;

use e2e::{Database, Server, assert_ends, on_both_databases};

fn text(path: &Path) -> &str {
    path.to_str().expect("a path in UTF-8")
}

/// An issuer whose keys nobody serves.
const ISSUER_AWAY: &str = r#"
[[auth.issuers]]
issuer = "https://id.example"
audiences = ["plimsoll"]
jwks_url = "https://127.0.0.1:1/jwks.json"
"#;

on_both_databases! {
    async fn a_week_is_closed_once(database: Database) {
        let server = Server::start(database).await;
        let (first, second) = (server.club("Havneby").await, server.club("Skovby").await);
        let close = |arguments: &[&str]| server.run(&[&["close-week", "--week"], arguments].concat());
        assert_ends(&close(&["2026-W45", "--club", first.id()]), 0, "2026-W45 closed\n");
        let rest = close(&["2026-W45"]);
        assert_ends(&rest, 0, &format!("{} 2026-W45 was closed before\n", first.id()));
        assert_ends(&rest, 0, &format!("{} 2026-W45 closed\n", second.id()));
        assert_ends(&close(&["2026-W46"]), 1, "is not over yet in 2 club(s)");
    }

    async fn check_says_what_is_in_order(database: Database) {
        let server = Server::setup(database).without_mail().start().await;
        let check = server.run(&["check"]);
        for line in ["ok settings\n", "ok database ", "ok migrations 0 pending\n", "ok keys ", "ok clock 2026-11-09T"] {
            assert_ends(&check, 0, line);
        }
        assert_ends(&server.run(&["migrate", "--check"]), 0, "up to date\n");
    }
}

#[tokio::test]
async fn check_says_what_is_wrong_and_changes_nothing() {
    let server = Server::setup(Database::Sqlite).without_mail().start().await;
    let folder = server.folder();
    let no_database = folder.join("notes.txt");
    std::fs::write(&no_database, "not a database, by far").expect("a file");
    let sqlite = |path: &str| format!("sqlite://{}", folder.join(path).display());
    let wrong = [
        (
            "PLIMSOLL_DATABASE_URL",
            sqlite("absent/a.db"),
            "wrong database: ",
        ),
        (
            "PLIMSOLL_DATABASE_URL",
            sqlite("notes.txt"),
            "wrong database: ",
        ),
        (
            "PLIMSOLL_DATABASE_URL",
            "postgres://a:b@127.0.0.1:1/c".into(),
            "wrong database: ",
        ),
        (
            "PLIMSOLL_LOCAL_KEY",
            "absent/local.key".into(),
            "wrong keys: ",
        ),
        (
            "PLIMSOLL_LOCAL_KEY",
            text(&no_database).into(),
            "wrong keys: ",
        ),
    ];
    for (setting, value, line) in &wrong {
        let check = server.run_with(&[(setting, value)], &["check"]);
        assert_ends(&check, 1, line);
        assert_ends(&check, 1, "1 of the above must be put right");
        let said = String::from_utf8_lossy(&check.stdout);
        assert!(!said.contains("a:b"), "a password was printed: {said}");
        let lines = said.lines();
        assert_eq!(
            lines.filter(|line| line.starts_with("wrong ")).count(),
            1,
            "{said}"
        );
    }
    let fresh = [
        ("PLIMSOLL_DATABASE_URL", &*sqlite("fresh.db")),
        ("PLIMSOLL_LOCAL_KEY", "fresh.key"),
    ];
    assert_ends(
        &server.run_with(&fresh, &["check"]),
        0,
        "will be made at start",
    );
    assert!(!folder.join("fresh.db").exists() && !folder.join("fresh.key").exists());
    let settings = folder.join("issuer.toml");
    std::fs::write(&settings, ISSUER_AWAY).expect("a file");
    let check = server.run(&["check", "--config", text(&settings)]);
    assert_ends(&check, 1, "wrong keys: https://id.example: ");
    assert_ends(&check, 1, "look at jwks_url");
    let nobody = [("PLIMSOLL_LOCAL_ISSUER", "off"), ("PLIMSOLL_CLOCK", "")];
    assert_ends(
        &server.run_with(&nobody, &["check"]),
        1,
        "wrong keys: no issuer is set",
    );
}

/// S20b, and one event that cannot be taken.
const CALENDAR: &str = "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nBEGIN:VEVENT\r\nUID:practice\r\n\
    DTSTART;TZID=Europe/Copenhagen:20261013T173000\r\nDTEND;TZID=Europe/Copenhagen:20261013T190000\r\n\
    RRULE:FREQ=WEEKLY;BYDAY=TU,TH;UNTIL=20261105T235959Z\r\nEXDATE;TZID=Europe/Copenhagen:20261022T173000\r\n\
    SUMMARY:Practice U16\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nUID:practice\r\n\
    RECURRENCE-ID;TZID=Europe/Copenhagen:20261027T173000\r\nDTSTART;TZID=Europe/Copenhagen:20261028T180000\r\n\
    DTEND;TZID=Europe/Copenhagen:20261028T193000\r\nSUMMARY:Practice U16\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nUID:away\r\n\
    DTSTART;TZID=Nowhere/Town:20261028T180000\r\nDURATION:PT1H\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n";

#[tokio::test]
async fn what_a_calendar_comes_to_is_told() {
    let server = Server::start(Database::Sqlite).await;
    let file = server.folder().join("hall.ics");
    std::fs::write(&file, CALENDAR).expect("a file");
    let calendar = |last: &str, zone: &str| {
        let span = ["--from", "2026-10-13", "--to", last, "--zone", zone];
        server.run(&[&["calendar", text(&file)][..], &span].concat())
    };
    let told = calendar("2026-11-05", "Europe/Copenhagen");
    let instances = String::from_utf8_lossy(&told.stdout).into_owned();
    let lines: Vec<&str> = instances
        .lines()
        .filter_map(|line| line.get(4..20))
        .collect();
    let expected = [
        "2026-10-13 17:30",
        "2026-10-15 17:30",
        "2026-10-20 17:30",
        "2026-10-28 18:00",
        "2026-10-29 17:30",
        "2026-11-03 17:30",
        "2026-11-05 17:30",
    ];
    assert_eq!(lines[..7], expected, "{instances}");
    assert_eq!(instances.matches(" Europe/Copenhagen 90 min ").count(), 7);
    assert_ends(&told, 1, "unknown_time_zone: Nowhere/Town\n");
    assert_ends(
        &calendar("2026-10-12", "Europe/Copenhagen"),
        1,
        "invalid_window",
    );
    assert_ends(&calendar("2026-11-05", "Nowhere/Town"), 2, "Nowhere/Town");
}

#[tokio::test]
async fn wrong_usage_ends_with_two() {
    let server = Server::start(Database::Sqlite).await;
    let club = ["--club", e2e::FREE_ID];
    for wrong in [
        &["nonsense"][..],
        &["close-week"],
        &["close-week", "--week", "2026-W54"],
        &["token", "--role", "queen"],
        &["import", "sessions"],
        &[&["import", "sessions", "a.csv", "--source", ""], &club[..]].concat(),
        &[
            &[
                "export",
                "sessions",
                "--from",
                "2026-11-02",
                "--to",
                "2026-11-01",
            ],
            &club[..],
        ]
        .concat(),
    ] {
        assert_ends(&server.run(wrong), 2, "");
    }
}

#[tokio::test]
async fn a_document_that_differs_is_shown_where() {
    let server = Server::start(Database::Sqlite).await;
    let file = server.folder().join("openapi.json");
    let check = ["openapi", "--check", text(&file)];
    std::fs::write(&file, server.run(&["openapi"]).stdout).expect("a file");
    assert_ends(&server.run(&check), 0, "");
    std::fs::write(&file, "{}\n").expect("a file");
    assert_ends(&server.run(&check), 1, "differs from the program at line 1");
}
