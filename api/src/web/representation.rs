//! As what an answer that people read is sent: as JSON, as a file, as a page, or as a sheet to print.

use actix_web::HttpRequest;

use super::accept;
use super::query::bad;
use crate::error::{Code, FieldProblem, Problem};
use crate::pages::paper::Paper;

const JSON: &str = "application/json";
const CSV: &str = "text/csv";
const HTML: &str = "text/html";
/// The media type of a sheet.
pub const PDF: &str = "application/pdf";

/// As what an answer is sent.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Representation {
    /// JSON.
    Json,
    /// CSV.
    Csv,
    /// A page to read and print.
    Page,
    /// The same page set on paper.
    Sheet,
}

impl Representation {
    /// What the request asks for.
    ///
    /// # Errors
    /// 406 where it takes none of them.
    pub fn of(request: &HttpRequest) -> Result<Self, Problem> {
        preferred(request, &[JSON, CSV, HTML]).map(Self::named)
    }

    /// What the request asks for, of what is read as a page or a sheet and is no table.
    ///
    /// # Errors
    /// 406 where it takes none of them.
    pub fn printed(request: &HttpRequest) -> Result<Self, Problem> {
        preferred(request, &[JSON, HTML]).map(Self::named)
    }

    /// JSON, where the request takes it: for what is told in nothing else.
    ///
    /// # Errors
    /// 406 where it does not.
    pub fn json_alone(request: &HttpRequest) -> Result<Self, Problem> {
        let alone = accept::preferred(request, &[JSON]);
        alone.map_err(|problem| without_pdf(request, problem))?;
        Ok(Self::Json)
    }

    fn named(media_type: &str) -> Self {
        match media_type {
            JSON => Self::Json,
            CSV => Self::Csv,
            HTML => Self::Page,
            _ => Self::Sheet,
        }
    }
}

/// The one of these media types that a request likes best, or PDF where the program was built with it.
///
/// # Errors
/// 406 where it takes none of them.
pub fn preferred<'a>(request: &HttpRequest, offers: &[&'a str]) -> Result<&'a str, Problem> {
    let mut offers = offers.to_vec();
    if cfg!(feature = "pdf") {
        offers.push(PDF);
    }
    let preferred = accept::preferred(request, &offers);
    preferred.map_err(|problem| without_pdf(request, problem))
}

/// The refusal, which says where a PDF could be had.
fn without_pdf(request: &HttpRequest, problem: Problem) -> Problem {
    if cfg!(feature = "pdf") || accept::preferred(request, &[PDF]).is_err() {
        return problem;
    }
    let detail = problem.detail;
    let detail = format!(
        "{detail} This program was built without PDF, which is its feature `pdf`; the page prints."
    );
    Problem { detail, ..problem }
}

/// The paper that is asked for.
///
/// # Errors
/// 400 where there is no such paper.
pub fn paper(name: Option<&str>) -> Result<Paper, Problem> {
    let Some(name) = name else {
        return Ok(Paper::default());
    };
    let unknown = || FieldProblem::new("?paper", Code::UnknownValue, name).allowed("a4, letter");
    Paper::named(name).ok_or_else(|| bad(unknown()))
}
