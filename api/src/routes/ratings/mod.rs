//! How hard sessions felt, beside how hard they were meant to be: of one athlete, and of a squad's sessions.

mod answer;
mod athlete;
mod squad;

use crate::routes::Routes;

/// The routes of ratings.
pub fn configure(routes: &mut Routes<'_>) {
    routes.service(athlete::read).service(squad::read);
}
