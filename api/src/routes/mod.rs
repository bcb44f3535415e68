//! The route table. Registering a route here is what documents it.

pub mod athletes;
pub mod clubs;
pub mod flags;
pub mod load;
pub mod members;
pub mod problems;
pub mod service;
pub mod sessions;
pub mod squads;
pub mod weeks;

use utoipa_actix_web::service_config::ServiceConfig;

/// Every route of the service.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes
        .service(service::live)
        .service(service::ready)
        .service(service::metrics_text)
        .service(service::document)
        .configure(clubs::configure)
        .configure(squads::configure)
        .configure(members::configure)
        .configure(athletes::configure)
        .configure(sessions::configure)
        .configure(load::configure)
        .configure(weeks::configure)
        .configure(flags::configure)
        .service(problems::list)
        .service(problems::read);
}
