//! The route table. Registering a route here is what documents it.

pub mod absences;
pub mod athletes;
pub mod attendance;
pub mod audit;
pub mod calendars;
pub mod changes;
pub mod clearance_records;
pub mod clock;
pub mod clubs;
pub mod consents;
pub mod contact_checks;
pub mod contacts;
pub mod contradictions;
pub mod declared_history;
pub mod events;
pub mod exercises;
pub mod flags;
pub(crate) mod history;
pub mod holds;
pub mod hours;
pub mod injuries;
pub mod licences;
pub mod limits;
pub mod load;
pub mod look_ahead;
pub mod mail_settings;
pub mod margin;
pub mod members;
pub(crate) mod neuromuscular;
pub mod notice_endpoints;
pub mod notices;
pub mod pages;
pub mod pain_reports;
pub mod plans;
pub mod policy;
pub mod problems;
pub mod programmes;
pub mod questions;
pub mod ratings;
pub mod rest_days;
pub mod restrictions;
pub mod retention;
pub mod revocations;
pub mod roster;
pub mod sandboxes;
pub mod schemas;
pub mod scim;
pub mod service;
pub mod sessions;
pub mod sharing;
pub mod sign_offs;
pub mod squads;
pub mod subject_rights;
mod table;
pub mod test_results;
pub mod warm_ups;
pub mod weekly_close;
pub(crate) mod weeks;

pub use table::Routes;

/// Every route of the service.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(service::live)
        .service(service::ready)
        .service(service::metrics_text)
        .service(service::document)
        .configure(limits::configure)
        .configure(clubs::configure)
        .configure(clock::configure)
        .configure(sandboxes::configure)
        .configure(weekly_close::configure)
        .configure(look_ahead::configure)
        .configure(policy::configure)
        .configure(squads::configure)
        .configure(members::configure)
        .configure(athletes::configure)
        .configure(calendars::configure)
        .configure(changes::configure)
        .configure(roster::configure)
        .configure(scim::configure)
        .configure(events::configure)
        .configure(warm_ups::configure)
        .configure(attendance::configure)
        .configure(sessions::configure)
        .configure(contacts::configure)
        .configure(contradictions::configure)
        .configure(rest_days::configure)
        .configure(absences::configure)
        .configure(declared_history::configure)
        .configure(test_results::configure)
        .configure(injuries::configure)
        .configure(pain_reports::configure)
        .configure(licences::configure)
        .configure(restrictions::configure)
        .configure(clearance_records::configure)
        .configure(exercises::configure)
        .configure(sign_offs::configure)
        .configure(programmes::configure)
        .configure(questions::configure)
        .configure(load::configure)
        .configure(weeks::configure)
        .configure(ratings::configure)
        .configure(hours::configure)
        .configure(neuromuscular::configure)
        .configure(margin::configure)
        .configure(plans::configure)
        .configure(contact_checks::configure)
        .configure(history::configure)
        .configure(consents::configure)
        .configure(sharing::configure)
        .configure(retention::configure)
        .configure(holds::configure)
        .configure(subject_rights::configure)
        .configure(pages::configure)
        .configure(flags::configure)
        .configure(audit::configure)
        .configure(revocations::configure)
        .configure(mail_settings::configure)
        .configure(notice_endpoints::configure)
        .configure(notices::configure)
        .service(problems::list)
        .service(problems::read)
        .service(schemas::athlete_copy);
}
