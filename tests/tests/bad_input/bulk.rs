//! Bulk calls: files that are broken as a whole are refused; broken rows say why while the others land.

use e2e::{Client, Method, Request};

use crate::*;

fn send(app: &Client, media_type: &str, body: impl Into<Vec<u8>>) -> Request {
    app.request(Method::POST, "sessions/bulk")
        .body(media_type, body)
}

on_both_databases! {
    async fn files_that_are_not_csv_are_refused_with_the_line(database: Database) {
        let server = Server::start(database).await;
        let (writes, codes) = (Writes::prepare(&server).await, Codes::of(&server).await);
        let app = writes.club().as_role("integration");
        let wide = vec!["x"; 10_001].join(",");
        let files: [(&str, Vec<u8>); 7] = [
            ("not UTF-8", b"rpe,minutes\n6,\xff\n".to_vec()),
            ("UTF-16", b"\xff\xfer\0p\0e\0\n\0".to_vec()),
            ("a cell too few", b"rpe,minutes\n6\n".to_vec()),
            ("a column twice", b"rpe,rpe\n6,6\n".to_vec()),
            ("a column without a name", b"rpe,\n6,6\n".to_vec()),
            ("too many columns", wide.into_bytes()),
            ("an open quote", b"rpe,minutes\n\"6,90\n6,90\n".to_vec()),
        ];
        for (case, file) in files {
            let answer = send(&app, "text/csv", file).await;
            // What can be read as a row is a row; then it is the row that is refused.
            if answer.status == 200 {
                assert_eq!(answer["accepted"], 0, "{case}: {}", answer.text());
                continue;
            }
            codes.assert_refused(case, &answer);
            answer.expect_problem(400, "not_csv");
        }
        assert_alive(&server).await;
    }

    async fn broken_rows_say_why_and_the_others_land(database: Database) {
        let server = Server::start(database).await;
        let writes = Writes::prepare(&server).await;
        let app = writes.club().as_role("integration");
        let good = |day: u32| {
            writes.athlete().session(&format!("2026-10-{day:02}T17:30:00+02:00"), 60, 5.0).into_body()
        };
        let mut unknown = good(2);
        unknown["nobody_knows"] = json!(1);
        let rows = json!({ "sessions": [good(1), 7, "x", null, [], {}, unknown, good(3)] });
        let answer = app.post("sessions/bulk", rows).await.expect(200);
        assert_eq!((&answer["accepted"], &answer["rejected"]), (&json!(2), &json!(6)), "{}", answer.text());
        for result in answer["results"].as_array().expect("results") {
            let problems = result["problems"].as_array().map_or(0, Vec::len);
            assert_eq!(problems > 0, result["outcome"] == "rejected", "{result}");
        }
        let twice = good(4).to_string().replacen('{', "{\"rpe\": 1, ", 1);
        let answer = send(&app, "application/json", format!("{{\"sessions\": [{twice}]}}")).await;
        let refused = answer.status == 422 || answer["rejected"] == 1;
        assert!(refused, "a field twice in a row: {}", answer.text());
        assert_alive(&server).await;
    }

    async fn lines_of_a_stream_that_are_not_json_are_rejected_one_by_one(database: Database) {
        let server = Server::start(database).await;
        let writes = Writes::prepare(&server).await;
        let app = writes.club().as_role("integration");
        let good = |day: u32| {
            writes.athlete().session(&format!("2026-10-{day:02}T17:30:00+02:00"), 60, 5.0).into_body().to_string()
        };
        let deep = "[".repeat(10_000);
        let body = [&good(1), "{", "", "\u{0}", "nonsense", "[]", &deep, "{\"rpe\": 1e999}", &good(2)].join("\n");
        let answer = send(&app, "application/x-ndjson", body).await.expect(200);
        let results: Vec<Value> = answer.text().lines().map(|line| serde_json::from_str(line).expect("JSON")).collect();
        let outcomes: Vec<&str> = results.iter().filter_map(|result| result["outcome"].as_str()).collect();
        let rejected = ["rejected"; 6];
        assert_eq!(outcomes, [&["accepted"][..], &rejected, &["accepted"]].concat(), "{}", answer.text());
        // A line without an end does not fill the memory; what came before it is stored.
        let endless = format!("{}\n{}", good(3), "x".repeat(1 << 20));
        let answer = send(&app, "application/x-ndjson", endless).await.expect(200);
        let last = answer.text().lines().last().map(str::to_owned).expect("a last line");
        let last: Value = serde_json::from_str(&last).expect("JSON");
        assert_eq!((&last["code"], &last["status"]), (&json!("body_too_large"), &json!(413)), "{}", answer.text());
        assert_alive(&server).await;
    }

    async fn a_call_that_is_read_whole_has_a_largest_number_of_rows(database: Database) {
        let server = Server::start(database).await;
        let (writes, codes) = (Writes::prepare(&server).await, Codes::of(&server).await);
        let app = writes.club().as_role("integration");
        let rows = format!("{{\"sessions\": [{}]}}", vec!["{}"; 10_001].join(","));
        let lines = format!("rpe\n{}", "6\n".repeat(10_001));
        for (media_type, body) in [("application/json", rows), ("text/csv", lines)] {
            let answer = send(&app, media_type, body).await;
            codes.assert_refused(media_type, &answer);
            answer.expect_problem(413, "body_too_large");
        }
        let most = format!("{{\"sessions\": [{}]}}", vec!["{}"; 10_000].join(","));
        assert_eq!(send(&app, "application/json", most).await.expect(200)["rejected"], 10_000);
        assert_alive(&server).await;
    }
}
