//! Drafts of the policy, and their approval by a second person.

mod approve;
mod create;
mod delete;
mod list;
mod put;
mod read;

use crate::ids::{ClubId, PolicyDraftId};
use crate::routes::Routes;

/// The routes of drafts.
pub fn configure(routes: &mut Routes<'_>) {
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
