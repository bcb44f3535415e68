//! Queries and paths: values that cannot be read, parameters that are unknown or there twice, cursors that were changed.

use e2e::{Method, Operation};

use crate::*;

/// The names of the query parameters of an operation.
fn parameters(operation: &Operation) -> Vec<String> {
    let parameters = operation.body["parameters"]
        .as_array()
        .into_iter()
        .flatten();
    let of_query = parameters.filter(|parameter| parameter["in"] == "query");
    of_query
        .filter_map(|parameter| parameter["name"].as_str().map(str::to_owned))
        .collect()
}

/// Reads under a club that take a query.
fn reads(document: &Document) -> Vec<(Operation, Vec<String>)> {
    let operations = document.operations().into_iter();
    operations
        .filter(|operation| operation.method == "GET" && operation.has_club())
        .map(|operation| {
            let parameters = parameters(&operation);
            (operation, parameters)
        })
        .filter(|(_, parameters)| !parameters.is_empty())
        .collect()
}

/// Values that no parameter of this name takes.
fn bad_values(name: &str, is_of_weeks: bool) -> &'static [&'static str] {
    match name {
        "limit" => &[
            "-1",
            "0",
            "501",
            "1e9",
            "1000000000",
            "NaN",
            "",
            "ten",
            "0x10",
            "5.0",
            " 5",
            "9999999999999999999999",
        ],
        "after" => &[
            "",
            "x",
            "%%%",
            "AAAA",
            "AAAAAAAAAAAAAAAAAAAAAAAAAAA",
            "../../etc/passwd",
            "\u{0}",
        ],
        "from" | "to" | "week" if is_of_weeks || name == "week" => &[
            "",
            "2026-W00",
            "2026-W54",
            "2025-W53",
            "2026W45",
            "W45",
            "2026-45",
            "2026-W4",
            "2026-w45x",
            "-2026-W45",
            "\u{0}",
        ],
        "from" | "to" | "on" | "date" => &[
            "",
            "2026-02-30",
            "2026-13-01",
            "0000-01-01x",
            "20260913",
            "2026-9-13",
            "13.09.2026",
            "2026-09-13T00:00:00Z",
            "+12026-09-13",
            "today",
            "\u{0}",
        ],
        "as_of" => &[
            "",
            "2026-09-13",
            "2026-02-30T10:00:00Z",
            "2026-09-13T24:00:00Z",
            "2026-09-13T10:00:60Z",
            "2026-09-13T10:00:00",
            "2026-09-13T10:00:00+25:00",
            "0000-01-01T00:00:00Z",
            "now",
            "\u{0}",
        ],
        "athlete" | "squad" | "event" => &["", "1", "P-07", "' OR 1=1--", "0199a1b2", "\u{0}"],
        "setting" => &["", "gym", "club,gym", "club,", ",", "CLUB", "\u{0}"],
        "week_load_au" => &["", "-1", "0.3", "105001", "1e9", "NaN", "much", "\u{0}"],
        "rpe" => &["", "-1", "10.5", "5.3", "NaN", "1e9", "hard", "\u{0}"],
        "decision" => &["", "maybe", "OPEN", "\u{0}"],
        "purpose" => &["", "curiosity", "screening ", "\u{0}"],
        "trials" => &["", "median", "MEAN", "\u{0}"],
        "version" => &["", "0", "-1", "1.5", "9999999999", "latest", "\u{0}"],
        "paper" => &["", "a5", "A4", "\u{0}"],
        "explain" | "open" => &["", "yes", "1", "TRUE", "\u{0}"],
        "state" => &["", "open ", "RAISED", "\u{0}"],
        // An external id is the club's own text; NUL is none.
        "external_id" => &["\u{0}"],
        "filter" => &[
            "",
            "userName",
            "userName eq",
            "nobody eq \"x\"",
            "(",
            "\u{0}",
        ],
        "startIndex" | "count" => &[
            "",
            "1.5",
            "ten",
            "0x10",
            " 5",
            "9999999999999999999999",
            "\u{0}",
        ],
        "attributes" | "excludedAttributes" => &["a b", "a..b", "7", "\u{0}"],
        _ => panic!("say which values the parameter {name} does not take"),
    }
}

on_both_databases! {
    async fn values_that_cannot_be_read_are_named(database: Database) {
        let server = Server::start(database).await;
        let (writes, codes) = (Writes::prepare(&server).await, Codes::of(&server).await);
        let document = Document::served_by(&server).await;
        for (operation, parameters) in reads(&document) {
            let is_of_weeks = operation.path.ends_with("/weeks") || operation.path.ends_with("/flags");
            for name in parameters {
                for value in bad_values(&name, is_of_weeks) {
                    let read = match name.as_str() {
                        "purpose" => writes.reader(&operation).get(writes.path(&operation.path)),
                        _ => writes.read(&operation),
                    };
                    let answer = read.query(&name, value).await;
                    codes.assert_refused(&format!("{name}={value:?}"), &answer);
                    if operation.is_scim() {
                        answer.expect(400);
                        continue;
                    }
                    let is_cursor = answer["code"] == "bad_cursor" && name == "after";
                    let named = answer["errors"][0]["pointer"] == format!("?{name}");
                    assert!(is_cursor || named, "{name}={value:?}: {}", answer.text());
                }
            }
        }
        assert_alive(&server).await;
    }

    async fn parameters_that_are_unknown_or_there_twice_are_refused(database: Database) {
        let server = Server::start(database).await;
        let (writes, codes) = (Writes::prepare(&server).await, Codes::of(&server).await);
        let document = Document::served_by(&server).await;
        for (operation, parameters) in reads(&document) {
            let read = |query: &str| {
                let target = format!("{}?{query}", writes.path(&operation.path));
                writes.reader(&operation).get(target)
            };
            for unknown in ["sort=password", "club_id=x", "nobody=1", "limit[]=5", "=5", "a"] {
                let answer = read(unknown).await;
                codes.assert_refused(unknown, &answer);
                answer.expect_problem(400, "bad_query");
            }
            for name in parameters {
                let answer = read(&format!("{name}=1&{name}=2")).await;
                codes.assert_refused(&name, &answer);
                let answer = answer.expect_problem(400, "bad_query");
                if operation.is_scim() {
                    continue;
                }
                let error = answer["errors"][0].clone();
                assert_eq!((&error["pointer"], &error["code"]), (&json!(format!("?{name}")), &json!("duplicate_field")));
            }
            for broken in ["limit=%ff", "limit=%zz", "limit=%00", "%00=1"] {
                let answer = read(broken).await;
                codes.assert_refused(broken, &answer);
                assert_eq!(answer.status, 400, "{broken}: {}", answer.text());
            }
        }
        for operation in document.operations() {
            if operation.method == "GET" || operation.is_question() {
                continue;
            }
            for (name, value) in [("dry_run", "maybe"), ("dry_run", ""), ("unknown", "1")] {
                let answer = writes.of(&operation).query(name, value).await;
                codes.assert_refused(name, &answer);
                answer.expect_problem(400, "bad_query");
            }
            let answer = writes.of(&operation).query("dry_run", true).query("dry_run", true).await;
            codes.assert_refused("dry_run twice", &answer);
        }
        assert_alive(&server).await;
    }

    async fn ranges_are_bounded_and_lie_in_the_past(database: Database) {
        let server = Server::start(database).await;
        let (writes, codes) = (Writes::prepare(&server).await, Codes::of(&server).await);
        let coach = writes.club().as_role("coach");
        let athlete = format!("athletes/{}", writes.athlete().id());
        for (resource, from, to, pointer, code, status) in [
            ("load", "2026-09-02", "2026-09-01", "?to", "range_reversed", 400),
            ("load", "2020-01-01", "2026-09-01", "?from", "range_too_long", 400),
            ("load", "0000-01-01", "9999-12-31", "?from", "range_too_long", 400),
            ("load", "2026-11-01", "2026-11-10", "?to", "in_future", 422),
            ("weeks", "2026-W10", "2026-W09", "?to", "range_reversed", 400),
            ("weeks", "2020-W01", "2026-W01", "?from", "range_too_long", 400),
        ] {
            let read = coach.get(format!("{athlete}/{resource}")).query("from", from).query("to", to);
            let answer = read.await.expect(status);
            codes.assert_refused(code, &answer);
            assert_eq!((&answer["errors"][0]["pointer"], &answer["errors"][0]["code"]), (&json!(pointer), &json!(code)));
        }
        for resource in [format!("{athlete}/load"), format!("{athlete}/weeks"), format!("squads/{}/weeks/2026-W45", writes.squad().id())] {
            let answer = coach.get(&resource).query("as_of", "2026-11-10T08:00:00+01:00").await;
            codes.assert_refused("as_of in the future", &answer);
            assert_eq!(answer.expect_problem(422, "invalid")["errors"][0]["code"], "in_future");
        }
        let ahead = coach.get(format!("squads/{}/weeks/2026-W50", writes.squad().id())).await;
        codes.assert_refused("a week ahead", &ahead);
        assert_alive(&server).await;
    }

    async fn a_cursor_that_was_changed_is_refused(database: Database) {
        let server = Server::start(database).await;
        let (writes, codes) = (Writes::prepare(&server).await, Codes::of(&server).await);
        let app = writes.club().as_role("integration");
        let page = app.get("sessions").query("limit", 1).await.expect(200);
        let cursor = page.string("next");
        app.get("sessions").query("limit", 1).query("after", &cursor).await.expect(200);
        let mut flipped = cursor.clone().into_bytes();
        let last = flipped.len() - 2;
        flipped[last] = if flipped[last] == b'A' { b'B' } else { b'A' };
        let flipped = String::from_utf8(flipped).expect("ASCII");
        for changed in [&cursor[1..], &cursor[..cursor.len() - 3], &flipped, &format!("{cursor}A"), &format!("{cursor}=")] {
            let answer = app.get("sessions").query("limit", 1).query("after", changed).await;
            codes.assert_refused("a changed cursor", &answer);
            answer.expect_problem(400, "bad_cursor");
        }
        assert_alive(&server).await;
    }

    async fn ids_in_paths_that_are_none_are_not_found(database: Database) {
        let server = Server::start(database).await;
        let (writes, codes) = (Writes::prepare(&server).await, Codes::of(&server).await);
        let document = Document::served_by(&server).await;
        let long = "x".repeat(3_000);
        let odd = ["1", "null", "..%2f..%2fetc%2fpasswd", "%00", "%ff", "'%20OR%201=1--", "%F0%9F%91%8D", long.as_str()];
        for operation in document.operations().into_iter().filter(Operation::has_club) {
            let own = ["/audit", "/revocations"].iter().any(|end| operation.path.ends_with(end));
            let role = if own { "privacy_lead" } else { "integration" };
            let caller = server.client(Identity::role(role).club(writes.club().id()), None);
            for id in odd {
                let parts = operation.path.split('/').map(|part| match part {
                    "{week}" => "2026-W45",
                    _ if part.starts_with('{') => id,
                    _ => part,
                });
                let target = parts.collect::<Vec<_>>().join("/");
                let method = Method::from_bytes(operation.method.as_bytes()).expect("a method");
                let answer = caller.request(method, target).body("application/json", "{}").await;
                codes.assert_refused(id, &answer);
                assert!([404, 414, 400].contains(&answer.status), "{}: {}", operation.name(), answer.text());
            }
        }
        assert_alive(&server).await;
    }
}
