//! What takes the routes.

use actix_web::dev::HttpServiceFactory;
use actix_web::http::Method;
use actix_web::web::{self, ServiceConfig};
use utoipa::Path;
use utoipa::openapi::OpenApi;
use utoipa::openapi::path::HttpMethod;
use utoipa_actix_web::OpenApiFactory;

use crate::web::known_paths::KnownPath;

/// Takes the routes to serve them, or to tell of them. Each worker serves its own, and is spared what it would tell.
pub enum Routes<'a> {
    /// Served by a worker.
    Served(&'a mut ServiceConfig),
    /// Told in the OpenAPI document.
    Documented(&'a mut OpenApi),
    /// Listed by their paths.
    Listed(&'a mut Vec<KnownPath>),
}

impl Routes<'_> {
    /// Takes a route.
    pub fn service<F>(&mut self, route: F) -> &mut Self
    where
        F: HttpServiceFactory + OpenApiFactory + Path + 'static,
    {
        match self {
            Self::Served(config) => {
                config.service(web::scope("").guard(known::<F>()).service(route));
            }
            Self::Documented(document) => document_route(document, &route),
            Self::Listed(paths) => list_route(paths, known::<F>()),
        }
        self
    }

    /// Takes the routes of an area.
    pub fn configure(&mut self, area: fn(&mut Routes<'_>)) -> &mut Self {
        area(self);
        self
    }
}

fn document_route(document: &mut OpenApi, route: &dyn OpenApiFactory) {
    document.paths.merge(route.paths());
    let mut schemas = Vec::new();
    route.schemas(&mut schemas);
    let components = document.components.get_or_insert_default();
    components.schemas.extend(schemas);
}

/// A path is listed once, with the methods of all its routes.
fn list_route(paths: &mut Vec<KnownPath>, route: KnownPath) {
    match paths
        .iter_mut()
        .find(|path| path.template == route.template)
    {
        Some(path) => path.methods.extend(route.methods),
        None => paths.push(route),
    }
}

fn known<F: Path>() -> KnownPath {
    KnownPath {
        template: F::path(),
        methods: F::methods().iter().map(method).collect(),
    }
}

fn method(method: &HttpMethod) -> Method {
    match method {
        HttpMethod::Get => Method::GET,
        HttpMethod::Post => Method::POST,
        HttpMethod::Put => Method::PUT,
        HttpMethod::Delete => Method::DELETE,
        HttpMethod::Options => Method::OPTIONS,
        HttpMethod::Head => Method::HEAD,
        HttpMethod::Patch => Method::PATCH,
        HttpMethod::Trace => Method::TRACE,
    }
}
