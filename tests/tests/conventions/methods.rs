//! Methods: `HEAD` as `GET`, 405 with `Allow`, 404 for paths that are not there.

use std::collections::BTreeMap;

use crate::*;

const ID: &str = "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b";

#[tokio::test]
async fn every_path_answers_other_methods_with_405() {
    let server = Server::start(Database::Sqlite).await;
    let document = Document::served_by(&server).await;
    let mut methods: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for operation in document.every_operation() {
        methods
            .entry(operation.path)
            .or_default()
            .push(operation.method);
    }
    for (path, taken) in &methods {
        for method in [
            "GET", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "FOO",
        ] {
            let takes = |one: &String| one == method;
            let read_as_another = methods
                .iter()
                .any(|(other, taken)| fits(other, path) && taken.iter().any(takes));
            if read_as_another {
                continue;
            }
            let method = Method::from_bytes(method.as_bytes()).expect("a method");
            let answer = server.anonymous().request(method, filled(path)).await;
            let answer = answer.expect_problem(405, "method_not_allowed");
            let allow = answer.header("allow").unwrap_or_default().to_owned();
            let mut allowed: Vec<&str> = allow.split(", ").filter(|name| *name != "HEAD").collect();
            let mut expected: Vec<&str> = taken.iter().map(String::as_str).collect();
            allowed.sort_unstable();
            expected.sort_unstable();
            assert_eq!(allowed, expected, "{}", answer.request);
            assert_eq!(allow.contains("HEAD"), allow.contains("GET"));
            assert_eq!(answer.header("access-control-allow-origin"), None);
        }
    }
}

/// Whether a path is read as this template: `…/sessions/bulk` is also a `…/sessions/{session_id}`.
fn fits(template: &str, path: &str) -> bool {
    let (template, path): (Vec<&str>, Vec<&str>) =
        (template.split('/').collect(), path.split('/').collect());
    template.len() == path.len()
        && template
            .iter()
            .zip(&path)
            .all(|(one, other)| one.starts_with('{') || one == other)
}

/// The path with something in place of each parameter.
fn filled(path: &str) -> String {
    let part = |part: &str| match part {
        "{week}" => "2026-W45".to_owned(),
        "{code}" => "not_found".to_owned(),
        _ if part.starts_with('{') => ID.to_owned(),
        _ => part.to_owned(),
    };
    path.split('/').map(part).collect::<Vec<_>>().join("/")
}

#[tokio::test]
async fn a_path_that_is_not_there_is_a_problem() {
    let server = Server::start(Database::Sqlite).await;
    for path in [
        "/",
        "/v1",
        "/v2/clubs",
        "/v1/clubs/x/y/z",
        "/health",
        "/problems/no_such_code",
        "/openapi.yaml",
        "/%00",
        "/..%2f..%2fetc/passwd",
        "/v1//clubs",
        "/docs/../../Cargo.toml",
        "/docs/no-such-file.js",
    ] {
        let answer = server.anonymous().get(path).await;
        assert_eq!(answer.status, 404, "{path}: {}", answer.text());
        if !path.starts_with("/docs") {
            answer.expect_problem(404, "not_found");
        }
    }
}

on_both_databases! {
    async fn head_is_get_without_a_body(database: Database) {
        let world = world(database).await;
        let made = world.app().post("sessions", world.report("r-1")).await.expect(201);
        for path in [
            format!("sessions/{}", made.string("session_id")), "sessions".to_owned(), "athletes".to_owned(),
            "/health/live".to_owned(), "/openapi.json".to_owned(),
        ] {
            let get = world.app().get(&path).await.expect(200);
            let head = world.app().request(Method::HEAD, &path).await.expect(200);
            assert!(head.bytes.is_empty(), "{path}");
            for name in ["content-type", "etag", "link", "cache-control"] {
                assert_eq!(head.header(name), get.header(name), "{path}: {name}");
            }
        }
        let missing = world.app().request(Method::HEAD, format!("sessions/{ID}")).await;
        assert_eq!((missing.status, missing.bytes.len()), (404, 0));
    }
}
