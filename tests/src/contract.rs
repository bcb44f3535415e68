//! The OpenAPI document as a contract: what is answered must be in it.

use std::collections::HashMap;
use std::sync::{Arc, Mutex};

use jsonschema::{Draft, Validator};
use serde_json::{Map, Value, json};

use crate::answer::Answer;
use crate::document::{Document, Operation};

impl Document {
    /// Asserts that the document knows an answer of an operation: its status, its media type, and its body by the schema.
    #[track_caller]
    pub fn assert_knows(&self, operation: &Operation, answer: &Answer) {
        let what = format!("{} {}: {}", operation.name(), answer.status, answer.text());
        let response = &operation.body["responses"][answer.status.to_string()];
        assert!(response.is_object(), "the status is not documented: {what}");
        let content = self.resolved(response)["content"].as_object();
        let Some(sent) = answer.header("content-type") else {
            assert!(
                content.is_none() && answer.bytes.is_empty(),
                "a body is documented and none came: {what}"
            );
            return;
        };
        let media_type = sent.split(';').next().unwrap_or_default().trim();
        let documented = content.and_then(|content| content.get(media_type));
        let documented =
            documented.unwrap_or_else(|| panic!("{media_type} is not documented: {what}"));
        if media_type.ends_with("json") {
            self.assert_valid(&documented["schema"], &answer.body, &what);
        }
    }

    /// Asserts that a value is what a schema of the document says, and has no fields beside those it names.
    #[track_caller]
    pub fn assert_valid(&self, schema: &Value, value: &Value, what: &str) {
        let validator = self.schemas.validator(schema);
        let faults: Vec<String> = validator
            .iter_errors(value)
            .map(|fault| format!("{}: {fault}", fault.instance_path()))
            .collect();
        assert!(faults.is_empty(), "{}\n{what}", faults.join("\n"));
    }
}

/// What the document's schemas are validated with, kept by their text.
pub(crate) struct Schemas {
    named: Map<String, Value>,
    made: Mutex<HashMap<String, Arc<Validator>>>,
}

impl Schemas {
    pub(crate) fn of(document: &Value) -> Self {
        let named = document["components"]["schemas"].as_object();
        let mut named = named.cloned().unwrap_or_default();
        named.values_mut().for_each(close);
        Self {
            named,
            made: Mutex::default(),
        }
    }

    fn validator(&self, schema: &Value) -> Arc<Validator> {
        let mut made = self.made.lock().expect("no panic while it was made");
        let validator = made.entry(schema.to_string()).or_insert_with(|| {
            let mut closed = schema.clone();
            close(&mut closed);
            let mut schemas = Map::new();
            self.add_referred(&closed, &mut schemas);
            let whole = json!({ "components": { "schemas": schemas }, "schema": closed, "$ref": "#/schema" });
            Arc::new(validator(&whole))
        });
        Arc::clone(validator)
    }

    /// Adds the named schemas that this one leads to: a validator of all of them takes a hundred times as long to make.
    fn add_referred(&self, schema: &Value, found: &mut Map<String, Value>) {
        match schema {
            Value::Object(members) => {
                let reference = members.get("$ref").and_then(Value::as_str);
                let name = reference.and_then(|it| it.strip_prefix("#/components/schemas/"));
                if let Some((name, referred)) = name.and_then(|name| self.named.get_key_value(name))
                    && found.insert(name.clone(), referred.clone()).is_none()
                {
                    self.add_referred(referred, found);
                }
                members
                    .values()
                    .for_each(|member| self.add_referred(member, found));
            }
            Value::Array(items) => items.iter().for_each(|item| self.add_referred(item, found)),
            _ => {}
        }
    }
}

/// Schemas of OpenAPI 3.1 are those of JSON Schema 2020-12.
fn validator(schema: &Value) -> Validator {
    let options = jsonschema::options()
        .with_draft(Draft::Draft202012)
        .should_validate_formats(true);
    options
        .build(schema)
        .unwrap_or_else(|error| panic!("no schema: {error}"))
}

/// Lets an object have the named fields only. A client may rely on no others, so none may come.
fn close(schema: &mut Value) {
    match schema {
        Value::Object(members) => {
            members.values_mut().for_each(close);
            let is_object = members.get("type") == Some(&json!("object"));
            if is_object
                && members.contains_key("properties")
                && !members.contains_key("additionalProperties")
            {
                members.insert("additionalProperties".to_owned(), json!(false));
            }
        }
        Value::Array(items) => items.iter_mut().for_each(close),
        _ => {}
    }
}
