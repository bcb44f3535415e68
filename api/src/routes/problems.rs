//! `GET /problems` and `/problems/{code}`: what each code means and what to do.

use std::fmt::Write;

use actix_web::{HttpResponse, get, web};
use serde::Serialize;
use utoipa::ToSchema;

use crate::error::{Code, Problem};

/// One row of the list of codes.
#[derive(Debug, Serialize, ToSchema)]
pub struct ProblemEntry {
    /// The stable code.
    #[schema(value_type = String, example = "rpe_out_of_range")]
    code: Code,
    /// HTTP status it comes with; 422 for a field at fault, 200 for a warning.
    #[schema(example = 422)]
    status: u16,
    /// Short title.
    title: &'static str,
    /// What brings it about.
    cause: &'static str,
    /// What to do.
    remedy: &'static str,
}

/// The list of all codes.
#[derive(Debug, Serialize, ToSchema)]
pub struct ProblemList {
    /// In the order of the source table.
    items: Vec<ProblemEntry>,
}

/// Every code
///
/// All problem and warning codes with status, cause and remedy.
#[utoipa::path(
    tag = "Service",
    operation_id = "list_problems",
    security(()),
    responses((status = 200, description = "Every code", body = ProblemList))
)]
#[get("/problems")]
pub async fn list() -> web::Json<ProblemList> {
    let items = Code::ALL.iter().map(|code| entry(*code)).collect();
    web::Json(ProblemList { items })
}

/// One code
///
/// The page that a problem's `type` points to: cause and remedy, for people.
#[utoipa::path(
    tag = "Service",
    operation_id = "read_problem",
    security(()),
    params(("code" = String, Path, description = "A code", example = "rpe_out_of_range")),
    responses(
        (status = 200, description = "Cause and remedy", body = String, content_type = "text/html"),
        (status = 404, description = "No such code", body = crate::error::ProblemBody, content_type = "application/problem+json"),
    )
)]
#[get("/problems/{code}")]
pub async fn read(path: web::Path<String>) -> Result<HttpResponse, Problem> {
    let code = Code::ALL
        .iter()
        .find(|known| known.code() == path.as_str())
        .ok_or_else(|| Problem::new(Code::NotFound, "There is no such code; see /problems."))?;
    Ok(HttpResponse::Ok()
        .content_type("text/html; charset=utf-8")
        .body(html(*code)))
}

fn entry(code: Code) -> ProblemEntry {
    ProblemEntry {
        code,
        status: code.status(),
        title: code.title(),
        cause: code.cause(),
        remedy: code.remedy(),
    }
}

/// All texts come from our own table and hold no markup.
fn html(code: Code) -> String {
    let mut page = String::new();
    // Writing to a String cannot fail.
    let _ = write!(
        page,
        "<!doctype html><html lang=\"en\"><meta charset=\"utf-8\"><title>{title}</title>\
         <h1>{title}</h1><p><code>{name}</code>, status {status}</p>\
         <h2>Cause</h2><p>{cause}</p><h2>Remedy</h2><p>{remedy}</p>\
         <p><a href=\"/problems\">All codes</a></p></html>",
        title = code.title(),
        name = code.code(),
        status = code.status(),
        cause = code.cause(),
        remedy = code.remedy(),
    );
    page
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_text_of_the_table_holds_markup() {
        for code in Code::ALL {
            for text in [code.title(), code.cause(), code.remedy()] {
                assert!(!text.contains(['<', '>', '&']), "{text}");
            }
        }
    }
}
