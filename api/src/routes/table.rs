//! What takes the routes.

use actix_web::dev::HttpServiceFactory;
use actix_web::web::ServiceConfig;
use utoipa::openapi::OpenApi;
use utoipa_actix_web::OpenApiFactory;

/// Takes the routes to serve them, or to tell of them. Each worker serves its own, and is spared what it would tell.
pub enum Routes<'a> {
    /// Served by a worker.
    Served(&'a mut ServiceConfig),
    /// Told in the OpenAPI document.
    Documented(&'a mut OpenApi),
}

impl Routes<'_> {
    /// Takes a route.
    pub fn service<F>(&mut self, route: F) -> &mut Self
    where
        F: HttpServiceFactory + OpenApiFactory + 'static,
    {
        match self {
            Self::Served(config) => {
                config.service(route);
            }
            Self::Documented(document) => document_route(document, &route),
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
