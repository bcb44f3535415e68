//! A refusal told to whoever asked: to a program as problem JSON, to a person in a browser as a page.

use std::fmt;

use actix_web::http::{StatusCode, header};
use actix_web::{HttpRequest, HttpResponse, ResponseError};

use super::{accept, reply};
use crate::auth::list_scope::has_token;
use crate::error::Problem;
use crate::pages::refusal;

/// A refusal, and whether a page tells it.
#[derive(Debug)]
pub struct PageProblem {
    problem: Problem,
    is_page: bool,
}

impl PageProblem {
    /// The refusal of a request: as a page where it comes without a token and asks for one.
    pub fn to(request: &HttpRequest, problem: Problem) -> Self {
        let offers = ["application/problem+json", "application/json", "text/html"];
        let wanted = accept::preferred(request, &offers);
        Self {
            problem,
            is_page: !has_token(request) && wanted.is_ok_and(|wanted| wanted == "text/html"),
        }
    }
}

impl fmt::Display for PageProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.problem.fmt(f)
    }
}

impl ResponseError for PageProblem {
    fn status_code(&self) -> StatusCode {
        self.problem.status_code()
    }

    fn error_response(&self) -> HttpResponse {
        let response = self.problem.error_response();
        if !self.is_page {
            return response;
        }
        let mut page = reply::page(self.status_code());
        for name in [header::WWW_AUTHENTICATE, header::RETRY_AFTER] {
            if let Some(value) = response.headers().get(&name) {
                page.insert_header((name, value.clone()));
            }
        }
        page.body(refusal::write(&self.problem))
    }
}
