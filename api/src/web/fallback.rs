//! Answers outside the routes: 404, 405 with `Allow`, and HEAD as GET without a body.

use std::sync::Arc;

use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::http::Method;
use actix_web::middleware::Next;
use actix_web::{Error, HttpMessage, HttpRequest, body::BoxBody, body::MessageBody};

use super::known_paths::KnownPath;
use crate::error::{Code, Problem};

/// The answer where no route fits. actix says 404 for a wrong method on a known path, so it is told here from an unknown one.
pub fn no_route(request: &HttpRequest) -> Problem {
    match request.extensions().get::<Arc<KnownPath>>() {
        Some(known) => Problem {
            allow: Some(known.allow()),
            ..Problem::new(
                Code::MethodNotAllowed,
                "This path takes only the methods named in Allow.",
            )
        },
        None => Problem::new(Code::NotFound, "There is no such path; /docs lists them."),
    }
}

/// Middleware: runs HEAD as GET; the HTTP layer leaves the body out because the request said HEAD.
pub async fn head_as_get(
    mut request: ServiceRequest,
    next: Next<impl MessageBody + 'static>,
) -> Result<ServiceResponse<BoxBody>, Error> {
    let is_head = request.method() == Method::HEAD;
    if is_head {
        request.head_mut().method = Method::GET;
    }
    let response = next.call(request).await?.map_into_boxed_body();
    if is_head {
        return Ok(response.map_body(|_, _| BoxBody::new(())));
    }
    Ok(response)
}
