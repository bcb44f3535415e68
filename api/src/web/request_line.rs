//! The one log line of each request, its id, and its trace context.

use std::sync::Arc;
use std::time::Instant;

use actix_web::body::MessageBody;
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::error::InternalError;
use actix_web::http::StatusCode;
use actix_web::http::header::{HeaderMap, HeaderName, HeaderValue};
use actix_web::middleware::Next;
use actix_web::{Error, web};

use super::known_paths::{KnownPath, KnownPaths};
use super::panics;
use crate::app::App;
use crate::telemetry::{self, RequestFacts, metrics};

const REQUEST_ID: HeaderName = HeaderName::from_static("x-request-id");
const TRACEPARENT: HeaderName = HeaderName::from_static("traceparent");

/// Middleware: finds the path that the request is for, gives it an id, runs it, counts it and writes its line.
pub async fn request_line(
    app: web::Data<App>,
    known_paths: web::Data<KnownPaths>,
    request: ServiceRequest,
    next: Next<impl MessageBody + 'static>,
) -> Result<ServiceResponse<impl MessageBody>, Error> {
    let started = Instant::now();
    let id = app.ids.next(app.clock.now());
    let trace = trace_context(&request, &id.simple().to_string());
    let facts = RequestFacts {
        id: id.to_string(),
        role: None,
    };
    let line = Line {
        started,
        trace,
        method: metric_method(request.method().as_str()),
        path: known_paths.enter(&request),
    };
    telemetry::in_request(facts, async move {
        let handled = panics::contained(async { next.call(request).await });
        match telemetry::named(handled).await {
            Ok(mut response) => {
                let status = response.status();
                line.write(status, response.headers_mut());
                Ok(response)
            }
            Err(error) => {
                let mut response = error.error_response();
                line.write(response.status(), response.headers_mut());
                Err(InternalError::from_response(error, response).into())
            }
        }
    })
    .await
}

/// What is known of a request before it is answered.
struct Line {
    started: Instant,
    trace: TraceContext,
    method: &'static str,
    path: Option<Arc<KnownPath>>,
}

impl Line {
    /// Counts the request, writes its line and names it in the answer.
    fn write(self, status: StatusCode, headers: &mut HeaderMap) {
        let facts = telemetry::request_facts();
        let (took, status) = (self.started.elapsed(), status.as_u16());
        let path = self.path.as_ref();
        let route = path.map_or("unmatched", |path| path.template.as_str());
        metrics::request(self.method, route, status, took);
        tracing::info!(
            request_id = facts.id,
            trace_id = self.trace.trace_id,
            method = self.method,
            route,
            status,
            duration_ms = u64::try_from(took.as_millis()).unwrap_or(u64::MAX),
            role = facts.role.unwrap_or("-"),
            "request"
        );
        if let Ok(value) = HeaderValue::from_str(&facts.id) {
            headers.insert(REQUEST_ID, value);
        }
        if let Ok(value) = HeaderValue::from_str(&self.trace.header) {
            headers.insert(TRACEPARENT, value);
        }
    }
}

struct TraceContext {
    trace_id: String,
    header: String,
}

/// Continues the caller's W3C trace context, or starts one from the request id.
fn trace_context(request: &ServiceRequest, id: &str) -> TraceContext {
    let span = id.get(16..).unwrap_or(id);
    let given = request
        .headers()
        .get(TRACEPARENT)
        .and_then(|value| value.to_str().ok());
    let trace_id = given.and_then(trace_id_of).unwrap_or(id).to_owned();
    TraceContext {
        header: format!("00-{trace_id}-{span}-01"),
        trace_id,
    }
}

/// The trace id of a well-formed version 00 `traceparent`.
fn trace_id_of(header: &str) -> Option<&str> {
    let mut parts = header.split('-');
    let (version, trace, span, _flags) =
        (parts.next()?, parts.next()?, parts.next()?, parts.next()?);
    let hex = |text: &str, length: usize| {
        text.len() == length
            && text
                .bytes()
                .all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b))
            && text.bytes().any(|b| b != b'0')
    };
    (version == "00" && hex(trace, 32) && hex(span, 16)).then_some(trace)
}

/// Methods outside the standard set share one label, so that a caller cannot make new series.
fn metric_method(method: &str) -> &'static str {
    match method {
        "GET" => "GET",
        "HEAD" => "HEAD",
        "POST" => "POST",
        "PUT" => "PUT",
        "PATCH" => "PATCH",
        "DELETE" => "DELETE",
        "OPTIONS" => "OPTIONS",
        _ => "OTHER",
    }
}

#[cfg(test)]
mod tests {
    use super::trace_id_of;

    #[test]
    fn only_a_well_formed_trace_is_continued() {
        let good = "00-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01";
        assert_eq!(trace_id_of(good), Some("4bf92f3577b34da6a3ce929d0e0e4736"));
        for bad in [
            "",
            "00-4bf92f3577b34da6a3ce929d0e0e473-00f067aa0ba902b7-01",
            "00-00000000000000000000000000000000-00f067aa0ba902b7-01",
            "00-4BF92F3577B34DA6A3CE929D0E0E4736-00f067aa0ba902b7-01",
            "00-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7",
        ] {
            assert_eq!(trace_id_of(bad), None, "{bad}");
        }
    }
}
