//! What the service says about itself (RFC 7644, section 4).

use serde_json::{Value, json};

use super::LIST;
use super::kept::{TYPES, schemas};

/// Most resources of one answer.
pub const MOST_RESULTS: usize = 500;

/// What is supported (RFC 7643, section 5).
pub fn service_provider_config(base: &str) -> Value {
    json!({
        "schemas": ["urn:ietf:params:scim:schemas:core:2.0:ServiceProviderConfig"],
        "patch": { "supported": true },
        "bulk": { "supported": false, "maxOperations": 0, "maxPayloadSize": 0 },
        "filter": { "supported": true, "maxResults": MOST_RESULTS },
        "changePassword": { "supported": false },
        "sort": { "supported": false },
        "etag": { "supported": true },
        "authenticationSchemes": [{
            "type": "oauthbearertoken",
            "name": "OAuth Bearer Token",
            "description": "An access token of a configured issuer, for this club, in the role club_admin or integration.",
            "specUri": "https://www.rfc-editor.org/info/rfc6750",
            "primary": true,
        }],
        "meta": { "resourceType": "ServiceProviderConfig", "location": format!("{base}/ServiceProviderConfig") },
    })
}

/// Every kind of resource.
pub fn resource_types(base: &str) -> Value {
    let types = TYPES.iter().map(|kind| kind.described(base));
    list(&types.collect::<Vec<_>>())
}

/// One of them.
pub fn resource_type(base: &str, name: &str) -> Option<Value> {
    let kind = TYPES.iter().find(|kind| kind.name == name)?;
    Some(kind.described(base))
}

/// Every schema.
pub fn all_schemas(base: &str) -> Value {
    let schemas = schemas().map(|schema| schema.described(base));
    list(&schemas.collect::<Vec<_>>())
}

/// One of them.
pub fn schema(base: &str, id: &str) -> Option<Value> {
    let schema = schemas().find(|schema| schema.id.eq_ignore_ascii_case(id))?;
    Some(schema.described(base))
}

fn list(resources: &[Value]) -> Value {
    page(resources.len(), 1, resources)
}

/// A page of a list, which begins with the one of this number, counted from 1.
pub fn page(total: usize, start: usize, resources: &[Value]) -> Value {
    json!({
        "schemas": [LIST],
        "totalResults": total,
        "startIndex": start,
        "itemsPerPage": resources.len(),
        "Resources": resources,
    })
}
