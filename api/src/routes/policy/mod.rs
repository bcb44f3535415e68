//! The club's policy: its rules, their limits, and who answers for them.

mod drafts;
mod flag_rate;
mod put;
mod read;
mod rehearse;
mod suggestions;
mod versions;

use crate::routes::Routes;

/// The routes of the policy.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(read::read)
        .service(put::put)
        .service(versions::list)
        .service(rehearse::rehearse)
        .service(suggestions::list)
        .service(flag_rate::read)
        .configure(drafts::configure);
}
