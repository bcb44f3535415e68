//! Row-level security on PostgreSQL: whether it binds the role that we are.

use diesel::prelude::*;
use diesel::sql_types::{Bool, Text};

use super::db::Link;
use super::{Conn, StoreError};

/// The role's name, where row-level security does not bind it: a superuser's, or one with BYPASSRLS. `None` on SQLite, which has no
/// roles.
///
/// # Errors
/// Those of the database.
pub fn passed_over_by(conn: &mut Conn) -> Result<Option<String>, StoreError> {
    let found = match &mut conn.link {
        Link::Sqlite(_) => return Ok(None),
        Link::Postgres(link) => diesel::sql_query(
            "SELECT rolname::text AS name, rolsuper OR rolbypassrls AS passes FROM pg_roles \
             WHERE rolname = current_user",
        )
        .get_result::<Role>(&mut link.conn),
    };
    let role = conn.settle(found)?;
    Ok(role.passes.then_some(role.name))
}

#[derive(QueryableByName)]
struct Role {
    #[diesel(sql_type = Text)]
    name: String,
    #[diesel(sql_type = Bool)]
    passes: bool,
}
