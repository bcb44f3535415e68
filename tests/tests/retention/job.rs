//! The job that makes the runs by itself.

use e2e::until;

use crate::*;

/// The nights that had their run, with how many rows each erased.
fn runs(server: &Server) -> Vec<(String, i64)> {
    let rows = server.rows("SELECT night, erased FROM retention_runs ORDER BY night");
    let rows = rows.into_iter().map(|row| {
        let erased: Value = serde_json::from_str(&row[1]).expect("JSON");
        (row[0].clone(), erased["load"].as_i64().unwrap_or_default())
    });
    rows.collect()
}

/// Waits until the job has looked once since the server was started.
async fn until_looked(server: &Server) {
    until(async || {
        let metrics = server.anonymous().get("/metrics").await.expect(200).text();
        let looked = metrics.contains("plimsoll_retention_last_success_timestamp_seconds");
        looked.then_some(()).ok_or("the job did not look")
    })
    .await;
}

/// Its clock begins before the hour, so that the day on which the world is made has no run.
async fn with_jobs(database: Database) -> World {
    let setup = Server::setup(database).clock("2026-11-09T01:00:00+01:00");
    let server = setup.setting("PLIMSOLL_JOBS", "on").start();
    World::new(server.await).await
}

on_both_databases! {
    async fn at_night_what_is_due_is_erased_and_counted(database: Database) {
        let mut world = with_jobs(database).await;
        let athlete = world.leaver("P-07").await;
        world.terms(&[("load", 0)]).await;
        world.server.restart_at("2026-11-10T02:59:00+01:00").await;
        until_looked(&world.server).await;
        assert_eq!(runs(&world.server), []);
        world.server.restart_at("2026-11-10T03:00:00+01:00").await;
        until_looked(&world.server).await;
        assert_eq!(runs(&world.server), [("2026-11-10".to_owned(), 0)]);
        world.server.restart_at("2026-11-11T03:00:00+01:00").await;
        until_looked(&world.server).await;
        let rows = runs(&world.server)[1].1;
        assert!(rows >= 5, "{rows}");
        assert_eq!(world.reports(&athlete).await, 0);
        let metrics = world.server.anonymous().get("/metrics").await.expect(200).text();
        let counted = format!("plimsoll_retention_rows_erased_total{{class=\"load\"}} {rows}");
        assert!(metrics.contains(&counted), "{metrics}");
        let log = world.server.log();
        let line = log.lines().find(|line| line.contains("what was due was erased") && line.contains("2026-11-11"));
        let line = line.expect("a line about the run");
        assert!(line.contains(&format!("\"rows\":{rows},")) && !line.contains(athlete.id()), "{line}");
        // A clock that steps back makes no run again.
        world.server.restart_at("2026-11-10T12:00:00+01:00").await;
        until_looked(&world.server).await;
        assert_eq!(runs(&world.server).len(), 2);
    }

    async fn two_servers_at_the_same_tick_make_one_run(database: Database) {
        let mut world = with_jobs(database).await;
        let mut other = world.server.beside().await;
        let mut erased = 0;
        world.terms(&[("load", 0)]).await;
        for round in 1..=e2e::many(3, 20) {
            world.leaver(&format!("P-{round}")).await;
            let day = 9 + round;
            let now = format!("2026-11-{day:02}T03:00:00+01:00");
            tokio::join!(world.server.restart_at(&now), other.restart_at(&now));
            until_looked(&world.server).await;
            until_looked(&other).await;
            let runs = runs(&world.server);
            assert_eq!(runs.len(), round, "round {round}");
            erased += runs[round - 1].1;
        }
        // Each but the first night erased the leaver of the round before, whole and once.
        let left = world.server.rows("SELECT count(*) FROM session_reports").concat();
        assert_eq!(left, [2.to_string()]);
        let rounds = i64::try_from(e2e::many(3, 20)).expect("few");
        assert_eq!(erased % (rounds - 1), 0, "{erased}");
        assert!(erased >= 5 * (rounds - 1), "{erased}");
        for one in [&world.server, &other] {
            assert_eq!(one.anonymous().get("/health/ready").await.expect(200)["status"], "ready");
        }
    }

    async fn one_clubs_failure_holds_up_no_other_and_is_seen(database: Database) {
        let mut world = with_jobs(database).await;
        world.terms(&[("load", 0)]).await;
        world.server.club("Fjordby Handball").await;
        world.server.rows("UPDATE clubs SET time_zone = 'Mars/Base' WHERE name = 'Fjordby Handball'");
        world.server.restart_at("2026-11-10T03:00:00+01:00").await;
        until(async || {
            let ready = world.server.anonymous().get("/health/ready").await.expect(200);
            let mut because = ready["because"].as_array().expect("causes").iter();
            let found = because.any(|cause| cause["source"] == "retention");
            found.then_some(()).ok_or(ready)
        }).await;
        assert_eq!(runs(&world.server), [("2026-11-10".to_owned(), 0)]);
    }
}
