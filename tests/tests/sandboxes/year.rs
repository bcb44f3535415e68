//! The same seed, date and calls answer the same bytes, and a year passes in one call.

use std::collections::BTreeSet;

use crate::*;

/// A suggestion of what to try, by its method and a part of its path.
fn suggested(made: &Answer, method: &str, part: &str) -> String {
    let suggestions = made["suggestions"].as_array().expect("a list");
    let mut paths = suggestions
        .iter()
        .filter(|one| one["method"] == method)
        .filter_map(|one| one["href"].as_str());
    let path = paths.find(|href| href.contains(part));
    path.expect("a suggestion").to_owned()
}

/// What a program does in a sandbox, with the bytes of each answer: it reads, logs a session, lets a year pass and reads again.
async fn told(sandbox: &Sandbox<'_>) -> Vec<(String, Vec<u8>)> {
    let list = suggested(&sandbox.made, "GET", "/squads/");
    let history = suggested(&sandbox.made, "GET", "/history");
    let athlete = history.split('/').nth(5).expect("an id").to_owned();
    let of_athlete = |rest: &str| sandbox.path(&format!("athletes/{athlete}/{rest}"));
    let reads = [
        ("coach", list),
        ("athletic_trainer", history),
        (
            "coach",
            of_athlete("load?from=2026-11-01&to=2026-11-25&explain=true"),
        ),
        ("coach", of_athlete("weeks")),
        ("integration", sandbox.path("changes?limit=500")),
        ("integration", sandbox.path("athletes?limit=500")),
        ("integration", sandbox.path("flags?limit=500")),
        ("integration", sandbox.path("sessions?limit=500")),
        ("club_admin", sandbox.path("notices?limit=500")),
        ("integration", sandbox.path("clock")),
    ];
    let mut told = Vec::new();
    let session = json!({ "athlete_id": athlete, "started_at": "2026-11-24T19:30:00+01:00", "minutes": 60, "rpe": 5,
        "setting": "prescribed_home", "kind": "strength" });
    for round in 0..2 {
        for (role, path) in &reads {
            let answer = sandbox.as_role(role).get(path).await.expect(200);
            told.push((format!("{round} {path}"), answer.bytes));
        }
        if round == 0 {
            let app = sandbox.as_role("integration");
            let logged = app.post(sandbox.path("sessions"), session.clone()).await;
            told.push(("session".to_owned(), logged.expect(201).bytes));
            let year = sandbox.move_to("2027-11-24T06:00:00Z").await.expect(200);
            told.push(("clock".to_owned(), year.bytes));
        }
    }
    told
}

#[tokio::test]
async fn the_same_seed_date_and_calls_answer_the_same_bytes_over_a_year() {
    let (server, _files) = service(Database::Sqlite).await;
    let seed = json!({ "seed": 11, "date": "2026-11-25" });
    let first = Sandbox::make(&server, seed.clone()).await;
    let once = told(&first).await;
    let twice = server
        .as_role("operator")
        .post("/v1/sandboxes", seed.clone())
        .await;
    twice.expect_problem(409, "sandbox_exists");
    let other = Sandbox::make(&server, json!({ "seed": 12, "date": "2026-11-25" })).await;
    assert_ne!(other.made["sandbox_id"], first.made["sandbox_id"]);
    let id = first.made["sandbox_id"].clone();
    first.remove().await;
    let second = Sandbox::make(&server, seed).await;
    assert_eq!(second.made["sandbox_id"], id);
    for ((what, before), (same, after)) in once.into_iter().zip(told(&second).await) {
        assert_eq!(what, same);
        assert!(
            before == after,
            "{what}: {}\nand then {}",
            String::from_utf8_lossy(&before),
            String::from_utf8_lossy(&after)
        );
    }
    // 52 weeks are closed, each at its time, and told of once.
    let notices = second.read("club_admin", "notices?limit=500").await;
    let notices = notices.expect(200);
    let closed = |notice: &&Value| notice["kind"] == "week_closed";
    let notices = notices["items"].as_array().expect("notices");
    let passed: BTreeSet<_> = notices
        .iter()
        .filter(closed)
        .filter(|notice| notice["at"].as_str() > Some("2026-11-26"))
        .map(|notice| notice["week"].to_string())
        .collect();
    assert_eq!(passed.len(), 52, "{passed:?}");
    let clock = second.read("coach", "clock").await.expect(200);
    assert_eq!(clock["now"], "2027-11-24T06:00:00Z");
    let other = other.read("coach", "clock").await.expect(200);
    assert_eq!(other["now"], "2026-11-25T06:00:00Z");
}
