//! The audit list: who read whose record.

mod list;
mod readers;

use crate::routes::Routes;

/// The routes of the audit list.
pub fn configure(routes: &mut Routes<'_>) {
    routes.service(list::list).service(readers::list);
}
