//! The audit list: who read whose record.

mod list;
mod readers;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of the audit list.
pub fn configure(routes: &mut ServiceConfig<'_>) {
    routes.service(list::list).service(readers::list);
}
