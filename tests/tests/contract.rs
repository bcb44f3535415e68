//! Every answer of every operation is one that the OpenAPI document describes, refusals included; and its examples are
//! what they are examples of.

use e2e::{Database, Document, Operation, Server, Writes, on_both_databases};
use serde_json::Value;

fn is_read(operation: &Operation) -> bool {
    operation.method == "GET"
}

on_both_databases! {
    async fn answers_are_as_documented(database: Database) {
        let server = Server::start(database).await;
        let writes = Writes::prepare(&server).await;
        let document = Document::served_by(&server).await;
        let operations = document.operations();
        for operation in operations.iter().filter(|operation| is_read(operation)) {
            let answer = writes.read(operation).await;
            let answer = answer.expect(operation.good_status());
            document.assert_knows(operation, &answer);
        }
        for operation in operations.iter().filter(|operation| !is_read(operation)) {
            let answer = writes.of(operation).await;
            assert!(operation.is_good(answer.status), "{}: {}", operation.name(), answer.text());
            document.assert_knows(operation, &answer);
        }
    }

    async fn refusals_are_as_documented(database: Database) {
        let server = Server::start(database).await;
        let writes = Writes::prepare(&server).await;
        let stranger = server.club("Fjordby Handball").await;
        let document = Document::served_by(&server).await;
        for operation in document.operations().iter().filter(|operation| operation.path.starts_with("/v1/") || operation.is_scim()) {
            let path = writes.path(&operation.path);
            let anonymous = server.anonymous().request(operation.method(), &path).await.expect(401);
            document.assert_knows(operation, &anonymous);
            if operation.has_club() {
                let foreign = stranger.as_role("integration").request(operation.method(), &path).await.expect(404);
                document.assert_knows(operation, &foreign);
                let operator = server.as_role("operator").request(operation.method(), &path).await.expect(403);
                document.assert_knows(operation, &operator);
            }
            if is_read(operation) {
                continue;
            }
            for refused in [
                writes.of(operation).query("nobody", 1).await,
                writes.of(operation).without_header("If-Match").await,
                writes.of(operation).without_header("If-Match").if_match("\"77\"").await,
                writes.of(operation).dry_run().body("application/json", r#"{"nobody": 1}"#).await,
                writes.of(operation).dry_run().body("application/json", "{").await,
                writes.of(operation).dry_run().body("text/plain", "{}").await,
            ] {
                document.assert_knows(operation, &refused);
            }
        }
    }
}

#[tokio::test]
async fn examples_are_what_they_are_examples_of() {
    let server = Server::start(Database::Sqlite).await;
    let document = Document::served_by(&server).await;
    let schemas = document.json()["components"]["schemas"]
        .as_object()
        .expect("schemas");
    let mut examples = 0;
    for (name, schema) in schemas {
        assert_examples(&document, schema, name, &mut examples);
    }
    for operation in document.every_operation() {
        let body = &operation.body["requestBody"]["content"];
        let responses = operation.body["responses"].as_object().expect("responses");
        let contents = responses
            .values()
            .map(|response| &response["content"])
            .chain([body]);
        for content in contents
            .filter_map(Value::as_object)
            .flat_map(|content| content.iter())
        {
            // A patch holds some fields only.
            if content.0 != "application/merge-patch+json"
                && let Some(example) = content.1.get("example")
            {
                document.assert_valid(&content.1["schema"], example, &operation.name());
                examples += 1;
            }
        }
    }
    assert!(examples > 50, "only {examples} examples");
}

/// Checks the example of a schema and those of its parts.
fn assert_examples(document: &Document, schema: &Value, name: &str, examples: &mut usize) {
    if let Some(example) = schema.get("example") {
        document.assert_valid(schema, example, name);
        *examples += 1;
    }
    for (field, property) in schema["properties"].as_object().into_iter().flatten() {
        assert_examples(document, property, &format!("{name}.{field}"), examples);
    }
}
