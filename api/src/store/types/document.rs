//! JSON documents: `jsonb`, and text.

use diesel::sql_types::{Jsonb, Text};
use serde_json::Value;

use super::bind::prelude::*;

/// JSON that the database never looks into.
#[derive(Debug, Clone, Copy, SqlType, QueryId)]
#[diesel(
    postgres_type(oid = 3802, array_oid = 3807),
    sqlite_type(name = "Text")
)]
pub struct Document;

foreign_type!(Document: Value);

impl ToSql<Document, Pg> for Sql<Value> {
    fn to_sql<'b>(&'b self, out: &mut Output<'b, '_, Pg>) -> serialize::Result {
        ToSql::<Jsonb, Pg>::to_sql(&self.0, &mut out.reborrow())
    }
}

impl FromSql<Document, Pg> for Sql<Value> {
    fn from_sql(value: PgValue<'_>) -> deserialize::Result<Self> {
        FromSql::<Jsonb, Pg>::from_sql(value).map(Self)
    }
}

impl ToSql<Document, Sqlite> for Sql<Value> {
    fn to_sql<'b>(&'b self, out: &mut Output<'b, '_, Sqlite>) -> serialize::Result {
        out.set_value(self.0.to_string());
        Ok(IsNull::No)
    }
}

impl FromSql<Document, Sqlite> for Sql<Value> {
    fn from_sql(value: SqliteValue<'_, '_, '_>) -> deserialize::Result<Self> {
        let text = <String as FromSql<Text, Sqlite>>::from_sql(value)?;
        Ok(Self(serde_json::from_str(&text)?))
    }
}
