//! Answers outside the routes: 404, 405 with `Allow`, and HEAD as GET without a body.
//!
//! actix answers 404 for a wrong method on a known path; the paths and methods of the OpenAPI
//! document decide here instead, so they cannot disagree with it.

use actix_web::HttpRequest;
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::http::Method;
use actix_web::middleware::Next;
use actix_web::{Error, body::BoxBody, body::MessageBody};
use utoipa::openapi::{OpenApi, path::PathItem};

use crate::error::{Code, Problem};

/// Path templates with the methods they take, from the OpenAPI document.
#[derive(Debug, Clone, Default)]
pub struct KnownPaths(Vec<(Vec<String>, String)>);

impl KnownPaths {
    /// Reads templates and methods from the document.
    pub fn of(document: &OpenApi) -> Self {
        let known = document
            .paths
            .paths
            .iter()
            .map(|(path, item)| (segments(path), methods(item)));
        Self(known.collect())
    }

    fn allow(&self, path: &str) -> Option<String> {
        let path = segments(path);
        let fits = |template: &[String]| {
            template.len() == path.len()
                && template
                    .iter()
                    .zip(&path)
                    .all(|(t, p)| t.starts_with('{') || t == p)
        };
        self.0
            .iter()
            .find(|(template, _)| fits(template))
            .map(|(_, methods)| methods.clone())
    }
}

fn segments(path: &str) -> Vec<String> {
    path.split('/').map(str::to_owned).collect()
}

fn methods(item: &PathItem) -> String {
    let table = [
        ("GET, HEAD", item.get.is_some()),
        ("POST", item.post.is_some()),
        ("PUT", item.put.is_some()),
        ("PATCH", item.patch.is_some()),
        ("DELETE", item.delete.is_some()),
    ];
    let present: Vec<&str> = table
        .iter()
        .filter(|(_, is)| *is)
        .map(|(name, _)| *name)
        .collect();
    present.join(", ")
}

/// The answer where no route fits.
pub fn no_route(known: &KnownPaths, request: &HttpRequest) -> Problem {
    match known.allow(request.path()) {
        Some(methods) => Problem {
            allow: Some(methods),
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
