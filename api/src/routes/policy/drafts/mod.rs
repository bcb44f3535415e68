//! Drafts of the policy, and their approval by a second person.

mod approve;
mod create;
mod delete;
mod list;
mod put;
mod read;

use utoipa_actix_web::service_config::ServiceConfig;

use crate::ids::{ClubId, PolicyDraftId};

/// The routes of drafts.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes
        .service(list::list)
        .service(create::create)
        .service(read::read)
        .service(put::put)
        .service(delete::delete)
        .service(approve::approve);
}

/// Where a draft is.
fn location(club: ClubId, draft: PolicyDraftId) -> String {
    format!("/v1/clubs/{club}/policy/drafts/{draft}")
}
