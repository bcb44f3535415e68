//! What callers have to keep to, as it is told and as it is enforced: at each limit a call is taken, one beyond it is refused.

use e2e::{
    Athlete, Client, Database, Document, FREE_ID, Identity, Method, Server, on_both_databases,
};
use jiff::civil::{Date, date};
use jiff::{Span, ToSpan};
use serde_json::{Value, json};

/// What is told, by a pointer into it.
struct Told(Value);

impl Told {
    async fn by(server: &Server) -> Self {
        let operator = server.as_role("operator");
        Self(operator.get("/v1/limits").await.expect(200).body)
    }

    #[track_caller]
    fn number(&self, pointer: &str) -> usize {
        let number = self.0.pointer(pointer).and_then(Value::as_u64);
        let number = number.unwrap_or_else(|| panic!("no number at {pointer}: {}", self.0));
        usize::try_from(number).expect("a number of this machine")
    }
}

/// A limit and one more.
fn at_and_beyond(limit: usize) -> [usize; 2] {
    [limit, limit + 1]
}

/// A body of so many bytes: JSON, then spaces.
fn padded(json: &str, bytes: usize) -> String {
    let spaces = bytes.checked_sub(json.len()).expect("room for it");
    format!("{json}{}", " ".repeat(spaces))
}

/// A calendar's text of so many bytes without an event in it.
fn calendar_of(bytes: usize) -> String {
    let (head, end) = (
        "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//Havneby//EN\r\nX-PAD:",
        "\r\nEND:VCALENDAR\r\n",
    );
    let rest = bytes
        .checked_sub(head.len() + end.len())
        .expect("room for it");
    format!("{head}{}{end}", "x".repeat(rest))
}

fn week(monday: Date) -> String {
    let week = monday.iso_week_date();
    format!("{}-W{:02}", week.year(), week.week())
}

fn back(from: Date, span: Span) -> Date {
    from.checked_sub(span).expect("a date")
}

fn times(count: usize) -> i64 {
    i64::try_from(count).expect("a small number")
}

async fn assert_bulk_rows(app: &Client, told: &Told) {
    let most = told.number("/bulk/rows");
    for rows in at_and_beyond(most) {
        let json = format!("{{\"sessions\": [{}]}}", vec!["{}"; rows].join(","));
        let csv = format!("rpe\n{}", "6\n".repeat(rows));
        for (media_type, body) in [("application/json", json), ("text/csv", csv)] {
            let answer = app
                .request(Method::POST, "sessions/bulk")
                .body(media_type, body)
                .await;
            if rows == most {
                assert_eq!(answer.expect(200)["rejected"], rows, "{media_type}");
            } else {
                answer.expect_problem(413, "body_too_large");
            }
        }
    }
    assert_eq!(told.0["bulk"]["ndjson_rows"], Value::Null);
    let lines = "{}\n".repeat(most + 1);
    let stream = app
        .request(Method::POST, "sessions/bulk")
        .body("application/x-ndjson", lines);
    assert_eq!(stream.await.expect(200).text().lines().count(), most + 1);
}

/// A line that is too long is answered in its place, since the answer has begun.
async fn assert_line(app: &Client, told: &Told) {
    let most = told.number("/bulk/ndjson_line_bytes");
    for bytes in at_and_beyond(most) {
        let line = format!("{}\n", padded("{}", bytes));
        let answer = app
            .request(Method::POST, "sessions/bulk")
            .body("application/x-ndjson", line)
            .await;
        let result: Value =
            serde_json::from_str(answer.expect(200).text().trim()).expect("one line of JSON");
        match bytes == most {
            true => assert_eq!(result["outcome"], "rejected", "{result}"),
            false => assert_eq!(result["code"], "body_too_large", "{result}"),
        }
    }
}

async fn assert_rosters(app: &Client, told: &Told) {
    let most = told.number("/rosters/rows");
    for rows in at_and_beyond(most) {
        let body = format!("{{\"athletes\": [{}]}}", vec!["{}"; rows].join(","));
        let sent = app
            .request(Method::POST, "roster/imports")
            .query("mode", "delta")
            .dry_run();
        let answer = sent.body("application/json", body).await;
        match rows == most {
            true => drop(answer.expect(200)),
            false => drop(answer.expect_problem(413, "body_too_large")),
        }
    }
}

async fn assert_calendars(app: &Client, told: &Told) {
    let most = told.number("/calendars/text_bytes");
    for bytes in at_and_beyond(most) {
        let sent = app
            .request(Method::PUT, format!("calendars/{FREE_ID}"))
            .dry_run();
        let answer = sent.body("text/calendar", calendar_of(bytes)).await;
        match bytes == most {
            true => drop(answer.expect(201)),
            false => drop(answer.expect_problem(413, "body_too_large")),
        }
    }
}

async fn assert_pages(app: &Client, told: &Told) {
    let usual = told.number("/pages/usual_rows");
    let athletes: Vec<Value> = (0..usual)
        .map(|number| json!({ "external_id": format!("Q-{number}"), "display_name": format!("Q-{number}") }))
        .collect();
    let sent = app
        .post("roster/imports", json!({ "athletes": athletes }))
        .query("mode", "delta");
    sent.await.expect(200);
    let page = app.get("athletes").await.expect(200);
    assert_eq!(
        page["items"].as_array().map(Vec::len),
        Some(usual),
        "and one that is on the next page"
    );
    assert!(page["next"].is_string(), "{}", page.body);

    let most = told.number("/pages/most_rows");
    app.get("athletes").query("limit", most).await.expect(200);
    let refused = app
        .get("athletes")
        .query("limit", most + 1)
        .await
        .expect_problem(400, "bad_query");
    assert_eq!(
        refused["errors"][0]["allowed"],
        format!("whole number from 1 to {most}")
    );
}

async fn assert_ranges(coach: &Client, athlete: &Athlete, told: &Told) {
    let last = date(2026, 11, 8);
    let days = told.number("/ranges/days");
    for length in at_and_beyond(days) {
        let from = back(last, (times(length) - 1).days());
        let read = coach
            .get(format!("athletes/{}/load", athlete.id()))
            .query("from", from)
            .query("to", last)
            .await;
        assert_range(read, length == days, &format!("at most {days} days"));
    }
    let monday = date(2026, 11, 2);
    let weeks = told.number("/ranges/weeks");
    for length in at_and_beyond(weeks) {
        let from = week(back(monday, (times(length) - 1).weeks()));
        let read = coach
            .get(format!("athletes/{}/weeks", athlete.id()))
            .query("from", from)
            .query("to", week(monday))
            .await;
        assert_range(read, length == weeks, &format!("at most {weeks} weeks"));
    }
}

#[track_caller]
fn assert_range(answer: e2e::Answer, is_taken: bool, allowed: &str) {
    if is_taken {
        answer.expect(200);
    } else {
        let refused = answer.expect_problem(400, "bad_query");
        assert_eq!(refused["errors"][0]["allowed"], allowed);
    }
}

async fn assert_plans(coach: &Client, told: &Told) {
    let most = told.number("/plans/weeks");
    for weeks in at_and_beyond(most) {
        let plan = json!({ "first_week": "2026-W46", "weeks": weeks, "sessions": [] });
        let asked =
            json!({ "plan": plan, "history": { "week_loads_au": [1000, 1000, 1000, 1000] } });
        let answer = coach.post("plan-checks", asked).await;
        if weeks == most {
            answer.expect(200);
        } else {
            let refused = answer.expect_problem(422, "invalid");
            assert_eq!(
                refused["errors"][0]["allowed"],
                format!("whole number from 1 to {most}")
            );
        }
    }
}

on_both_databases! {
    async fn what_is_told_of_requests_is_enforced(database: Database) {
        let server = Server::start(database).await;
        let told = Told::by(&server).await;
        let app = server.club("Havneby Handball").await.as_role("integration");
        let calls = [
            ("squads", r#"{"name": "U16"}"#, "/requests/body_bytes"),
            ("sessions/bulk", r#"{"sessions": []}"#, "/requests/bulk_body_bytes"),
        ];
        for (path, json, limit) in calls {
            let most = told.number(limit);
            for bytes in at_and_beyond(most) {
                let sent = app.request(Method::POST, path).dry_run();
                let answer = sent.body("application/json", padded(json, bytes)).await;
                match bytes == most {
                    true => assert!((200..300).contains(&answer.status), "{path}: {}", answer.text()),
                    false => drop(answer.expect_problem(413, "body_too_large")),
                }
            }
        }
        let most = told.number("/requests/idempotency_key_bytes");
        for bytes in at_and_beyond(most) {
            let sent = app.post("squads", json!({ "name": "U18" })).idempotency_key(&"k".repeat(bytes)).await;
            match bytes == most {
                true => drop(sent.expect(201)),
                false => drop(sent.expect_problem(400, "bad_header")),
            }
        }
    }

    async fn what_is_told_of_rows_is_enforced(database: Database) {
        let server = Server::start(database).await;
        let told = Told::by(&server).await;
        let club = server.club("Havneby Handball").await;
        let squad = club.squad("U16").await;
        let _athlete = squad.athlete("P-07").await;
        let app = club.as_role("integration");
        assert_bulk_rows(&app, &told).await;
        assert_line(&app, &told).await;
        assert_rosters(&app, &told).await;
        assert_calendars(&app, &told).await;
        assert_pages(&app, &told).await;
    }

    async fn what_is_told_of_time_is_enforced(database: Database) {
        let server = Server::start(database).await;
        let told = Told::by(&server).await;
        let club = server.club("Havneby Handball").await;
        club.example_policy().await;
        let athlete = club.squad("U16").await.athlete("P-07").await;
        let coach = club.as_role("coach");
        assert_ranges(&coach, &athlete, &told).await;
        assert_plans(&coach, &told).await;
    }

    async fn a_revoked_token_is_told_nothing(database: Database) {
        let server = Server::start(database).await;
        let club = server.club("Havneby Handball").await;
        let coach = club.client(Identity::role("coach").subject("coach-3"));
        coach.get("/v1/limits").await.expect(200);
        let revocation = json!({ "subject": "coach-3", "reason": "telephone lost" });
        club.as_role("club_admin").post("revocations", revocation).await.expect(201);
        coach.get("/v1/limits").await.expect_problem(401, "unauthenticated");
    }
}

#[tokio::test]
async fn the_quota_that_is_told_is_the_one_that_is_announced() {
    let setup = Server::setup(Database::Sqlite).setting("PLIMSOLL_RATE_LIMIT", "7");
    let mut server = setup.start().await;
    let operator = server.as_role("operator");
    let answer = operator.get("/v1/limits").await.expect(200);
    let (requests, window) = (
        &answer["rate_limit"]["requests"],
        &answer["rate_limit"]["window_seconds"],
    );
    assert_eq!(requests, 7);
    let policy = format!("\"default\";q={requests};w={window}");
    assert_eq!(answer.header("ratelimit-policy"), Some(policy.as_str()));
    for _ in 1..7 {
        operator.get("/v1/limits").await.expect(200);
    }
    operator
        .get("/v1/limits")
        .await
        .expect_problem(429, "too_many_requests");

    let changed = [("PLIMSOLL_RATE_LIMIT", "off"), ("PLIMSOLL_MAIL_QUOTA", "9")];
    server.set_and_restart(&changed).await;
    let answer = operator.get("/v1/limits").await.expect(200);
    assert_eq!(
        (&answer["rate_limit"], answer.header("ratelimit-policy")),
        (&Value::Null, None)
    );
    assert_eq!(answer["mail"]["mails"], 9);
}

/// Where nothing is set, what is told is the document's example, numbers and nothing else, whoever asks.
#[tokio::test]
async fn the_documents_example_is_what_is_told_where_nothing_is_set() {
    let setup = Server::setup(Database::Sqlite).setting("PLIMSOLL_RATE_LIMIT", "600");
    let server = setup.start().await;
    let club = server.club("Havneby Handball").await;
    let document = Document::committed();
    let example = &document.json()["components"]["schemas"]["LimitsAnswer"]["example"];
    for (role, _) in document.reach().filter(|(role, _)| *role != "operator") {
        let told = club.as_role(role).get("/v1/limits").await.expect(200);
        assert_eq!(&told.body, example, "{role}");
    }
    for group in example.as_object().expect("groups").values() {
        for (name, limit) in group.as_object().expect("limits") {
            assert!(limit.is_u64() || limit.is_null(), "{name}: {limit}");
        }
    }
}

/// What the document says beside a parameter is what is enforced.
#[test]
fn the_document_knows_the_limits_of_parameters() {
    let document = Document::committed();
    let told = Told(document.json()["components"]["schemas"]["LimitsAnswer"]["example"].clone());
    let mut seen = 0;
    for operation in document.every_operation() {
        for parameter in operation.body["parameters"]
            .as_array()
            .into_iter()
            .flatten()
        {
            let (bound, limit) = match parameter["name"].as_str() {
                Some("limit") => ("maximum", "/pages/most_rows"),
                Some("Idempotency-Key") => ("maxLength", "/requests/idempotency_key_bytes"),
                _ => continue,
            };
            assert_eq!(
                parameter["schema"][bound],
                told.number(limit),
                "{}",
                operation.name()
            );
            seen += 1;
        }
    }
    assert!(seen > 20, "{seen}");
}
