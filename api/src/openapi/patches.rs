//! What a merge patch may hold.
//!
//! A patch is checked as the whole record that it results in, so a route names the record's input as its body. What is
//! sent is less: any of its fields, and null to take one out (RFC 7396). The document says so with a schema of its own.

use utoipa::openapi::path::Operation;
use utoipa::openapi::schema::{Object, OneOfBuilder, Schema, SchemaType};
use utoipa::openapi::{OpenApi, Ref, RefOr, Type};

const MEDIA_TYPE: &str = "application/merge-patch+json";
const SCHEMAS: &str = "#/components/schemas/";

/// Gives the body of every merge patch its own schema: `SessionPatch` for `SessionInput`.
pub(super) fn describe(document: &mut OpenApi) {
    let schemas = &mut document.components.get_or_insert_default().schemas;
    let patches = document
        .paths
        .paths
        .values_mut()
        .filter_map(|item| item.patch.as_mut());
    for body in patches.filter_map(body) {
        let RefOr::Ref(reference) = &body else {
            continue;
        };
        let input = reference
            .ref_location
            .trim_start_matches(SCHEMAS)
            .to_owned();
        if let Some(RefOr::T(Schema::Object(whole))) = schemas.get(&input) {
            let name = format!("{}Patch", input.trim_end_matches("Input"));
            let part = RefOr::T(Schema::Object(part_of(whole, &input)));
            *body = RefOr::Ref(Ref::from_schema_name(&name));
            schemas.insert(name, part);
        }
    }
}

fn body(operation: &mut Operation) -> Option<&mut RefOr<Schema>> {
    let RefOr::T(body) = operation.request_body.as_mut()? else {
        return None;
    };
    let RefOr::T(content) = body.content.get_mut(MEDIA_TYPE)? else {
        return None;
    };
    content.schema.as_mut()
}

/// Any of the fields, each of them or null.
fn part_of(whole: &Object, input: &str) -> Object {
    let mut part = whole.clone();
    part.description = Some(format!("Any fields of {input}; null takes one out."));
    part.required.clear();
    part.example = None;
    part.examples.clear();
    part.properties.values_mut().for_each(allow_null);
    part
}

fn allow_null(field: &mut RefOr<Schema>) {
    let schema_type = match field {
        RefOr::T(Schema::Object(object)) => &mut object.schema_type,
        RefOr::T(Schema::Array(array)) => &mut array.schema_type,
        RefOr::T(_) => return,
        RefOr::Ref(_) => {
            let or_null = OneOfBuilder::new()
                .item(field.clone())
                .item(Object::with_type(Type::Null));
            *field = or_null.into();
            return;
        }
    };
    if let SchemaType::Type(only) = schema_type {
        *schema_type = SchemaType::Array(vec![only.clone(), Type::Null]);
    }
}
