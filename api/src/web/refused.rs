//! What was refused to callers with the right to ask: reads of one athlete's record, and whatever was asked of clinicians' records.
//! Each gets a row in the audit list, without whom it was about.
//!
//! What is absent and what is out of reach are answered alike, so both are entered alike, and an id that was guessed says
//! nothing. A caller can fill the list no faster than by reading: the rate limit counts each request of a token, and without
//! a token of the club nothing is entered.

use std::sync::Arc;

use actix_web::body::MessageBody;
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::http::{Method, StatusCode};
use actix_web::middleware::Next;
use actix_web::{Error, HttpMessage, HttpRequest, web};
use url::form_urlencoded;

use super::known_paths::KnownPath;
use crate::app::App;
use crate::auth::tenant::Caller;

/// Names of paths that say whose record is read, or which one of hers.
const OF_ONE: [&str; 15] = [
    "athlete_id",
    "user_id",
    "session_id",
    "rest_day_id",
    "absence_id",
    "attendance_id",
    "test_result_id",
    "injury_id",
    "pain_report_id",
    "sign_off_id",
    "question_id",
    "assignment_id",
    "restriction_id",
    "clearance_id",
    "flag_id",
];

/// A caller who has the right that the route asks for: left with the request by the scope.
#[derive(Debug, Clone)]
pub struct Entitled {
    /// Who.
    pub caller: Caller,
    /// Whether the route is about clinicians' records.
    pub clinical: bool,
}

/// Middleware: enters what a caller with the right was refused all the same. Without its row the refusal is not answered.
pub async fn enter_refused(
    app: web::Data<App>,
    request: ServiceRequest,
    next: Next<impl MessageBody + 'static>,
) -> Result<ServiceResponse<impl MessageBody>, Error> {
    let response = next.call(request).await?;
    let request = response.request();
    let entitled = request.extensions_mut().remove::<Entitled>();
    if let Some(Entitled { caller, clinical }) = entitled {
        let refused = match response.status() {
            StatusCode::NOT_FOUND | StatusCode::FORBIDDEN => clinical || reads_one(request),
            StatusCode::BAD_REQUEST | StatusCode::UNPROCESSABLE_ENTITY => clinical,
            _ => false,
        };
        if refused {
            let action = action(request);
            app.audit.record_refusal(&app, &caller, &action).await?;
        }
    }
    Ok(response)
}

/// Whether a request reads the record of one athlete.
pub fn reads_one(request: &HttpRequest) -> bool {
    let in_path = || {
        OF_ONE
            .iter()
            .any(|name| request.match_info().get(name).is_some())
    };
    let in_query = || {
        let mut query = form_urlencoded::parse(request.query_string().as_bytes());
        query.any(|(name, _)| name == "athlete")
    };
    request.method() == Method::GET && (in_path() || in_query())
}

/// What was asked for, as method and path below the club's, without ids.
pub fn action(request: &HttpRequest) -> String {
    let extensions = request.extensions();
    let known = extensions.get::<Arc<KnownPath>>();
    let path = known.map_or("", |known| known.template.as_str());
    let below = path
        .strip_prefix("/v1/clubs/{club_id}/")
        .or_else(|| path.strip_prefix("/scim/v2/clubs/{club_id}/"));
    let path = below.unwrap_or(path);
    format!("{} {path}", request.method())
}
