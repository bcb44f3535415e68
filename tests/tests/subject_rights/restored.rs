//! After a restore of an earlier backup the erasures are replayed from the file outside the database.

use std::path::Path;
use std::process::Command;

use crate::*;

/// Keeps the database as it is, and puts it back: the server is stopped meanwhile.
struct Backup {
    tables: Vec<u8>,
}

/// Runs a program of PostgreSQL on the server's database.
fn postgres(program: &str, url: &str, arguments: &[&str]) -> Vec<u8> {
    let output = Command::new(program)
        .args(arguments)
        .args(["--dbname", url])
        .output()
        .expect(program);
    assert!(
        output.status.success(),
        "{program}: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    output.stdout
}

impl Backup {
    fn of(server: &Server, database: Database) -> Self {
        let tables = match database {
            Database::Sqlite => {
                let to = server.folder().join("backup");
                server.rows(&format!("VACUUM INTO '{}'", to.display()));
                std::fs::read(to).expect("the backup")
            }
            Database::Postgres => postgres(
                "pg_dump",
                &server.superuser_url(),
                &["--clean", "--if-exists"],
            ),
        };
        Self { tables }
    }

    fn restore(&self, server: &Server, database: Database) {
        match database {
            Database::Sqlite => {
                let url = server.database_url();
                let file = Path::new(url.trim_start_matches("sqlite://"));
                for more in ["-wal", "-shm"] {
                    let _ = std::fs::remove_file(format!("{}{more}", file.display()));
                }
                std::fs::write(file, &self.tables).expect("the database");
            }
            Database::Postgres => {
                let file = server.folder().join("backup.sql");
                std::fs::write(&file, &self.tables).expect("the backup");
                let file = file.to_string_lossy().into_owned();
                postgres(
                    "psql",
                    &server.superuser_url(),
                    &[
                        "--no-psqlrc",
                        "--quiet",
                        "--set",
                        "ON_ERROR_STOP=1",
                        "--file",
                        &file,
                    ],
                );
            }
        }
    }
}

on_both_databases! {
    async fn what_cannot_be_written_down_outside_is_counted_until_it_is(database: Database) {
        let world = world(Server::start(database).await).await;
        let file = world.server.folder().join("erasures.jsonl");
        std::fs::create_dir(&file).expect("a folder in the file's place");
        let lead = world.club.as_role("privacy_lead");
        let erasure = format!("athletes/{}/erasure", world.mara.athlete.id());
        lead.post(erasure, json!({ "reason": "asked_by_athlete" })).await.expect(200);
        assert!(lead.get("erasures").await.expect(200)["items"][0]["filed_at"].is_null());
        let metrics = world.server.anonymous().get("/metrics").await.expect(200).text();
        assert!(metrics.contains("plimsoll_erasures_unfinished 2\n"), "{metrics}");

        std::fs::remove_dir(&file).expect("the folder");
        let output = world.server.run(&["erasures", "finish"]);
        assert_eq!(String::from_utf8_lossy(&output.stdout), "nothing is left to be done\n");
        let lines = std::fs::read_to_string(&file).expect("the file");
        assert_eq!(lines.lines().count(), 2, "one a key");
        assert!(lines.contains(world.mara.athlete.id()));
    }

    async fn who_was_erased_is_erased_again(database: Database) {
        let mut world = world(Server::start(database).await).await;
        let lead = world.club.as_role("privacy_lead");
        let copy = format!("athletes/{}/copy?purpose=leaving", world.mara.athlete.id());
        let backup = Backup::of(&world.server, database);
        let erasure = format!("athletes/{}/erasure", world.mara.athlete.id());
        lead.post(erasure, json!({ "reason": "asked_by_athlete" })).await.expect(200);
        let entries = lead.get("erasures").await.expect(200);
        let entry = &entries["items"][0];
        assert!(entry["filed_at"].is_string() && entry["cleaned_at"].is_string(), "{}", entries.text());
        assert_eq!((&entry["athlete_id"], &entry["reason"]), (&json!(world.mara.athlete.id()), &json!("asked_by_athlete")));
        let file = world.server.folder().join("erasures.jsonl");
        let lines = std::fs::read_to_string(&file).expect("the file");
        assert_eq!(lines.lines().count(), 2, "one a key");
        assert!(lines.contains(world.mara.athlete.id()) && !lines.contains(world.mara.prefix));

        world.server.stop();
        backup.restore(&world.server, database);
        world.server.restart().await;
        let back = lead.get(&copy).await.expect(200).text();
        assert!(back.contains(&world.mara.hers[0]), "she is back with the backup");
        let name = file.to_string_lossy().into_owned();
        let replay = |file: &str| {
            let output = world.server.run(&["erasures", "replay", file]);
            let (out, err) = (String::from_utf8_lossy(&output.stdout).into_owned(), String::from_utf8_lossy(&output.stderr).into_owned());
            (out, err, output.status.code())
        };
        let (said, errors, code) = replay(&name);
        assert_eq!(code, Some(0), "{said} {errors}");
        assert!(said.contains(world.mara.athlete.id()) && said.contains(" rows erased"), "{said}");
        lead.get(&copy).await.expect_problem(404, "not_found");
        let again = lead.get("erasures").await.expect(200);
        for field in ["erasure_id", "at", "reason", "erased"] {
            assert_eq!(again["items"][0][field], entry[field], "{field}");
        }
        let (said, errors, code) = replay(&name);
        assert_eq!((said.contains("nothing is left"), code), (true, Some(0)), "{said} {errors}");
        assert_eq!(lead.get("erasures").await.expect(200)["items"].as_array().map(Vec::len), Some(2));

        let torn = world.server.folder().join("torn.jsonl");
        std::fs::write(&torn, format!("{}\n{lines}", &lines[..40])).expect("a file");
        let (said, errors, code) = replay(&torn.to_string_lossy());
        assert_eq!(code, Some(1));
        assert!(errors.contains("line 1 is not an erasure") && said.contains("nothing is left"), "{said} {errors}");
    }
}
