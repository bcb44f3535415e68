//! What a caller is told when something is wrong: RFC 9457 problem answers.
//!
//! [`Code`] is the one table of everything that can be refused or warned about. It feeds the
//! answers, the pages under `/problems` and the OpenAPI document, so that none can drift.
//! [`Problem`] is the error type of every route and service. Nothing internal (SQL, paths, stack)
//! is ever put in one: internal causes are logged where they are mapped.

use std::fmt;

use actix_web::http::{StatusCode, header};
use actix_web::{HttpResponse, ResponseError};
use serde::Serialize;
use serde_json::Value;
use utoipa::ToSchema;

pub use crate::problem_codes::Code;
use crate::store::StoreError;
use crate::telemetry::request_id;

/// One field that is wrong, in a body, a query or a row of a bulk call.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct FieldProblem {
    /// Where: an RFC 6901 JSON Pointer into the body (`/rpe`), or the parameter's name (`?limit`).
    #[schema(example = "/rpe")]
    pub pointer: String,
    /// Stable code of what is wrong.
    #[schema(value_type = String, example = "rpe_out_of_range")]
    pub code: Code,
    /// One sentence for a person.
    #[schema(example = "Session RPE is 11; it goes from 0 to 10 in steps of 0.5.")]
    pub detail: String,
    /// The value as it was given.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Value, required = false)]
    pub given: Option<Value>,
    /// What would have been accepted.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = String, required = false, example = "0 to 10 in steps of 0.5")]
    pub allowed: Option<String>,
}

impl FieldProblem {
    /// A wrong field with the code's own title as detail.
    pub fn new(pointer: impl Into<String>, code: Code, given: impl Into<Value>) -> Self {
        Self {
            pointer: pointer.into(),
            code,
            detail: format!("{}.", code.title()),
            given: Some(given.into()),
            allowed: None,
        }
    }

    /// A field that should be there and is not.
    pub fn missing(pointer: impl Into<String>, allowed: impl Into<String>) -> Self {
        Self {
            pointer: pointer.into(),
            code: Code::MissingField,
            detail: format!("{}.", Code::MissingField.title()),
            given: None,
            allowed: Some(allowed.into()),
        }
    }

    /// Says what would have been accepted.
    #[must_use]
    pub fn allowed(mut self, allowed: impl Into<String>) -> Self {
        self.allowed = Some(allowed.into());
        self
    }

    /// Replaces the sentence for a person.
    #[must_use]
    pub fn detail(mut self, detail: impl Into<String>) -> Self {
        self.detail = detail.into();
        self
    }

    /// The same problem seen from an enclosing document: `/rpe` under `/sessions/3`.
    #[must_use]
    pub fn under(mut self, prefix: &str) -> Self {
        self.pointer.insert_str(0, prefix);
        self
    }
}

/// A refused request.
#[derive(Debug, Clone)]
pub struct Problem {
    /// What kind of refusal.
    pub code: Code,
    /// One sentence for a person, about this request.
    pub detail: String,
    /// The fields at fault, where there are any.
    pub errors: Vec<FieldProblem>,
    /// Seconds after which the same request may succeed.
    pub retry_after: Option<u32>,
    /// The methods a path answers to, with a 405.
    pub allow: Option<String>,
}

impl Problem {
    /// A refusal with its own sentence.
    pub fn new(code: Code, detail: impl Into<String>) -> Self {
        Self {
            code,
            detail: detail.into(),
            errors: Vec::new(),
            retry_after: None,
            allow: None,
        }
    }

    /// Readable but wrong: 422 with the fields at fault.
    pub fn invalid(errors: Vec<FieldProblem>) -> Self {
        let detail = match errors.as_slice() {
            [only] => only.detail.clone(),
            many => format!("{} fields are wrong; see errors.", many.len()),
        };
        Self {
            errors,
            ..Self::new(Code::Invalid, detail)
        }
    }

    /// Readable but wrong in one field.
    pub fn field(error: FieldProblem) -> Self {
        Self::invalid(vec![error])
    }

    /// Absent, of another club or out of the caller's reach: deliberately one answer for all.
    pub fn not_found() -> Self {
        Self::new(
            Code::NotFound,
            "There is no such thing here, or it is not yours to see.",
        )
    }

    /// A failure of ours. The cause is logged here and not sent.
    pub fn internal(cause: &dyn fmt::Display) -> Self {
        tracing::error!(error = %cause, "internal failure");
        Self::new(
            Code::Internal,
            "Something failed on our side; the request id names the log line.",
        )
    }

    /// Adds a time after which to try again.
    #[must_use]
    pub fn retry_after(mut self, seconds: u32) -> Self {
        self.retry_after = Some(seconds);
        self
    }

    /// The body that is sent for this problem.
    pub fn body(&self) -> ProblemBody {
        ProblemBody {
            r#type: format!("/problems/{}", self.code.code()),
            title: self.code.title().to_owned(),
            status: self.code.status(),
            detail: self.detail.clone(),
            instance: request_id(),
            code: self.code,
            errors: self.errors.clone(),
        }
    }
}

/// The `application/problem+json` body (RFC 9457).
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({
    "type": "/problems/invalid", "title": "A field is wrong", "status": 422,
    "detail": "Session RPE is 11; it goes from 0 to 10 in steps of 0.5.",
    "instance": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "code": "invalid",
    "errors": [{"pointer": "/rpe", "code": "rpe_out_of_range",
        "detail": "Session RPE is 11; it goes from 0 to 10 in steps of 0.5.",
        "given": 11, "allowed": "0 to 10 in steps of 0.5"}]
}))]
pub struct ProblemBody {
    /// Address of a page that says cause and remedy.
    pub r#type: String,
    /// What kind of problem, the same for every occurrence.
    pub title: String,
    /// The HTTP status, repeated.
    pub status: u16,
    /// One sentence about this occurrence.
    pub detail: String,
    /// The request id, also in the `X-Request-Id` header and in the log.
    pub instance: String,
    /// Stable code, snake_case.
    #[schema(value_type = String)]
    pub code: Code,
    /// The fields at fault.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schema(required = false)]
    pub errors: Vec<FieldProblem>,
}

impl From<StoreError> for Problem {
    fn from(error: StoreError) -> Self {
        match error {
            StoreError::NotFound => Problem::not_found(),
            StoreError::Conflict | StoreError::Reference => Problem::new(
                Code::Conflict,
                "Somebody else changed this at the same moment, or the value is taken.",
            ),
            StoreError::Busy => {
                Problem::new(Code::Busy, "No database connection was free in time.").retry_after(1)
            }
            StoreError::Timeout => {
                let detail = "The database took too long; nothing was stored.";
                Problem::new(Code::StatementTimeout, detail).retry_after(2)
            }
            StoreError::StorageFull => {
                Problem::new(Code::StorageFull, "The database has no space left.").retry_after(60)
            }
            StoreError::Unavailable(cause) => {
                tracing::error!(error = cause, "database unavailable");
                Problem::new(Code::Busy, "The database cannot be reached.").retry_after(5)
            }
            StoreError::OutcomeUnknown => Problem::new(
                Code::OutcomeUnknown,
                "The connection was lost while the change was being committed.",
            )
            .retry_after(2),
            error @ StoreError::NotOpened(_) => Problem::internal(&error),
            StoreError::Internal(cause) => Problem::internal(&cause),
        }
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.code.code(), self.detail)
    }
}

impl std::error::Error for Problem {}

impl ResponseError for Problem {
    fn status_code(&self) -> StatusCode {
        StatusCode::from_u16(self.code.status()).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR)
    }

    fn error_response(&self) -> HttpResponse {
        let mut response = HttpResponse::build(self.status_code());
        response.insert_header((header::CONTENT_TYPE, "application/problem+json"));
        response.insert_header((header::CACHE_CONTROL, "no-store"));
        if self.code.status() == 401 {
            response.insert_header((header::WWW_AUTHENTICATE, "Bearer"));
        }
        if let Some(seconds) = self.retry_after {
            response.insert_header((header::RETRY_AFTER, seconds.to_string()));
        }
        if let Some(methods) = &self.allow {
            response.insert_header((header::ALLOW, methods.clone()));
        }
        response.json_body(&self.body())
    }
}

/// Serialises without changing the content type that was already set.
trait JsonBody {
    fn json_body(self, body: &ProblemBody) -> HttpResponse;
}

impl JsonBody for &mut actix_web::HttpResponseBuilder {
    fn json_body(self, body: &ProblemBody) -> HttpResponse {
        self.body(serde_json::to_vec(body).unwrap_or_default())
    }
}
