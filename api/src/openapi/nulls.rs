//! When a field is null and when it is left out.
//!
//! An answer says `null` where there is nothing, so a field that may be null is always there; a field that may be left out is
//! never null. Generated clients then have one case to tell apart, not two. The derive leaves every optional field open to
//! both, so the document is completed here; that answers keep to it is tested over HTTP.

use utoipa::openapi::schema::{AdditionalProperties, Object, Schema, SchemaType};
use utoipa::openapi::{OpenApi, RefOr, Type};

/// Requires every field of an answer that may be null.
pub(super) fn require(document: &mut OpenApi) {
    let components = document.components.get_or_insert_default();
    for schema in components.schemas.values_mut() {
        if let RefOr::T(Schema::Object(object)) = schema
            && !is_body(object)
        {
            let nullable = object
                .properties
                .iter()
                .filter(|(_, field)| may_be_null(field));
            for (name, _) in nullable {
                if !object.required.contains(name) {
                    object.required.push(name.clone());
                }
            }
        }
    }
}

/// A body that is sent refuses unknown fields; a caller may leave out what may be null.
fn is_body(object: &Object) -> bool {
    matches!(
        object.additional_properties.as_deref(),
        Some(AdditionalProperties::FreeForm(false))
    )
}

fn may_be_null(field: &RefOr<Schema>) -> bool {
    match field {
        RefOr::T(Schema::Object(object)) => includes_null(&object.schema_type),
        RefOr::T(Schema::Array(array)) => includes_null(&array.schema_type),
        RefOr::T(Schema::OneOf(choice)) => choice.items.iter().any(may_be_null),
        _ => false,
    }
}

fn includes_null(schema_type: &SchemaType) -> bool {
    match schema_type {
        SchemaType::Type(only) => *only == Type::Null,
        SchemaType::Array(types) => types.contains(&Type::Null),
        SchemaType::AnyValue => false,
    }
}
