//! Programmes, and who does them.

mod adherence;
mod assigned;
mod assignments;
mod create;
mod delete;
mod list;
mod put;
mod read;

use crate::error::Problem;
use crate::ids::{ClubId, ProgrammeId};
use crate::routes::Routes;
use crate::services::programmes::Sent;
use crate::web::write::WriteRequest;

const JSON: &str = "application/json";
const CSV: &str = "text/csv";

/// The routes of programmes.
pub fn configure(routes: &mut Routes<'_>) {
    routes
        .service(list::list)
        .service(create::create)
        .service(read::read)
        .service(put::put)
        .service(delete::delete)
        .service(assigned::read)
        .service(adherence::read)
        .configure(assignments::configure);
}

/// The programme that a body is.
fn sent(request: &WriteRequest) -> Result<Sent, Problem> {
    match request.expect_type(&[JSON, CSV])? {
        CSV => Sent::from_csv(request.bytes()),
        _ => Ok(Sent::from_json(request.json()?)),
    }
}

fn location(club: ClubId, id: ProgrammeId) -> String {
    format!("/v1/clubs/{club}/programmes/{id}")
}
