//! Hostile requests to every route that takes a body or a query: each is refused as a problem that names the field,
//! never with a failure of the service, and the service goes on.

mod bodies;
mod bulk;
mod connections;
mod queries;
mod texts;

use std::collections::BTreeSet;

pub(crate) use e2e::{Answer, Database, Document, Identity, Server, Writes, on_both_databases};
pub(crate) use serde_json::{Value, json};

/// The codes of `/problems`.
pub(crate) struct Codes(BTreeSet<String>);

impl Codes {
    pub(crate) async fn of(server: &Server) -> Self {
        let list = server.anonymous().get("/problems").await.expect(200);
        let items = list["items"].as_array().expect("items");
        Self(
            items
                .iter()
                .map(|item| item["code"].as_str().expect("a code").to_owned())
                .collect(),
        )
    }

    /// Asserts that an answer is a refusal as it should be: a 4xx problem with a known code and the request's id, whose
    /// errors name the field, the value given and what is allowed. Nothing internal is in it.
    #[track_caller]
    pub(crate) fn assert_refused(&self, case: &str, answer: &Answer) {
        let text = answer.text();
        let what = format!(
            "{case}: {}: {}: {}",
            answer.request,
            answer.status,
            &text[..text.len().min(600)]
        );
        assert!((400..500).contains(&answer.status), "{what}");
        for internal in [
            "panicked", "diesel", "SELECT ", "INSERT ", ".rs:", "sqlite", "postgres",
        ] {
            assert!(!text.contains(internal), "{internal} is told: {what}");
        }
        assert!(
            answer["detail"]
                .as_str()
                .is_some_and(|detail| !detail.is_empty()),
            "{what}"
        );
        assert!(
            answer.code().is_some_and(|code| self.0.contains(code)),
            "{what}"
        );
        if answer.is_scim() {
            // A directory's refusal is one sentence, without a list of fields (RFC 7644, section 3.12).
            assert_eq!(answer["status"], answer.status.to_string(), "{what}");
            return;
        }
        let media_type = answer.header("content-type").unwrap_or_default();
        assert!(
            media_type.starts_with("application/problem+json"),
            "{media_type}: {what}"
        );
        assert_eq!(answer["status"], answer.status, "{what}");
        assert_eq!(
            answer["instance"].as_str(),
            answer.header("x-request-id"),
            "{what}"
        );
        for error in answer["errors"].as_array().into_iter().flatten() {
            self.assert_names_the_field(&what, error);
        }
    }

    #[track_caller]
    fn assert_names_the_field(&self, what: &str, error: &Value) {
        // Into the body, or the name of a parameter; `week` stands in the path.
        let pointer = error["pointer"]
            .as_str()
            .map(|pointer| pointer.trim_start_matches("week"));
        assert!(
            pointer.is_some_and(|pointer| pointer.is_empty() || pointer.starts_with(['/', '?'])),
            "{what}"
        );
        let code = error["code"].as_str().unwrap_or_default();
        assert!(self.0.contains(code), "{what}");
        assert!(
            error["allowed"].is_string(),
            "nothing is said to be allowed: {what}"
        );
        let nothing_given =
            ["missing_field", "reason_required", "review_date_required"].contains(&code);
        assert!(
            nothing_given || error.get("given").is_some(),
            "the value given is not repeated: {what}"
        );
    }
}

/// The service answers as if nothing had been.
pub(crate) async fn assert_alive(server: &Server) {
    server.anonymous().get("/health/live").await.expect(200);
    server.anonymous().get("/health/ready").await.expect(200);
    let log = server.log();
    assert!(!log.contains("panicked"), "{log}");
}
