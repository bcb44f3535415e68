//! Texts are stored and given back unchanged, or refused; never interpreted, never repaired. Times and dates exist.

use crate::*;

/// Texts that have done harm elsewhere.
const TEXTS: [&str; 22] = [
    "Åse Nørregård",
    "ａｓｔａ",
    "P\u{202e}07",
    "a\u{200d}b\u{200b}c",
    "👩\u{200d}👧\u{200d}👦",
    "\u{feff}x",
    "ﷺ",
    "Ω≈ç√∫",
    "<script>alert(1)</script>",
    "\"><img src=x onerror=alert(1)>",
    "{{7*7}}",
    "${7*7}",
    "%s%n%x",
    "' OR 1=1--",
    "'; DROP TABLE athletes;--",
    "\\",
    "../../etc/passwd",
    "%0d%0aBcc:x@example.org",
    "=1+2",
    "@SUM(A1)",
    "null",
    "undefined",
];

/// One letter with so many marks on it.
fn marked(marks: usize) -> String {
    format!("a{}", "\u{0301}".repeat(marks))
}

on_both_databases! {
    async fn texts_come_back_as_they_went_in(database: Database) {
        let server = Server::start(database).await;
        let writes = Writes::prepare(&server).await;
        let (admin, app) = (writes.club().as_role("club_admin"), writes.club().as_role("integration"));
        let longest = marked(199);
        for (at, text) in TEXTS.into_iter().chain([longest.as_str()]).enumerate() {
            let person = json!({ "external_id": text, "display_name": text, "joined_on": "2026-01-01", "birth_date": "2011-03-14" });
            let made = admin.post("athletes", person).await.expect(201);
            let read = admin.get(format!("athletes/{}", made.string("athlete_id"))).await.expect(200);
            assert_eq!((&read["display_name"], &read["external_id"]), (&json!(text), &json!(text)));
            let found = admin.get("athletes").query("external_id", text).await.expect(200);
            assert_eq!(found["items"].as_array().map(Vec::len), Some(1), "{text}: {}", found.text());
            assert_eq!(found["items"][0]["athlete_id"], made["athlete_id"], "{text}");

            let squad = admin.post("squads", json!({ "name": text, "external_id": text })).await.expect(201);
            let read = admin.get(format!("squads/{}", squad.string("squad_id"))).await.expect(200);
            assert_eq!((&read["name"], &read["external_id"]), (&json!(text), &json!(text)));

            let started_at = format!("2026-10-{:02}T10:00:00+02:00", at + 1);
            let report = writes.athlete().session(&started_at, 30, 5.0).with("note", text).with("external_id", text).await;
            let read = app.get(format!("sessions/{}", report.string("session_id"))).await.expect(200);
            assert_eq!((&read["note"], &read["external_id"]), (&json!(text), &json!(text)));
        }
        assert_alive(&server).await;
    }

    async fn a_search_finds_names_and_runs_nothing(database: Database) {
        let server = Server::start(database).await;
        let writes = Writes::prepare(&server).await;
        let admin = writes.club().as_role("club_admin");
        for text in ["' OR 1=1--", "%", "_", "*", "\\", "100% Asta"] {
            let found = admin.post("athletes/search", json!({ "name": text })).await.expect(200);
            assert_eq!(found["items"], json!([]), "{text}: {}", found.text());
        }
    }

    async fn texts_that_are_empty_too_long_or_have_control_characters_are_refused(database: Database) {
        let server = Server::start(database).await;
        let (writes, codes) = (Writes::prepare(&server).await, Codes::of(&server).await);
        let admin = writes.club().as_role("club_admin");
        for (text, code) in [
            (String::new(), "text_empty"),
            (" \u{a0} ".to_owned(), "text_empty"),
            (marked(1_000), "text_too_long"),
            ("a\u{0}b".to_owned(), "text_has_control_characters"),
            ("a\r\nBcc: x@example.org".to_owned(), "text_has_control_characters"),
            ("\u{1b}[31mred".to_owned(), "text_has_control_characters"),
        ] {
            let bodies = [
                ("squads", json!({ "name": text }), "/name"),
                ("squads", json!({ "name": "U12", "external_id": text }), "/external_id"),
                ("athletes", json!({ "display_name": text, "joined_on": "2026-01-01" }), "/display_name"),
            ];
            for (path, body, pointer) in bodies {
                let answer = admin.post(path, body).await;
                codes.assert_refused(code, &answer);
                let error = &answer.expect_problem(422, "invalid")["errors"][0].clone();
                assert_eq!((&error["pointer"], &error["code"]), (&json!(pointer), &json!(code)));
            }
        }
        assert_alive(&server).await;
    }

    async fn times_that_do_not_exist_are_refused(database: Database) {
        let server = Server::start(database).await;
        let (writes, codes) = (Writes::prepare(&server).await, Codes::of(&server).await);
        let report = || writes.athlete().session("2026-11-03T17:30:00+01:00", 60, 5.0);
        for time in [
            "2026-02-30T10:00:00+01:00", "2026-13-01T10:00:00+01:00", "0000-01-01T10:00:00+01:00", "0026-11-03T10:00:00+01:00",
            "10000-01-01T10:00:00+01:00", "2026-11-03T24:00:00+01:00", "2026-11-03T10:60:00+01:00", "2026-11-03T10:00:60+01:00",
            "2026-11-03T10:00:00+25:00", "2026-11-03", "10:00", "yesterday", "1762160400", "",
        ] {
            for (field, code) in [("started_at", "invalid_instant"), ("given_at", "invalid_instant")] {
                let answer = report().with(field, time).into_request().await;
                codes.assert_refused(time, &answer);
                let answer = answer.expect_problem(422, "invalid");
                let error = &answer["errors"][0];
                assert_eq!((&error["pointer"], &error["code"]), (&json!(format!("/{field}")), &json!(code)), "{time}: {}", answer.text());
            }
        }
        let zone = report().with("started_at", "2026-11-03T10:00").with("time_zone", "Europe/Atlantis").into_request().await;
        codes.assert_refused("no such zone", &zone);
        let zone = zone.expect_problem(422, "invalid");
        assert_eq!((&zone["errors"][0]["pointer"], &zone["errors"][0]["code"]), (&json!("/time_zone"), &json!("unknown_time_zone")));
        assert_alive(&server).await;
    }

    async fn dates_that_do_not_exist_are_refused(database: Database) {
        let server = Server::start(database).await;
        let (writes, codes) = (Writes::prepare(&server).await, Codes::of(&server).await);
        let athlete = writes.athlete();
        for date in ["2026-02-30", "2026-2-3", "0000-01-01", "13.09.2026", "2026-09-13T10:00:00Z", "99999-01-01", "soon", ""] {
            let rest = athlete.rest(date).into_request().await;
            codes.assert_refused(date, &rest);
            assert_eq!(rest.expect_problem(422, "invalid")["errors"][0]["pointer"], "/date", "{date}");
            for field in ["joined_on", "birth_date"] {
                let person = writes.squad().athlete("P-99").with(field, date).into_request().await;
                codes.assert_refused(date, &person);
                assert_eq!(person.expect_problem(422, "invalid")["errors"][0]["pointer"], format!("/{field}"), "{date}");
            }
        }
        for birth_date in ["2027-01-01", "2024-06-01", "1896-01-01"] {
            let person = writes.squad().athlete("P-99").with("birth_date", birth_date).into_request().await;
            codes.assert_refused(birth_date, &person);
            assert_eq!(person.expect_problem(422, "invalid")["errors"][0]["code"], "birth_date_out_of_range", "{birth_date}");
        }
        assert_alive(&server).await;
    }

    async fn numbers_off_the_scale_are_refused(database: Database) {
        let server = Server::start(database).await;
        let (writes, codes) = (Writes::prepare(&server).await, Codes::of(&server).await);
        for (field, value, code) in [
            ("rpe", json!(11), "rpe_out_of_range"), ("rpe", json!(-1), "rpe_out_of_range"), ("rpe", json!(10.5), "rpe_out_of_range"),
            ("rpe", json!(6.3), "rpe_step"), ("rpe", json!(1e-300), "rpe_step"), ("rpe", json!("6"), "wrong_type"),
            ("minutes", json!(0), "minutes_out_of_range"), ("minutes", json!(-1), "minutes_out_of_range"),
            ("minutes", json!(601), "minutes_out_of_range"), ("minutes", json!(1_000_000_000), "minutes_out_of_range"),
            ("minutes", json!(1e300), "minutes_out_of_range"), ("minutes", json!(89.5), "minutes_out_of_range"),
            ("minutes", json!(9_007_199_254_740_993_u64), "minutes_out_of_range"), ("minutes", json!(u64::MAX), "minutes_out_of_range"),
        ] {
            let report = writes.athlete().session("2026-11-03T17:30:00+01:00", 60, 5.0);
            let answer = report.with(field, value.clone()).into_request().await;
            codes.assert_refused(&value.to_string(), &answer);
            let answer = answer.expect_problem(422, "invalid");
            let error = &answer["errors"][0];
            assert_eq!((&error["pointer"], &error["code"]), (&json!(format!("/{field}")), &json!(code)), "{value}");
            assert_eq!(error["given"].as_f64(), value.as_f64(), "{value}");
        }
        // Minus nought is nought.
        let nought = writes.athlete().session("2026-11-03T17:30:00+01:00", 60, 5.0).with("rpe", -0.0).await;
        assert_eq!((&nought["rpe"], &nought["warnings"][0]), (&json!(0.0), &json!("rpe_zero_with_minutes")));
        assert_alive(&server).await;
    }
}
