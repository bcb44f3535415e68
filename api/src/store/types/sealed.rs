//! Sealed values: `bytea`, and a blob. What the octets mean is said in `store::seal`.

use diesel::sql_types::Binary;

use super::bind::prelude::*;

/// A value that is read with its club's key alone. Nothing but a [`Sealed`] can be written to such a column.
#[derive(Debug, Clone, Copy, SqlType, QueryId)]
#[diesel(
    postgres_type(oid = 17, array_oid = 1001),
    sqlite_type(name = "Binary")
)]
pub struct Seal;

/// A value as a sealed column holds it. Only `store::seal` makes one.
#[derive(Clone, PartialEq, Eq)]
pub struct Sealed(pub(in crate::store) Vec<u8>);

impl std::fmt::Debug for Sealed {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Sealed")
    }
}

sql_type!(Seal: Sealed);

impl ToSql<Seal, Pg> for Sealed {
    fn to_sql<'b>(&'b self, out: &mut Output<'b, '_, Pg>) -> serialize::Result {
        ToSql::<Binary, Pg>::to_sql(&self.0, out)
    }
}

impl FromSql<Seal, Pg> for Sealed {
    fn from_sql(value: PgValue<'_>) -> deserialize::Result<Self> {
        FromSql::<Binary, Pg>::from_sql(value).map(Self)
    }
}

impl ToSql<Seal, Sqlite> for Sealed {
    fn to_sql<'b>(&'b self, out: &mut Output<'b, '_, Sqlite>) -> serialize::Result {
        out.set_value(self.0.clone());
        Ok(IsNull::No)
    }
}

impl FromSql<Seal, Sqlite> for Sealed {
    fn from_sql(value: SqliteValue<'_, '_, '_>) -> deserialize::Result<Self> {
        FromSql::<Binary, Sqlite>::from_sql(value).map(Self)
    }
}
