//! Where notices go.

mod approve;
mod confirm;
mod create;
mod delete;
mod list;
mod patch;
mod put;
mod read;
mod redeliver;
mod rotate;
mod try_out;

use crate::ids::{ClubId, NoticeEndpointId};
use crate::routes::Routes;

/// The routes of notice endpoints.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(list::list)
        .service(create::create)
        .service(read::read)
        .service(put::put)
        .service(patch::patch)
        .service(delete::delete)
        .service(rotate::rotate)
        .service(confirm::confirm)
        .service(approve::approve)
        .service(try_out::try_out)
        .service(redeliver::redeliver);
}

/// Where an endpoint is.
fn location(club: ClubId, id: NoticeEndpointId) -> String {
    format!("/v1/clubs/{club}/notice-endpoints/{id}")
}
