//! Which of the service's paths a request is for, and what it takes.
//!
//! actix tries the patterns of the routes one after another, as regular expressions, and once more to name the one that fitted. Of
//! hundreds that takes longer than many an answer, so the path is found first, in a tree, and each route is tried only for its own.

use std::sync::Arc;

use actix_web::HttpMessage;
use actix_web::dev::ServiceRequest;
use actix_web::guard::{Guard, GuardContext};
use actix_web::http::Method;
use matchit::{InsertError, Router};

use crate::routes::{self, Routes};

/// A path as the OpenAPI document writes it, and its methods. Each request to it carries it.
#[derive(Debug, Clone)]
pub struct KnownPath {
    /// With its parameters in braces.
    pub template: String,
    /// Without HEAD, which is answered where GET is.
    pub methods: Vec<Method>,
}

impl KnownPath {
    /// The value of `Allow` (RFC 9110, section 10.2.1).
    pub fn allow(&self) -> String {
        let named = |method: &Method| match *method {
            Method::GET => "GET, HEAD".to_owned(),
            _ => method.to_string(),
        };
        let methods: Vec<String> = self.methods.iter().map(named).collect();
        methods.join(", ")
    }
}

/// Every path of the service.
#[derive(Debug, Clone)]
pub struct KnownPaths(Router<Arc<KnownPath>>);

impl KnownPaths {
    /// The paths of all routes.
    ///
    /// # Errors
    /// When one path could be taken for another.
    pub fn of_routes() -> Result<Self, InsertError> {
        let mut paths: Vec<KnownPath> = Vec::new();
        routes::configure(&mut Routes::Listed(&mut paths));
        let mut tree = Router::new();
        for path in paths {
            tree.insert(path.template.clone(), Arc::new(path))?;
        }
        Ok(Self(tree))
    }

    /// The one that a request is for; it carries it from then on.
    pub fn enter(&self, request: &ServiceRequest) -> Option<Arc<KnownPath>> {
        let found = self.0.at(request.match_info().unprocessed()).ok()?;
        request.extensions_mut().insert(Arc::clone(found.value));
        Some(Arc::clone(found.value))
    }
}

/// Lets a route be tried only for requests to its own path, by its own methods.
impl Guard for KnownPath {
    fn check(&self, context: &GuardContext<'_>) -> bool {
        let extensions = context.req_data();
        let known = extensions.get::<Arc<KnownPath>>();
        known.is_some_and(|known| known.template == self.template)
            && self.methods.contains(&context.head().method)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_path_is_found_by_its_own_template() {
        let known = KnownPaths::of_routes().unwrap();
        let mut paths = Vec::new();
        routes::configure(&mut Routes::Listed(&mut paths));
        assert!(paths.len() > 100, "{}", paths.len());
        for path in paths {
            let asked = path.template.replace(['{', '}'], "x");
            let found = known.0.at(&asked).unwrap().value;
            assert_eq!(found.template, path.template);
        }
    }

    #[test]
    fn paths_that_are_none_are_not_found() {
        let known = KnownPaths::of_routes().unwrap();
        for path in [
            "",
            "/",
            "/v1",
            "/v1/clubs/",
            "/v1/clubs/x/nothing",
            "/v1//x",
        ] {
            assert!(known.0.at(path).is_err(), "{path}");
        }
    }

    #[test]
    fn head_is_allowed_where_get_is() {
        let path = KnownPath {
            template: "/v1/clubs".to_owned(),
            methods: vec![Method::GET, Method::POST],
        };
        assert_eq!(path.allow(), "GET, HEAD, POST");
    }
}
