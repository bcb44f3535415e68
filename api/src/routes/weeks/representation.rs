//! The weekly list as JSON, as a file and as a page.

use actix_web::http::{StatusCode, header};
use actix_web::{HttpRequest, HttpResponse};

use super::squad::WeeklyListAnswer;
use crate::error::{Code, Problem};
use crate::pages::weekly_list::{csv, page};
use crate::web::{accept, reply};

/// As what the list is sent.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Representation {
    /// JSON.
    Json,
    /// CSV.
    Csv,
    /// A page to read and print.
    Page,
}

impl Representation {
    /// What the request asks for. The arithmetic is told in JSON only.
    pub(super) fn of(request: &HttpRequest, explain: bool) -> Result<Self, Problem> {
        let offers: &[&str] = match explain {
            true => &["application/json"],
            false => &["application/json", "text/csv", "text/html"],
        };
        match accept::preferred(request, offers)? {
            "application/json" => Ok(Self::Json),
            "text/csv" => Ok(Self::Csv),
            "text/html" => Ok(Self::Page),
            other => Err(Problem::new(Code::NotAcceptable, other)),
        }
    }
}

/// The answer as what was asked for; never kept by anybody on the way.
pub(super) fn reply(
    representation: Representation,
    answer: &WeeklyListAnswer,
    beside: &page::Beside,
) -> Result<HttpResponse, Problem> {
    let mut response = match representation {
        Representation::Page => reply::page(StatusCode::OK),
        Representation::Json | Representation::Csv => HttpResponse::Ok(),
    };
    response
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .insert_header((header::VARY, "Accept"))
        .insert_header((header::X_CONTENT_TYPE_OPTIONS, "nosniff"));
    Ok(match representation {
        Representation::Json => response.json(answer),
        Representation::Csv => response
            .content_type("text/csv; charset=utf-8; header=present")
            .insert_header((
                header::CONTENT_DISPOSITION,
                format!("attachment; filename=\"weekly-list-{}.csv\"", answer.week),
            ))
            .body(csv::write(answer)?),
        Representation::Page => response.body(page::write(answer, beside)),
    })
}
