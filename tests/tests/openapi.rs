//! The OpenAPI document: the same from the command line and from the service, whole, and backed by what is served.

use std::collections::{BTreeSet, HashSet};

use e2e::{Database, Document, Server};
use serde_json::{Value, json};

async fn served() -> (Server, Document) {
    let server = Server::start(Database::Sqlite).await;
    let document = Document::served_by(&server).await;
    (server, document)
}

/// Calls `visit` with every object of a document.
fn walk<'a>(value: &'a Value, visit: &mut impl FnMut(&'a serde_json::Map<String, Value>)) {
    match value {
        Value::Object(members) => {
            visit(members);
            members.values().for_each(|member| walk(member, visit));
        }
        Value::Array(items) => items.iter().for_each(|item| walk(item, visit)),
        _ => {}
    }
}

#[tokio::test]
async fn the_command_line_prints_what_is_served() {
    let server = Server::start(Database::Sqlite).await;
    let answer = server.anonymous().get("/openapi.json").await.expect(200);
    let printed = server.run(&["openapi"]);
    assert!(printed.status.success());
    assert_eq!(String::from_utf8_lossy(&printed.stdout), answer.text());
    assert_eq!(answer["openapi"], "3.1.0");
}

#[tokio::test]
async fn every_operation_says_what_it_is() {
    let (_server, document) = served().await;
    let tags: HashSet<&str> = document.json()["tags"]
        .as_array()
        .into_iter()
        .flatten()
        .filter_map(|tag| tag["name"].as_str())
        .collect();
    let mut ids = HashSet::new();
    for operation in document.every_operation() {
        let (name, path, body) = (operation.name(), &operation.path, &operation.body);
        let id = body["operationId"].as_str().unwrap_or_default();
        assert!(!id.is_empty(), "{name} has no operationId");
        assert!(ids.insert(id.to_owned()), "{name}: {id} is there twice");
        let own: Vec<&str> = body["tags"]
            .as_array()
            .into_iter()
            .flatten()
            .filter_map(Value::as_str)
            .collect();
        assert!(
            own.len() == 1 && tags.contains(own[0]),
            "{name}: tags {own:?}"
        );
        assert!(
            !body["summary"].as_str().unwrap_or_default().is_empty(),
            "{name} has no summary"
        );
        if path.starts_with("/v1/") || operation.is_scim() {
            let secured = body.get("security").unwrap_or(&document.json()["security"]);
            let bearer = json!({ "bearer": [] });
            let secured = secured.as_array().expect("schemes");
            assert!(
                secured.contains(&bearer) || operation.takes_list_cookie(),
                "{name}: security"
            );
            assert!(!operation.is_open(), "{name}: security");
        } else {
            assert_eq!(
                body["security"],
                json!([{}]),
                "{name} says openly that it needs no token"
            );
        }
    }
}

#[tokio::test]
async fn what_lies_under_a_club_documents_401_403_and_404() {
    let (_server, document) = served().await;
    for operation in document.every_operation() {
        let (name, body) = (operation.name(), &operation.body);
        if operation.has_club() {
            for status in ["401", "403", "404"] {
                let content = &body["responses"][status]["content"];
                let media_type = match operation.is_scim() {
                    true => "application/scim+json",
                    false => "application/problem+json",
                };
                assert!(
                    content.get(media_type).is_some(),
                    "{name} does not document {status}"
                );
            }
        }
    }
}

#[tokio::test]
async fn every_json_answer_has_an_example() {
    let (_server, document) = served().await;
    for operation in document.every_operation() {
        let (name, path, body) = (operation.name(), &operation.path, &operation.body);
        // The document itself is no example of anything else.
        if path == "/openapi.json" {
            continue;
        }
        let responses = body["responses"].as_object().expect("responses");
        for (status, response) in responses
            .iter()
            .filter(|(status, _)| status.starts_with('2'))
        {
            let content = &response["content"]["application/json"];
            if content.is_null() {
                continue;
            }
            let given = content.get("example").is_some() || content.get("examples").is_some();
            assert!(
                given || shows_an_example(&document, &content["schema"], 0),
                "{name} {status} shows no example"
            );
        }
    }
}

/// Whether a schema has an example, or has parts that do.
fn shows_an_example(document: &Document, schema: &Value, depth: u8) -> bool {
    let schema = document.resolved(schema);
    if schema.get("example").is_some() || schema.get("examples").is_some() {
        return true;
    }
    if depth == 4 {
        return false;
    }
    let properties = schema["properties"].as_object().into_iter().flatten();
    let alternatives = ["oneOf", "anyOf", "allOf"]
        .into_iter()
        .flat_map(|name| schema[name].as_array().into_iter().flatten());
    properties
        .map(|(_, property)| property)
        .chain(schema.get("items"))
        .chain(alternatives)
        .any(|part| shows_an_example(document, part, depth + 1))
}

#[tokio::test]
async fn every_reference_leads_somewhere() {
    let (_server, document) = served().await;
    let mut references = 0;
    walk(document.json(), &mut |members| {
        if let Some(reference) = members.get("$ref").and_then(Value::as_str) {
            document.target(reference);
            references += 1;
        }
    });
    assert!(references > 0);
}

#[tokio::test]
async fn every_code_of_the_document_has_its_page() {
    let (server, document) = served().await;
    let list = server.anonymous().get("/problems").await.expect(200);
    let items = list["items"].as_array().expect("items").clone();
    let known: BTreeSet<&str> = items
        .iter()
        .filter_map(|item| item["code"].as_str())
        .collect();
    assert_eq!(known.len(), items.len(), "a code is there twice");
    for code in mentioned(document.json()) {
        assert!(
            known.contains(code.as_str()),
            "{code} is not under /problems"
        );
    }
    for item in &items {
        let code = item["code"].as_str().expect("a code");
        let page = server
            .anonymous()
            .get(format!("/problems/{code}"))
            .await
            .expect(200);
        let title = item["title"].as_str().expect("a title");
        for part in [title, code] {
            assert!(
                page.text().contains(part),
                "/problems/{code} does not say {part}"
            );
        }
    }
}

/// Codes of problems and warnings in examples and enumerations.
fn mentioned(document: &Value) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    walk(document, &mut |members| {
        let is_problem = ["detail", "pointer", "title"]
            .iter()
            .any(|name| members.contains_key(*name));
        if let Some(code) = members.get("code").and_then(Value::as_str)
            && is_problem
        {
            found.insert(code.to_owned());
        }
        let warnings = members
            .get("warnings")
            .and_then(Value::as_array)
            .into_iter()
            .flatten();
        let of_schema = members
            .get("code")
            .and_then(|code| code["enum"].as_array())
            .into_iter()
            .flatten();
        let is_problem_schema = members.contains_key("detail");
        found.extend(warnings.filter_map(Value::as_str).map(str::to_owned));
        if is_problem_schema {
            found.extend(of_schema.filter_map(Value::as_str).map(str::to_owned));
        }
    });
    assert!(found.contains("rpe_out_of_range"), "{found:?}");
    found
}

#[tokio::test]
async fn the_documentation_page_works_offline() {
    let server = Server::start(Database::Sqlite).await;
    let anonymous = server.anonymous();
    let moved = anonymous.get("/docs").await.expect(308);
    assert_eq!(moved.header("location"), Some("/docs/"));
    let page = anonymous.get("/docs/").await.expect(200).text();
    let linked: Vec<String> = ["src=\"", "href=\""]
        .iter()
        .flat_map(|attribute| page.split(attribute).skip(1))
        .filter_map(|rest| rest.split('"').next())
        .map(str::to_owned)
        .collect();
    assert!(
        linked.iter().any(|name| name.ends_with(".js")),
        "{linked:?}"
    );
    for name in linked {
        let path = format!("/docs/{}", name.trim_start_matches("./"));
        assert!(!name.contains("//"), "{name} is fetched from elsewhere");
        let file = anonymous.get(&path).await.expect(200);
        assert!(!file.bytes.is_empty(), "{path} is empty");
        if path.ends_with("initializer.js") {
            let text = file.text();
            assert!(text.contains("/openapi.json"), "{text}");
            assert!(
                !text.contains("http://") && !text.contains("https://"),
                "{text}"
            );
        }
    }
}
