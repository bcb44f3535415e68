//! The forms of users, groups, lists and refusals for the document. They are read and written as RFC 7643 has them, with names alike in
//! any case, by `scim/` and `services/directory`.

#![allow(dead_code, reason = "named for the document")]

use serde::Serialize;
use serde_json::Value;
use utoipa::ToSchema;

/// A refusal (RFC 7644, section 3.12). `Link` leads to the page of its code, with cause and remedy.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"schemas": ["urn:ietf:params:scim:api:messages:2.0:Error"], "status": "409",
    "scimType": "uniqueness", "detail": "userName: That value is taken."}))]
pub struct ScimError {
    schemas: Vec<String>,
    /// The HTTP status, as a text.
    status: String,
    /// What kind of refusal, where the RFC has a name for it.
    #[serde(rename = "scimType")]
    #[schema(required = false, value_type = String)]
    scim_type: Option<String>,
    /// One sentence or more for a person.
    detail: String,
}

/// Somebody of the club: an athlete, a guardian, or staff. What of the schema is kept, and what is read over, `/Schemas` says.
#[derive(Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
#[schema(example = json!({
    "schemas": ["urn:ietf:params:scim:schemas:core:2.0:User", "urn:plimsoll:scim:schemas:extension:roster:1.0:User"],
    "userName": "runa.falk", "externalId": "P-31", "displayName": "Runa Falk", "active": true,
    "roles": [{"value": "athlete"}],
    "urn:plimsoll:scim:schemas:extension:roster:1.0:User": {
        "birthDate": "2011-03-14", "joinedOn": "2026-08-03", "guardians": [{"value": "G-31"}]}}))]
pub struct DirectoryUser {
    #[schema(required = false)]
    schemas: Vec<String>,
    /// The id here.
    #[schema(required = false, value_type = uuid::Uuid)]
    id: Option<String>,
    /// The directory's own key: the external id of an athlete.
    #[schema(required = false, value_type = String)]
    external_id: Option<String>,
    /// What the directory knows her by; no two alike in the club, whatever the case of letters.
    #[schema(required = false)]
    user_name: String,
    /// The name shown, or a code in its place. Of who is a guardian and nothing else none is kept.
    #[schema(required = false)]
    display_name: String,
    /// Whether she is still there. False ends an athlete's memberships and keeps her history.
    #[schema(required = false)]
    active: bool,
    /// athlete, guardian, coach, strength_coach, athletic_trainer, club_admin or privacy_lead; an athlete where nothing is said.
    #[schema(required = false)]
    roles: Vec<DirectoryValue>,
    /// The squads of an athlete today; they change by the members of groups.
    #[schema(required = false)]
    groups: Vec<DirectoryGroupRef>,
    /// What the roster says of an athlete.
    #[serde(rename = "urn:plimsoll:scim:schemas:extension:roster:1.0:User")]
    #[schema(required = false)]
    roster: DirectoryRoster,
    #[schema(required = false)]
    meta: DirectoryMeta,
}

/// What the roster says of an athlete.
#[derive(Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct DirectoryRoster {
    /// Day of birth; an age of 5 to 100 years.
    #[schema(required = false, format = Date)]
    birth_date: String,
    /// The first day of her record.
    #[schema(required = false, format = Date)]
    joined_on: String,
    /// Her home zone, where it is not the club's.
    #[schema(required = false)]
    time_zone: String,
    /// The keys of her guardians, at most 50.
    #[schema(required = false)]
    guardians: Vec<DirectoryValue>,
}

/// One of several values.
#[derive(Debug, Serialize, ToSchema)]
pub struct DirectoryValue {
    #[schema(required = false)]
    value: String,
}

/// A squad that somebody belongs to.
#[derive(Debug, Serialize, ToSchema)]
pub struct DirectoryGroupRef {
    #[schema(required = false)]
    value: String,
    /// Where it is.
    #[serde(rename = "$ref")]
    #[schema(required = false)]
    at: String,
    /// Its name.
    #[schema(required = false)]
    display: String,
}

/// A squad of the club.
#[derive(Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
#[schema(example = json!({
    "schemas": ["urn:ietf:params:scim:schemas:core:2.0:Group"], "displayName": "U18 girls", "externalId": "u18-g",
    "members": [{"value": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "type": "User"}]}))]
pub struct DirectoryGroup {
    #[schema(required = false)]
    schemas: Vec<String>,
    /// The id here.
    #[schema(required = false, value_type = uuid::Uuid)]
    id: Option<String>,
    /// The directory's own key.
    #[schema(required = false)]
    external_id: String,
    /// The name of the squad.
    #[schema(required = false)]
    display_name: String,
    /// The athletes who belong to it today.
    #[schema(required = false)]
    members: Vec<DirectoryMember>,
    #[schema(required = false)]
    meta: DirectoryMeta,
}

/// An athlete who belongs to a squad.
#[derive(Debug, Serialize, ToSchema)]
pub struct DirectoryMember {
    /// The id of the user.
    #[schema(required = false)]
    value: String,
    /// Where the user is.
    #[serde(rename = "$ref")]
    #[schema(required = false)]
    at: String,
    /// User.
    #[schema(required = false)]
    r#type: String,
}

/// When a resource was made and changed, and where it is.
#[derive(Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct DirectoryMeta {
    #[schema(required = false)]
    resource_type: String,
    #[schema(required = false, format = DateTime)]
    created: String,
    #[schema(required = false, format = DateTime)]
    last_modified: String,
    #[schema(required = false)]
    location: String,
    /// The entity tag.
    #[schema(required = false)]
    version: String,
}

/// A list of users.
#[derive(Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct DirectoryUsers {
    schemas: Vec<String>,
    /// How many there are in all.
    total_results: u64,
    /// The number of the first, from 1.
    start_index: u64,
    /// How many are here.
    items_per_page: u64,
    #[serde(rename = "Resources")]
    resources: Vec<DirectoryUser>,
}

/// A list of groups.
#[derive(Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct DirectoryGroups {
    schemas: Vec<String>,
    /// How many there are in all.
    total_results: u64,
    /// The number of the first, from 1.
    start_index: u64,
    /// How many are here.
    items_per_page: u64,
    #[serde(rename = "Resources")]
    resources: Vec<DirectoryGroup>,
}

/// A list of resources of several kinds, or of what the service says about itself.
#[derive(Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
#[schema(example = json!({"schemas": ["urn:ietf:params:scim:api:messages:2.0:ListResponse"], "totalResults": 0,
    "startIndex": 1, "itemsPerPage": 0, "Resources": []}))]
pub struct DirectoryList {
    schemas: Vec<String>,
    /// How many there are in all.
    total_results: u64,
    /// The number of the first, from 1.
    start_index: u64,
    /// How many are here.
    items_per_page: u64,
    #[serde(rename = "Resources")]
    #[schema(value_type = Vec<Value>)]
    resources: Vec<Value>,
}

/// A patch (RFC 7644, section 3.5.2).
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"schemas": ["urn:ietf:params:scim:api:messages:2.0:PatchOp"],
    "Operations": [{"op": "replace", "path": "active", "value": false}]}))]
pub struct DirectoryPatch {
    #[schema(required = false)]
    schemas: Vec<String>,
    /// One after the other, at most 100.
    #[serde(rename = "Operations")]
    operations: Vec<DirectoryOperation>,
}

/// One operation of a patch.
#[derive(Debug, Serialize, ToSchema)]
pub struct DirectoryOperation {
    /// add, replace or remove, in any case.
    op: String,
    /// The attribute, which of its values, and the part of them, such as `members[value eq "…"]`.
    #[schema(required = false, value_type = String)]
    path: Option<String>,
    /// The value; without a path an object of attributes.
    #[schema(required = false)]
    value: Value,
}

/// A search (RFC 7644, section 3.4.3): as a list, with nothing of it in the address.
#[derive(Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
#[schema(example = json!({"schemas": ["urn:ietf:params:scim:api:messages:2.0:SearchRequest"],
    "filter": "displayName sw \"U18\"", "count": 10}))]
pub struct DirectorySearch {
    #[schema(required = false)]
    schemas: Vec<String>,
    /// Which resources.
    #[schema(required = false)]
    filter: String,
    /// The number of the first, from 1.
    #[schema(required = false)]
    start_index: i64,
    /// How many at most.
    #[schema(required = false)]
    count: i64,
    /// Only these attributes, beside those that are always there.
    #[schema(required = false)]
    attributes: Vec<String>,
    /// Not these attributes.
    #[schema(required = false)]
    excluded_attributes: Vec<String>,
}
