//! Weeks close by themselves, when they are due, once.

use std::time::Duration;

use e2e::{Athlete, Club, Database, Server, many, on_both_databases, until};
use jiff::ToSpan;
use jiff::civil::date;
use serde_json::json;

mod races;

const HAVNEBY: &str = "Havneby Handball";
const FJORDBY: &str = "Fjordby Handball";

/// A club made on Monday 9 November 2026, whose athlete's week 2026-W46 is a spike.
async fn club(server: &Server, name: &str) -> (Club, Athlete) {
    let club = server.club(name).await;
    club.example_policy().await;
    let athlete = club
        .squad("U16")
        .await
        .athlete("P-12")
        .with("joined_on", "2026-10-19")
        .await;
    club.bulk(athlete.weeks("2026-10-19", &[1380.0, 1380.0, 1530.0]))
        .await
        .expect(200);
    (club, athlete)
}

/// The weeks closed so far, by their Mondays, each with whether that was late.
fn closed(server: &Server, name: &str) -> Vec<(String, bool)> {
    let rows = server.rows(
        "SELECT clubs.name, monday, CASE WHEN late THEN 'late' ELSE 'on time' END \
         FROM closed_weeks JOIN clubs USING (club_id) ORDER BY monday",
    );
    let of_club = rows.into_iter().filter(|row| row[0] == name);
    of_club
        .map(|row| (row[1].clone(), row[2] == "late"))
        .collect()
}

/// Waits until so many weeks are closed; a job looks when the program starts.
async fn closed_soon(server: &Server, name: &str, weeks: usize) -> Vec<(String, bool)> {
    until(async || {
        let found = closed(server, name);
        if found.len() >= weeks {
            Ok(found)
        } else {
            Err(found)
        }
    })
    .await
}

async fn with_jobs(database: Database) -> Server {
    Server::setup(database)
        .setting("PLIMSOLL_JOBS", "on")
        .start()
        .await
}

/// What has been looked at by now: the time of the last look that found everything in order.
async fn looked(server: &Server) -> bool {
    let metrics = server.anonymous().get("/metrics").await.expect(200).text();
    metrics.contains("plimsoll_weekly_close_last_success_timestamp_seconds")
}

// A look that failed is repeated after half a minute.
async fn until_looked(server: &Server) {
    until(async || {
        let looked = looked(server).await;
        looked.then_some(()).ok_or("the job did not look")
    })
    .await;
}

/// How many notices of a kind were written; no week has two that say it was closed.
fn notices(server: &Server, kind: &str) -> usize {
    let rows = server.rows("SELECT kind, monday FROM notices ORDER BY kind, monday");
    let of_kind: Vec<_> = rows.into_iter().filter(|row| row[0] == kind).collect();
    let mut distinct = of_kind.clone();
    distinct.dedup();
    assert_eq!(distinct.len(), of_kind.len(), "{of_kind:?}");
    of_kind.len()
}

fn week(monday: &str, late: bool) -> (String, bool) {
    (monday.to_owned(), late)
}

on_both_databases! {
    async fn a_week_is_closed_at_its_time_and_flags_are_raised(database: Database) {
        let mut server = with_jobs(database).await;
        let (club, athlete) = club(&server, HAVNEBY).await;
        // Weeks before the club was made are not its to close, and the running one is not over.
        server.restart_at("2026-11-16T06:59:00+01:00").await;
        until_looked(&server).await;
        assert_eq!(closed(&server, HAVNEBY), []);
        club.bulk(athlete.weeks("2026-11-09", &[2880.0])).await.expect(200);
        server.restart_at("2026-11-16T07:00:00+01:00").await;
        assert_eq!(closed_soon(&server, HAVNEBY, 1).await, [week("2026-11-09", false)]);
        let flags = club.as_role("coach").get("flags").query("week", "2026-W46").await.expect(200);
        assert_eq!(flags["items"][0]["current"]["cause"], "week_closed");
        assert_eq!(flags["items"].as_array().map(Vec::len), Some(1));
    }

    async fn weeks_missed_are_closed_late_and_in_order(database: Database) {
        let mut server = with_jobs(database).await;
        club(&server, HAVNEBY).await;
        server.restart_at("2026-12-07T07:30:00+01:00").await;
        let all = [
            week("2026-11-09", true), week("2026-11-16", true), week("2026-11-23", true), week("2026-11-30", false),
        ];
        assert_eq!(closed_soon(&server, HAVNEBY, 4).await, all);
        let sequence = server.rows("SELECT monday FROM closed_weeks ORDER BY seq").concat();
        assert_eq!(sequence, all.clone().map(|(monday, _)| monday));
        // A clock that steps back closes nothing again.
        server.restart_at("2026-11-20T08:00:00+01:00").await;
        until_looked(&server).await;
        assert_eq!(closed(&server, HAVNEBY), all);
    }

    async fn a_club_chooses_its_time(database: Database) {
        let mut server = with_jobs(database).await;
        let (club, _) = club(&server, HAVNEBY).await;
        let admin = club.as_role("club_admin");
        let usual = admin.get("weekly-close").await.expect(200);
        assert_eq!(usual.body, json!({ "weekday": "monday", "time": "07:00", "time_zone": "Europe/Copenhagen", "version": 0 }));
        let later = json!({ "weekday": "tuesday", "time": "18:30" });
        admin.put("weekly-close", later.clone()).await.expect_problem(428, "precondition_required");
        let set = admin.put("weekly-close", later.clone()).if_match(usual.etag()).await.expect(200);
        assert_eq!((&set["weekday"], &set["time"], &set["version"]), (&json!("tuesday"), &json!("18:30"), &json!(1)));
        assert_eq!(admin.put("weekly-close", later).await.expect(200)["version"], 1, "the same again changes nothing");
        for (body, pointer, code) in [
            (json!({ "weekday": "someday", "time": "07:00" }), "/weekday", "unknown_value"),
            (json!({ "weekday": "monday", "time": "24:00" }), "/time", "invalid_time"),
            (json!({ "weekday": "monday", "time": "7:00" }), "/time", "invalid_time"),
            (json!({ "weekday": "monday", "time": "+7:00" }), "/time", "invalid_time"),
            (json!({ "weekday": "monday" }), "/time", "missing_field"),
        ] {
            let problem = admin.put("weekly-close", body).if_match("*").await.expect_problem(422, "invalid");
            assert_eq!((&problem["errors"][0]["pointer"], &problem["errors"][0]["code"]), (&json!(pointer), &json!(code)));
        }
        server.restart_at("2026-11-17T18:29:00+01:00").await;
        until_looked(&server).await;
        assert_eq!(closed(&server, HAVNEBY), []);
        server.restart_at("2026-11-17T18:30:00+01:00").await;
        assert_eq!(closed_soon(&server, HAVNEBY, 1).await, [week("2026-11-09", false)]);
    }

    async fn one_clubs_failure_holds_up_no_other_and_is_seen(database: Database) {
        let mut server = with_jobs(database).await;
        club(&server, FJORDBY).await;
        club(&server, HAVNEBY).await;
        server.rows("UPDATE clubs SET time_zone = 'Mars/Base' WHERE name = 'Fjordby Handball'");
        server.restart_at("2026-11-16T07:00:00+01:00").await;
        assert_eq!(closed_soon(&server, HAVNEBY, 1).await, [week("2026-11-09", false)]);
        assert_eq!(closed(&server, FJORDBY), []);
        let ready = until(async || {
            let ready = server.anonymous().get("/health/ready").await.expect(200);
            if ready["status"] == "degraded" { Ok(ready) } else { Err(ready) }
        }).await;
        assert_eq!(ready["because"][0]["source"], "weekly close");
        assert_eq!(ready["because"][0]["detail"], "weeks of 1 club(s) are due and could not be closed");
        server.rows("UPDATE clubs SET time_zone = 'Europe/Copenhagen' WHERE name = 'Fjordby Handball'");
        server.restart_at("2026-11-16T08:30:00+01:00").await;
        assert_eq!(closed_soon(&server, FJORDBY, 1).await, [week("2026-11-09", true)]);
    }

    async fn s08_a_correction_of_a_closed_week_is_told_and_a_trial_is_not(database: Database) {
        let mut server = with_jobs(database).await;
        let (club, athlete) = club(&server, HAVNEBY).await;
        server.restart_at("2026-11-15T20:00:00+01:00").await;
        club.bulk(athlete.weeks("2026-11-09", &[2880.0])).await.expect(200);
        server.restart_at("2026-11-16T07:00:00+01:00").await;
        closed_soon(&server, HAVNEBY, 1).await;
        assert_eq!((notices(&server, "week_closed"), notices(&server, "week_corrected")), (1, 0));
        let late = || athlete.session("2026-11-12T17:30:00+01:00", 60, 5.0).into_request();
        late().dry_run().await.expect(201);
        assert_eq!(notices(&server, "week_corrected"), 0);
        late().await.expect(201);
        assert_eq!(notices(&server, "week_corrected"), 1);
    }
}
