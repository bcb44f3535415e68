//! Bodies: unreadable ones, readable ones of the wrong shape, and wrong types in every field of every call. They are refused before
//! anything of them reaches a database, so one is enough.

use e2e::Operation;

use crate::*;

/// Every operation with a JSON body, and the media type of that body.
fn with_body(document: &Document) -> Vec<(Operation, &'static str)> {
    let json_type = |operation: &Operation| {
        let content = &operation.body["requestBody"]["content"];
        ["application/json", "application/merge-patch+json"]
            .into_iter()
            .find(|name| content.get(name).is_some())
    };
    let operations = document.operations().into_iter();
    operations
        .filter_map(|operation| json_type(&operation).map(|media_type| (operation, media_type)))
        .collect()
}

/// Whether its body is of many rows: larger than others, and answered row by row.
fn is_bulk(path: &str) -> bool {
    path.ends_with("/bulk") || path.ends_with("/imports")
}

/// The names of the fields that a body may have.
fn fields(document: &Document, operation: &Operation, media_type: &str) -> Vec<String> {
    let schema = document.resolved(&operation.body["requestBody"]["content"][media_type]["schema"]);
    let properties = schema["properties"]
        .as_object()
        .expect("a body is an object");
    properties.keys().cloned().collect()
}

struct Unreadable {
    case: &'static str,
    body: Vec<u8>,
}

fn unreadable() -> Vec<Unreadable> {
    let case = |case, body: &[u8]| Unreadable {
        case,
        body: body.to_vec(),
    };
    let deep = |open: &str, inner: &str, close: &str| {
        format!("{}{inner}{}", open.repeat(100_000), close.repeat(100_000)).into_bytes()
    };
    vec![
        case("empty", b""),
        case("only space", b" \r\n"),
        case("cut", b"{\"name\":"),
        case("two documents", b"{} {}"),
        case("bad UTF-8", b"{\"name\":\"\xff\xfe\"}"),
        case("half a surrogate", b"{\"name\":\"\\ud800\"}"),
        case("NUL", b"{\"name\":\"a\0b\"}"),
        case("only NUL", b"\0"),
        case("UTF-16", b"\xff\xfe{\0}\0"),
        case("1e999", b"{\"minutes\":1e999}"),
        case("NaN", b"{\"minutes\":NaN}"),
        case("Infinity", b"{\"minutes\":-Infinity}"),
        case("a comment", b"{/* */}"),
        case("form", b"name=Asta&rpe=6"),
        Unreadable {
            case: "deep lists",
            body: deep("[", "", "]"),
        },
        Unreadable {
            case: "deep objects",
            body: deep("{\"a\":", "1", "}"),
        },
        Unreadable {
            case: "deep and cut",
            body: deep("[{\"a\":", "", ""),
        },
    ]
}

#[tokio::test]
async fn what_is_not_json_is_refused() {
    let server = Server::start(Database::Sqlite).await;
    let (writes, codes) = (Writes::prepare(&server).await, Codes::of(&server).await);
    let document = Document::served_by(&server).await;
    for (operation, media_type) in with_body(&document) {
        for Unreadable { case, body } in unreadable() {
            let request = writes.of(&operation);
            let answer = request.body(media_type, body).await;
            codes.assert_refused(case, &answer);
            // A removal may come without a body; then the reason is missing.
            let expected: &[&str] = match (operation.method.as_str(), case) {
                ("DELETE", "empty") => &["invalid"],
                (_, "deep lists" | "deep and cut") => &["not_json", "invalid"],
                _ => &["not_json"],
            };
            let code = answer.code().expect("a code");
            assert!(
                expected.contains(&code),
                "{case}: {}: {}",
                answer.request,
                answer.text()
            );
        }
    }
    assert_alive(&server).await;
}

#[tokio::test]
async fn what_is_no_object_is_refused() {
    let server = Server::start(Database::Sqlite).await;
    let (writes, codes) = (Writes::prepare(&server).await, Codes::of(&server).await);
    let document = Document::served_by(&server).await;
    for (operation, media_type) in with_body(&document) {
        let as_many = vec![Value::Null; fields(&document, &operation, media_type).len()];
        for body in [
            json!([]),
            json!([{}]),
            Value::Array(as_many),
            json!("text"),
            json!(7),
            json!(true),
            json!(null),
        ] {
            let request = writes.of(&operation);
            let answer = request.body(media_type, body.to_string()).await;
            codes.assert_refused(&body.to_string(), &answer);
            let answer = answer.expect_problem(422, "invalid");
            if operation.is_scim() {
                assert_eq!(answer["scimType"], "invalidSyntax", "{}", answer.text());
                continue;
            }
            let error = &answer["errors"][0];
            assert_eq!(
                (&error["pointer"], &error["code"]),
                (&json!(""), &json!("wrong_type")),
                "{body}: {}",
                answer.text()
            );
        }
    }
    assert_alive(&server).await;
}

#[tokio::test]
async fn fields_that_are_unknown_or_there_twice_are_named() {
    let server = Server::start(Database::Sqlite).await;
    let (writes, codes) = (Writes::prepare(&server).await, Codes::of(&server).await);
    let document = Document::served_by(&server).await;
    for (operation, media_type) in with_body(&document) {
        for name in [
            "nobody_knows",
            "role",
            "club_id",
            "created_at",
            "verified",
            "__proto__",
            "a/b~c",
        ] {
            if fields(&document, &operation, media_type)
                .iter()
                .any(|field| field == name)
            {
                continue;
            }
            let request = writes.of(&operation);
            let answer = request
                .body(media_type, json!({ name: "x" }).to_string())
                .await;
            codes.assert_refused(name, &answer);
            if operation.is_scim() {
                assert_eq!(answer["scimType"], "invalidSyntax", "{}", answer.text());
                continue;
            }
            let error = &answer["errors"][0];
            let pointer = format!("/{}", name.replace('~', "~0").replace('/', "~1"));
            assert_eq!(
                (&error["pointer"], &error["code"]),
                (&json!(pointer), &json!("unknown_field")),
                "{}",
                answer.text()
            );
        }
        // What is otherwise accepted, with its first field once more.
        let request = writes.of(&operation);
        let good = request.text();
        let object: Value = serde_json::from_str(&good).expect("JSON");
        let (first, value) = object
            .as_object()
            .and_then(|object| object.iter().next())
            .expect("a field");
        let twice = good.replacen('{', &format!("{{\"{first}\": {value}, "), 1);
        let answer = request.body(media_type, twice).await;
        codes.assert_refused("twice", &answer);
        if operation.is_scim() {
            assert_eq!(answer["scimType"], "invalidSyntax", "{}", answer.text());
            continue;
        }
        let error = &answer["errors"][0];
        assert_eq!(
            (&error["pointer"], &error["code"]),
            (&json!(format!("/{first}")), &json!("duplicate_field")),
            "{}",
            answer.text()
        );
    }
    assert_alive(&server).await;
}

#[tokio::test]
async fn wrong_types_are_refused_in_every_field() {
    let server = Server::start(Database::Sqlite).await;
    let (writes, codes) = (Writes::prepare(&server).await, Codes::of(&server).await);
    let document = Document::served_by(&server).await;
    let wrong = [
        json!({}),
        json!({ "a": [1] }),
        json!([[[]]]),
        json!(true),
        json!(-1),
        json!(1e300),
        json!(""),
        json!("\u{0}"),
        json!("x".repeat(100_000)),
    ];
    let long_number = "123456789012345678901234567890";
    for (operation, media_type) in with_body(&document) {
        for field in fields(&document, &operation, media_type) {
            let texts = wrong
                .iter()
                .map(Value::to_string)
                .chain([long_number.to_owned(), format!("-{long_number}.5")]);
            for value in texts {
                let request = writes.of(&operation);
                let body = format!("{{\"{field}\": {value}}}");
                let answer = request.dry_run().body(media_type, body.clone()).await;
                // What is right alone (a flag, an empty list) may pass, as a trial.
                let alone = operation.method == "PATCH"
                    || operation.path.ends_with("/mail-names")
                    || operation.is_scim();
                if alone && answer.status == 200 {
                    continue;
                }
                // In a bulk call the rows say what is wrong with them.
                if is_bulk(&operation.path) && answer.status == 200 {
                    let taken = answer["accepted"].as_u64().or(answer["created"].as_u64());
                    assert_eq!(taken, Some(0), "{body}");
                    continue;
                }
                codes.assert_refused(
                    &format!("{field}: {}", &value[..value.len().min(40)]),
                    &answer,
                );
            }
        }
    }
    assert_alive(&server).await;
}

#[tokio::test]
async fn types_and_encodings_of_the_body_are_checked() {
    let server = Server::start(Database::Sqlite).await;
    let (writes, codes) = (Writes::prepare(&server).await, Codes::of(&server).await);
    let document = Document::served_by(&server).await;
    for (operation, media_type) in with_body(&document) {
        for odd in [
            "text/plain",
            "application/xml",
            "application/x-www-form-urlencoded",
            "multipart/form-data; boundary=x",
            "application/json/x",
            "json",
            "",
            "*/*",
            "application/json; charset=utf-16",
            "application/json; charset=latin1",
        ] {
            let request = writes.of(&operation);
            let answer = request.body(odd, "{}").await;
            codes.assert_refused(odd, &answer);
            answer.expect_problem(415, "wrong_content_type");
        }
        let request = writes.of(&operation);
        let answer = request.untyped_body("{}").await;
        codes.assert_refused("no type", &answer);
        answer.expect_problem(415, "wrong_content_type");
        for encoding in [
            "gzip",
            "br",
            "zstd",
            "deflate",
            "gzip, gzip",
            "GZIP",
            "nonsense",
        ] {
            let request = writes.of(&operation);
            let answer = request
                .body(media_type, "{}")
                .header("Content-Encoding", encoding)
                .await;
            codes.assert_refused(encoding, &answer);
            answer.expect_problem(415, "wrong_content_type");
        }
    }
    assert_alive(&server).await;
}

#[tokio::test]
async fn a_body_has_a_largest_size() {
    let server = Server::start(Database::Sqlite).await;
    let (writes, codes) = (Writes::prepare(&server).await, Codes::of(&server).await);
    let document = Document::served_by(&server).await;
    for (operation, media_type) in with_body(&document) {
        let mebibytes = if is_bulk(&operation.path) { 33 } else { 9 };
        let body = format!("{{\"name\": \"{}\"}}", "x".repeat(mebibytes << 20));
        let request = writes.of(&operation);
        let answer = request.body(media_type, body).await;
        codes.assert_refused("too large", &answer);
        answer.expect_problem(413, "body_too_large");
    }
    assert_alive(&server).await;
}
