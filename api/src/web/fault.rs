//! Failures on demand. Compiled with the feature `testing` only; no build that is handed out has it.

#![allow(
    clippy::panic,
    reason = "to panic is what a test asks for here, and nothing else has this file"
)]

use actix_web::body::{BoxBody, MessageBody};
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::middleware::Next;
use actix_web::{Error, ResponseError, web};

use crate::app::App;
use crate::error::Problem;
use crate::store::{Clubs, Conn};

/// The field that asks for a failure.
const FIELD: &str = "x-test-fault";
/// What must never be told a caller.
const CAUSE: &str = "SELECT planted FROM secrets at /var/lib/plimsoll";

/// Middleware: fails as the request asks, where the handlers would run.
pub async fn fault(
    app: web::Data<App>,
    request: ServiceRequest,
    next: Next<impl MessageBody + 'static>,
) -> Result<ServiceResponse<BoxBody>, Error> {
    let asked = request.headers().get(FIELD).cloned();
    let problem = match asked.as_ref().map(|value| value.as_bytes()) {
        None => {
            return next
                .call(request)
                .await
                .map(ServiceResponse::map_into_boxed_body);
        }
        Some(b"panic") => panic!("{CAUSE}"),
        Some(b"panic-in-read") => app.store.read(Clubs::Every, panicking).await.err(),
        Some(b"panic-in-write") => app.store.write(Clubs::Every, panicking).await.err(),
        Some(_) => Some(Problem::internal(&CAUSE)),
    };
    let problem = problem.unwrap_or_else(Problem::not_found);
    Ok(request.into_response(problem.error_response()))
}

fn panicking(_: &mut Conn) -> Result<(), Problem> {
    panic!("{CAUSE}")
}
