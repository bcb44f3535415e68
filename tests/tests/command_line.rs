//! The commands, as an operator and club IT run them.

use std::process::Output;

use e2e::on_both_databases;

fn stdout(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).expect("UTF-8")
}

fn stderr(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).expect("UTF-8")
}

const ROWS: &str = "\
external_id,athlete_external_id,started_at,minutes,rpe,setting,kind,given_at,note
a-1,P-07,2026-09-07T17:30:00+02:00,90,6,club,practice,2026-09-07T19:25:00+02:00,=1+1
a-2,P-07,2026-09-08T16:00:00+02:00,45,11,prescribed_home,strength,2026-09-08T17:00:00+02:00,
a-3,P-99,2026-09-08T16:00:00+02:00,45,5,prescribed_home,strength,2026-09-08T17:00:00+02:00,
a-4,P-07,2026-09-12T11:00:00+02:00,80,8.5,club,game,2026-09-12T13:00:00+02:00,two courts
";

on_both_databases! {
    async fn what_is_exported_changes_nothing_when_it_is_imported_again(database: Database) {
        let server = e2e::Server::start(database).await;
        let club = server.club("Havneby Handball").await;
        let squad = club.squad("U16").await;
        squad.athlete("P-07").await;
        let id = club.id().to_owned();
        let file = server.folder().join("season.csv");
        std::fs::write(&file, ROWS).expect("a file");
        let path = file.to_str().expect("a path");
        let import = |path: &str, more: &[&str]| {
            let mut arguments =
                vec!["import", "sessions", path, "--club", id.as_str(), "--source", "paper"];
            arguments.extend(more);
            server.run(&arguments)
        };

        let trial = import(path, &["--dry-run"]);
        assert_eq!(trial.status.code(), Some(1), "{}", stderr(&trial));
        assert!(stdout(&trial).contains("2 would be accepted, 0 unchanged, 2 rejected"));

        let first = import(path, &[]);
        assert_eq!(first.status.code(), Some(1), "two rows are wrong");
        let said = stdout(&first);
        for part in [
            "row 2: rpe_out_of_range /rpe, given 11, allowed 0 to 10 in steps of 0.5",
            "row 3: unknown_person /athlete_external_id, given \"P-99\"",
            "2 accepted, 0 unchanged, 2 rejected",
        ] {
            assert!(said.contains(part), "{said}");
        }

        for format in ["csv", "ndjson"] {
            let out = server.folder().join(format!("out.{format}"));
            let out = out.to_str().expect("a path");
            let export = server.run(&[
                "export", "sessions", "--club", &id, "--format", format, "--out", out,
            ]);
            assert!(export.status.success(), "{}", stderr(&export));
            let text = std::fs::read_to_string(out).expect("an export");
            assert!(text.contains("a-4") && text.contains("1+1"), "{text}");
            assert_eq!(text.contains("'=1+1"), format == "csv", "{text}");
            let again = import(out, &[]);
            assert!(again.status.success(), "{}", stdout(&again));
            assert!(stdout(&again).contains("0 accepted, 2 unchanged, 0 rejected"));
        }
    }

    async fn check_says_what_is_in_order(database: Database) {
        let server = e2e::Server::start(database).await;
        let check = server.run(&["check"]);
        assert!(check.status.success(), "{}", stderr(&check));
        for line in ["ok settings", "ok database", "ok migrations 0 pending", "ok clock"] {
            assert!(stdout(&check).contains(line), "{}", stdout(&check));
        }
        let migrate = server.run(&["migrate", "--check"]);
        assert_eq!((migrate.status.code(), stdout(&migrate).trim()), (Some(0), "up to date"));
    }

    async fn wrong_usage_ends_with_two(database: Database) {
        let server = e2e::Server::start(database).await;
        for wrong in [
            &["nonsense"][..],
            &["close-week"],
            &["close-week", "--week", "2026-W54"],
            &["token", "--role", "queen"],
            &["import", "sessions"],
        ] {
            assert_eq!(server.run(wrong).status.code(), Some(2), "{wrong:?}");
        }
    }
}
