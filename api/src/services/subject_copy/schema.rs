//! What a copy may hold, as a JSON Schema (draft 2020-12).

use serde_json::{Map, Value, json};

use crate::store::subject_records::catalogue::{Column, Form, Table, tables};

/// Where the schema is served.
pub const SCHEMA_PATH: &str = "/schemas/athlete-copy";

/// The schema of an athlete's copy, made from the catalogue of what is kept.
pub fn schema() -> Value {
    let text = || json!({ "type": "string" });
    let id = || json!({ "type": "string", "format": "uuid" });
    let of_table = |table: &'static Table| (table.name.to_owned(), list(table));
    let records: Map<String, Value> = tables().map(of_table).collect();
    let left_out = closed(
        [
            ("table", text()),
            ("column", json!({ "type": ["string", "null"] })),
            ("reason", text()),
        ],
        "A column that is left out, or a table where no column is named, and why.",
    );
    let mut schema = closed(
        [
            ("schema", json!({ "const": SCHEMA_PATH })),
            ("club_id", id()),
            ("athlete_id", id()),
            ("purpose", text()),
            (
                "made_at",
                json!({ "type": "string", "format": "date-time" }),
            ),
            ("note", text()),
            ("record_note", text()),
            ("records", closed(records, "The records, table by table.")),
            ("left_out", json!({ "type": "array", "items": left_out })),
        ],
        "All that a club keeps of an athlete.",
    );
    schema["$schema"] = json!("https://json-schema.org/draft/2020-12/schema");
    schema["$id"] = json!(SCHEMA_PATH);
    schema["title"] = json!("Athlete's copy");
    schema
}

fn list(table: &Table) -> Value {
    let fields = table
        .told()
        .map(|(column, field, form)| (field, value(column, form)));
    json!({ "type": "array", "items": closed(fields, &format!("A row is {}.", table.means)) })
}

/// An object with these members, each required, and no others.
fn closed<K: Into<String>>(
    members: impl IntoIterator<Item = (K, Value)>,
    description: &str,
) -> Value {
    let members: Map<String, Value> = members
        .into_iter()
        .map(|(name, member)| (name.into(), member))
        .collect();
    let required: Vec<&String> = members.keys().collect();
    json!({
        "type": "object", "description": description, "required": required, "additionalProperties": false,
        "properties": members,
    })
}

fn value(column: &Column, form: Form) -> Value {
    let (kind, format) = match form {
        Form::Id => (json!("string"), Some("uuid")),
        Form::Instant => (json!("string"), Some("date-time")),
        Form::Day => (json!("string"), Some("date")),
        Form::Whole => (json!("integer"), None),
        Form::Half => (json!("number"), None),
        Form::Truth => (json!("boolean"), None),
        Form::Document => (json!(["array", "object"]), None),
        Form::Text | Form::Sealed { .. } => (json!("string"), None),
    };
    let mut value = json!({ "type": kind, "description": column.means });
    if column.may_be_null {
        let mut kinds = kind.as_array().cloned().unwrap_or_else(|| vec![kind]);
        kinds.push(json!("null"));
        value["type"] = Value::Array(kinds);
    }
    if let Some(format) = format {
        value["format"] = json!(format);
    }
    value
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_field_is_described_required_and_typed() {
        let schema = schema();
        let records = &schema["properties"]["records"];
        let reports = &records["properties"]["session_reports"]["items"];
        assert_eq!(reports["properties"]["rpe"]["type"], "number");
        assert_eq!(
            reports["properties"]["note"]["type"],
            json!(["string", "null"])
        );
        assert_eq!(reports["properties"]["load_date"]["format"], "date");
        for table in tables() {
            let row = &records["properties"][table.name]["items"];
            assert_eq!(row["additionalProperties"], false, "{}", table.name);
            for (column, field, _) in table.told() {
                let described = row["properties"][field]["description"].as_str();
                assert_eq!(described, Some(column.means), "{}.{field}", table.name);
            }
        }
    }
}
