//! `GET /schemas/athlete-copy`: what an athlete's copy may hold.

use actix_web::{HttpResponse, get};

use crate::services::subject_copy;

/// Schema of an athlete's copy
///
/// A JSON Schema (draft 2020-12) of what `GET …/athletes/{athlete_id}/copy` answers: each table, each field, and what it means in one
/// plain phrase. The columns of the CSV are its fields.
#[utoipa::path(
    tag = "Service",
    operation_id = "read_athlete_copy_schema",
    security(()),
    responses((status = 200, description = "The schema", body = Object, content_type = "application/schema+json"))
)]
#[get("/schemas/athlete-copy")]
pub async fn athlete_copy() -> HttpResponse {
    HttpResponse::Ok()
        .content_type("application/schema+json")
        .body(subject_copy::schema().to_string())
}
