//! Requests whose path names a sandbox's club are answered by the sandbox.

use std::rc::Rc;

use actix_web::body::{BoxBody, MessageBody};
use actix_web::dev::{Extensions, ServiceRequest, ServiceResponse};
use actix_web::http::header::{HeaderName, HeaderValue};
use actix_web::middleware::Next;
use actix_web::{Error, web};

use crate::app::App;
use crate::ids::ClubId;

/// Every answer of a sandbox has it.
const FIELD: HeaderName = HeaderName::from_static("sandbox");

/// Middleware: puts the sandbox in the application's place, for whatever comes after it: who asks is checked by the sandbox's
/// key and clock, and what is read or written lies in its database.
pub async fn enter_sandbox(
    app: web::Data<App>,
    mut request: ServiceRequest,
    next: Next<impl MessageBody + 'static>,
) -> Result<ServiceResponse<BoxBody>, Error> {
    let club = club_of(request.path());
    let sandbox = club.and_then(|club| app.sandboxes.find(club, app.clock.now()));
    let Some(sandbox) = sandbox else {
        return Ok(next.call(request).await?.map_into_boxed_body());
    };
    // What was put in last is found first.
    let mut instead = Extensions::new();
    instead.insert(web::Data::new(sandbox));
    request.add_data_container(Rc::new(instead));
    let mut response = next.call(request).await?.map_into_boxed_body();
    let mark = HeaderValue::from_static("true");
    response.headers_mut().insert(FIELD, mark);
    Ok(response)
}

/// The club that a path is about.
fn club_of(path: &str) -> Option<ClubId> {
    let inside = path
        .strip_prefix("/v1/clubs/")
        .or_else(|| path.strip_prefix("/scim/v2/clubs/"))?;
    inside.split('/').next()?.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_path_under_a_club_is_about_one() {
        let id = "0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b";
        for about in [
            format!("/v1/clubs/{id}"),
            format!("/v1/clubs/{id}/athletes"),
            format!("/scim/v2/clubs/{id}/Users"),
        ] {
            assert_eq!(club_of(&about).unwrap().to_string(), id, "{about}");
        }
        let sandbox = format!("/v1/sandboxes/{id}");
        for other in [
            "/v1/clubs",
            "/v1/clubs/",
            "/v1/clubs/x/athletes",
            "/health/live",
            &sandbox,
        ] {
            assert_eq!(club_of(other), None, "{other}");
        }
    }
}
