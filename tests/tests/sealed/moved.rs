//! A value that somebody moved or changed in the database is told nobody.

use crate::*;

/// Reads a report and gives the log line of its failure.
async fn refused(server: &Server, club: &Club, path: &str) -> String {
    let answer = club
        .as_role("athletic_trainer")
        .get(path)
        .await
        .expect_problem(500, "internal");
    let text = answer.text();
    for said in ["restrictions", "opens", "key", "planted"] {
        assert!(!text.contains(said), "{said}: {text}");
    }
    let id = answer
        .header("x-request-id")
        .expect("X-Request-Id")
        .to_owned();
    let log = server.log();
    let line = log
        .lines()
        .find(|line| line.contains(&id) && line.contains("does not open"));
    line.unwrap_or_else(|| panic!("no line of {id}:\n{log}"))
        .to_owned()
}

on_both_databases! {
    async fn a_value_that_was_moved_or_changed_opens_nothing(database: Database) {
        let server = Server::start(database).await;
        let (writes, _) = plant(&server).await;
        let club = writes.club();
        let listed = club.as_role("athletic_trainer").get("restrictions").await.expect(200);
        let items = listed["items"].as_array().expect("restrictions");
        let noted = items.iter().find(|one| one["note"].is_string()).expect("one with a note");
        let path = format!("restrictions/{}", noted["restriction_id"].as_str().expect("an id"));
        assert_eq!(noted["note"], PLANTED[3]);

        let (last, other) = (octets(database, "41"), octets(database, "42"));
        let (begin, end) = match database {
            Database::Sqlite => ("CAST(", " AS BLOB)"),
            Database::Postgres => ("(", ")"),
        };
        let changed = format!("{begin}substr(note, 1, length(note) - 1) || CASE substr(note, length(note)) \
            WHEN {last} THEN {other} ELSE {last} END{end}");
        server.rows(&format!("UPDATE restrictions SET note = {changed}"));
        let line = refused(&server, club, &path).await;
        assert!(line.contains("restrictions.note") && !line.contains("planted"), "{line}");

        server.rows("UPDATE restrictions SET note = instruction");
        let line = refused(&server, club, &path).await;
        assert!(line.contains("restrictions.note") && !line.contains("planted"), "{line}");
        // What is not asked for what does not open goes on.
        club.as_role("coach").get("squads").await.expect(200);
        server.anonymous().get("/health/ready").await.expect(200);
    }
}
