//! Members of squads.

mod create;
mod delete;
mod list;
mod patch;
mod read;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of members.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes
        .service(create::create)
        .service(list::list)
        .service(read::read)
        .service(patch::patch)
        .service(delete::delete);
}
