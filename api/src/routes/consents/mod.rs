//! What families have consented to, what needs consent, and what flowed without.

mod create;
mod gaps;
mod list;
mod put_settings;
mod read;
mod settings;
mod withdraw;

use crate::ids::{AthleteId, ClubId, ConsentId};
use crate::routes::Routes;

/// The routes of consents.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(create::create)
        .service(list::list)
        .service(read::read)
        .service(withdraw::withdraw)
        .service(settings::read)
        .service(put_settings::put)
        .service(gaps::read);
}

/// Where a consent is.
fn location(club: ClubId, athlete: AthleteId, consent: ConsentId) -> String {
    format!("/v1/clubs/{club}/athletes/{athlete}/consents/{consent}")
}
