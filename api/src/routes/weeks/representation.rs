//! The weekly list as JSON, as a file, as a page and as a sheet to print.

use actix_web::http::header;
use actix_web::{HttpRequest, HttpResponse};

use super::squad::WeeklyListAnswer;
use crate::error::{Code, FieldProblem, Problem};
use crate::pages::paper::Paper;
use crate::pages::weekly_list::{csv, page};
#[cfg(feature = "pdf")]
use crate::pages::{pdf, weekly_list::sheet};
use crate::web::query::bad;
use crate::web::{accept, reply};

const JSON: &str = "application/json";
const CSV: &str = "text/csv";
const HTML: &str = "text/html";
const PDF: &str = "application/pdf";

/// As what the list is sent.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Representation {
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
    /// What the request asks for. The arithmetic is told in JSON only.
    pub(super) fn of(request: &HttpRequest, explain: bool) -> Result<Self, Problem> {
        let offers: &[&str] = match explain {
            true => &[JSON],
            false if cfg!(feature = "pdf") => &[JSON, CSV, HTML, PDF],
            false => &[JSON, CSV, HTML],
        };
        let preferred = accept::preferred(request, offers);
        match preferred.map_err(|problem| without_pdf(request, problem))? {
            JSON => Ok(Self::Json),
            CSV => Ok(Self::Csv),
            HTML => Ok(Self::Page),
            _ => Ok(Self::Sheet),
        }
    }

    /// Whether it shows the weeks of whom it lists.
    pub(super) fn shows_weeks(self) -> bool {
        matches!(self, Self::Page | Self::Sheet)
    }
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
pub(super) fn paper(name: Option<&str>) -> Result<Paper, Problem> {
    let Some(name) = name else {
        return Ok(Paper::default());
    };
    let unknown = || FieldProblem::new("?paper", Code::UnknownValue, name).allowed("a4, letter");
    Paper::named(name).ok_or_else(|| bad(unknown()))
}

/// The answer as what was asked for; never kept by anybody on the way.
pub(super) async fn reply(
    representation: Representation,
    answer: &WeeklyListAnswer,
    beside: &page::Beside,
    paper: Paper,
) -> Result<HttpResponse, Problem> {
    let mut head = reply::represented(representation == Representation::Page);
    let name = format!("weekly-list-{}", answer.week);
    Ok(match representation {
        Representation::Json => head.json(answer),
        Representation::Csv => reply::csv(head, &name, csv::write(answer)?),
        Representation::Page => head.body(page::write(answer, beside)),
        Representation::Sheet => {
            let disposition = format!("inline; filename=\"{name}.pdf\"");
            head.content_type(PDF)
                .insert_header((header::CONTENT_DISPOSITION, disposition))
                .body(print(answer, beside, paper).await?)
        }
    })
}

#[cfg(feature = "pdf")]
async fn print(
    answer: &WeeklyListAnswer,
    beside: &page::Beside,
    paper: Paper,
) -> Result<Vec<u8>, Problem> {
    pdf::write(sheet::sheet(answer, beside), paper).await
}

/// It is offered to nobody.
#[cfg(not(feature = "pdf"))]
async fn print(_: &WeeklyListAnswer, _: &page::Beside, _: Paper) -> Result<Vec<u8>, Problem> {
    Err(Problem::new(Code::NotAcceptable, PDF))
}
