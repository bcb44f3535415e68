//! Erasing all that is kept of an athlete: nothing is left in the database, its log, the outbox, kept answers or the log, and the
//! audit list still verifies.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use crate::*;

fn path(athlete: &Athlete) -> String {
    format!("athletes/{}/erasure", athlete.id())
}

fn asked() -> Value {
    json!({ "reason": "asked_by_guardian" })
}

async fn erase(club: &Club, athlete: &Athlete) -> Answer {
    club.as_role("privacy_lead")
        .post(path(athlete), asked())
        .await
}

/// The files that hold the database: of SQLite with its log, of PostgreSQL the folder of this database's tables.
fn files(server: &Server, database: Database) -> Vec<PathBuf> {
    let folder = match database {
        Database::Sqlite => server.folder().to_owned(),
        Database::Postgres => {
            let place = server.rows("SELECT current_setting('data_directory') || '/base/' || oid FROM pg_database WHERE datname = current_database()");
            Path::new(&place[0][0]).to_owned()
        }
    };
    let entries =
        std::fs::read_dir(&folder).unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
    let files = entries
        .map(|entry| entry.expect("a file").path())
        .filter(|path| path.is_file());
    let of_database = |path: &PathBuf| {
        database == Database::Postgres || path.to_string_lossy().contains("sqlite")
    };
    files.filter(of_database).collect()
}

/// Lets PostgreSQL write down what it holds in memory. SQLite's log is one of the files.
fn settle(server: &Server, database: Database) {
    if database == Database::Postgres {
        server.rows("CHECKPOINT");
    }
}

/// How often a word stands in the files of the database.
fn hits(server: &Server, database: Database, word: &str) -> usize {
    settle(server, database);
    let files = files(server, database).into_iter();
    files.map(|path| occurrences(&path, word)).sum()
}

fn occurrences(path: &Path, word: &str) -> usize {
    // A file of PostgreSQL may be gone by now.
    let octets = std::fs::read(path).unwrap_or_default();
    String::from_utf8_lossy(&octets).matches(word).count()
}

/// The tables with rows that name the athlete in any column, each with how many.
fn naming(server: &Server, database: Database, athlete: &Athlete) -> Vec<(String, String)> {
    let columns = match database {
        Database::Sqlite => {
            "SELECT t.name, c.name FROM sqlite_schema t, pragma_table_info(t.name) c WHERE t.type = 'table' ORDER BY 1"
        }
        Database::Postgres => {
            "SELECT table_name, column_name FROM information_schema.columns WHERE table_schema = 'public' ORDER BY 1"
        }
    };
    let mut of_table: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for row in server.rows(columns) {
        of_table
            .entry(row[0].clone())
            .or_default()
            .push(row[1].clone());
    }
    let id = athlete.id();
    let octets = id.replace('-', "").to_uppercase();
    let names = |column: &String| match database {
        Database::Sqlite => {
            format!("hex({column}) LIKE '%{octets}%' OR CAST({column} AS text) LIKE '%{id}%'")
        }
        Database::Postgres => format!("CAST({column} AS text) LIKE '%{id}%'"),
    };
    let counts = of_table.iter().map(|(table, columns)| {
        let condition = columns.iter().map(names).collect::<Vec<_>>().join(" OR ");
        format!("SELECT '{table}', count(*) FROM {table} WHERE {condition}")
    });
    let query = counts.collect::<Vec<_>>().join(" UNION ALL ");
    let found = server.rows(&query).into_iter().filter(|row| row[1] != "0");
    found.map(|row| (row[0].clone(), row[1].clone())).collect()
}

fn tables(found: &[(String, String)]) -> Vec<&str> {
    found.iter().map(|(table, _)| table.as_str()).collect()
}

on_both_databases! {
    async fn a103_nothing_is_left_of_her(database: Database) {
        let world = world(Server::start(database).await).await;
        let (server, club) = (&world.server, &world.club);
        let (mara, ida) = (&world.mara, &world.ida);
        assert!(hits(server, database, mara.prefix) > 10, "the words are in the files before");
        assert!(naming(server, database, &mara.athlete).len() > 17);
        let notices = club.as_role("club_admin").get("notices").await.expect(200);
        let tells_of_flags = |notices: &Answer| notices.text().matches("week_corrected").count();
        let told = tells_of_flags(&notices);
        let others_words = hits(server, database, ida.prefix);

        let erased = erase(club, &mara.athlete).await.expect(200);
        let rows = |table: &str| {
            let found = erased["erased"].as_array().expect("a list").iter().find(|one| one["table"] == table);
            found.and_then(|one| one["rows"].as_u64()).unwrap_or(0)
        };
        for table in ["athletes", "session_reports", "flags", "notices", "deliveries", "consents", "idempotency_keys", "events"] {
            assert!(rows(table) > 0, "{table}: {}", erased.text());
        }
        assert_eq!(hits(server, database, mara.prefix), 0, "in the files of the database");
        // Rows of hers that stay hold ids.
        let left = naming(server, database, &mara.athlete);
        let left = tables(&left);
        assert_eq!(left, ["audit_reads", "erasures"]);
        assert!(!server.log().contains(mara.prefix), "in the log");
        assert!(server.run(&["audit", "verify"]).status.success(), "the audit list");

        // Everybody else's is as it was.
        assert!(hits(server, database, ida.prefix) > others_words / 4);
        let other = format!("athletes/{}/copy?purpose=leaving", ida.athlete.id());
        let copy = club.as_role("privacy_lead").get(other).await.expect(200).text();
        assert!(ida.hers.iter().all(|word| copy.contains(word.as_str())));
        let notices = club.as_role("club_admin").get("notices").await.expect(200);
        assert_eq!(tells_of_flags(&notices), told, "a notice that tells of others too stays");
        let gone = format!("athletes/{}/copy?purpose=leaving", mara.athlete.id());
        club.as_role("privacy_lead").get(gone).await.expect_problem(404, "not_found");
        erase(club, &mara.athlete).await.expect_problem(404, "not_found");
        if database == Database::Postgres {
            let log = server.rows("SELECT current_setting('data_directory')")[0][0].clone() + "/pg_wal";
            let files = std::fs::read_dir(log).expect("the log").map(|file| file.expect("a file").path());
            let words: usize = files.map(|path| occurrences(&path, mara.prefix)).sum();
            println!("PostgreSQL's write-ahead log still holds {words} words, as the runbook says");
        }
    }

    async fn a_trial_counts_the_same_and_erases_nothing(database: Database) {
        let world = world(Server::start(database).await).await;
        let (server, club, mara) = (&world.server, &world.club, &world.mara);
        let before = naming(server, database, &mara.athlete);
        let lead = club.as_role("privacy_lead");
        let trial = lead.post(path(&mara.athlete), asked()).dry_run().await.expect(200);
        let after = naming(server, database, &mara.athlete);
        let changed: Vec<_> = after.iter().filter(|row| !before.contains(row)).map(|(table, _)| table.as_str()).collect();
        assert_eq!(changed, ["audit_reads"], "the look itself");
        let real = erase(club, &mara.athlete).await.expect(200);
        assert_eq!(trial["erased"], real["erased"]);
        assert_eq!(trial["stays"], real["stays"]);
        let stays: Vec<&Value> = real["stays"].as_array().expect("a list").iter().map(|one| &one["table"]).collect();
        assert_eq!(stays, ["squads", "audit_reads", "erasures"]);
    }

    async fn a_repeated_key_says_that_the_work_was_done_and_does_it_never_again(database: Database) {
        let world = world(Server::start(database).await).await;
        let (club, ida) = (&world.club, &world.ida);
        let app = club.as_role("integration");
        let (path, body, key) = &ida.sent;
        let again = || app.post(path, body.clone()).idempotency_key(key);
        assert_eq!(again().await.expect(201).header("idempotent-replayed"), Some("true"));
        let known = app.get("sessions").query("athlete", ida.athlete.id()).query("limit", 500).await.expect(200);
        erase(club, &world.mara.athlete).await.expect(200);
        let refused = again().await.expect_problem(409, "answer_erased");
        assert!(refused.text().contains("201"), "{}", refused.text());
        let other = app.post(path, json!({})).idempotency_key(key);
        other.await.expect_problem(422, "idempotency_key_reused");
        let after = app.get("sessions").query("athlete", ida.athlete.id()).query("limit", 500).await.expect(200);
        assert_eq!(after["items"], known["items"]);
        // The erasure's own answer is kept like any other.
        let lead = club.as_role("privacy_lead");
        let path = super::erasure::path(&ida.athlete);
        let first = lead.post(&path, asked()).idempotency_key("once").await.expect(200);
        let second = lead.post(&path, asked()).idempotency_key("once").await.expect(200);
        assert_eq!(first.body, second.body);
    }

    async fn it_is_the_privacy_leads_for_a_reason(database: Database) {
        let server = Server::start(database).await;
        let club = server.club("Havneby Handball").await;
        let athlete = club.squad("U16").await.athlete("P-07").await;
        for role in ["club_admin", "integration", "coach", "strength_coach", "athletic_trainer", "operator"] {
            club.as_role(role).post(path(&athlete), asked()).await.expect_problem(403, "role_may_not");
        }
        club.as_guardian_of(&[&athlete]).post(path(&athlete), asked()).await.expect_problem(403, "role_may_not");
        let lead = club.as_role("privacy_lead");
        let refused = lead.post(path(&athlete), json!({ "reason": "because" })).await.expect_problem(422, "invalid");
        assert_eq!((&refused["errors"][0]["pointer"], &refused["errors"][0]["code"]), (&json!("/reason"), &json!("unknown_value")));
        lead.post(path(&athlete), json!({})).await.expect_problem(422, "invalid");
        let absent = format!("athletes/{}/erasure", e2e::FREE_ID);
        lead.post(absent, asked()).await.expect_problem(404, "not_found");
        let other = server.club("Fjordby Handball").await;
        let foreign = format!("/v1/clubs/{}/{}", club.id(), path(&athlete));
        other.as_role("privacy_lead").post(foreign, asked()).await.expect_problem(404, "not_found");
        club.as_role("club_admin").get("erasures").await.expect_problem(403, "role_may_not");
    }

    async fn copies_in_another_club_go_with_her(database: Database) {
        let server = Server::start(database).await;
        let (there, here, third) = (server.club("Fjordby Gymnastics").await, server.club("HK Nordvang").await, server.club("Nyby").await);
        let gymnast = there.squad("Juniors").await.athlete("F-31").await;
        gymnast.session("2026-11-03T17:30:00+01:00", 60, 5.0).await;
        let mut known = Vec::new();
        for club in [&here, &third] {
            let athlete = club.squad("U14").await.athlete("D-05").await;
            let codes = format!("athletes/{}/sharing-codes", athlete.id());
            let code = club.as_guardian_of(&[&athlete]).post(codes, json!({ "organisation": "gymnastics" })).await.expect(201);
            let consent = json!({ "purpose": "one figure", "data_classes": ["day_totals"], "sharing_code": code.string("sharing_code"), "text_version": "1" });
            let list = format!("athletes/{}/consents", gymnast.id());
            there.as_guardian_of(&[&gymnast]).post(list, consent).await.expect(201);
            known.push((club, athlete));
        }
        let load = async |club: &Club, athlete: &Athlete| {
            let path = format!("athletes/{}/load?from=2026-11-03&to=2026-11-03", athlete.id());
            club.as_role("coach").get(path).await.expect(200)["days"][0]["load_au"].clone()
        };
        for (club, athlete) in &known {
            assert_eq!(load(club, athlete).await, 300.0);
        }
        let trial = there.as_role("privacy_lead").post(path(&gymnast), asked()).dry_run().await;
        trial.expect(200);
        erase(&there, &gymnast).await.expect(200);
        for (club, athlete) in &known {
            assert_eq!(load(club, athlete).await, 0.0);
        }
        assert_eq!(server.rows("SELECT count(*) FROM shared_day_totals")[0][0], "0");
        assert_eq!(server.rows("SELECT count(*) FROM shares")[0][0], "0");
        // In the club that receives, erasing takes the copies and leaves the other club's records.
        let (club, athlete) = &known[0];
        erase(club, athlete).await.expect(200);
    }
}
