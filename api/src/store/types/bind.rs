//! How values are bound to columns and read from them.

/// What the macros of this module, and the modules beside it, are written with.
pub(super) mod prelude {
    pub(in crate::store::types) use super::{Sql, foreign_type, sql_type};
    pub(in crate::store::types) use diesel::backend::Backend;
    pub(in crate::store::types) use diesel::deserialize::{
        self, FromSql, FromStaticSqlRow, Queryable,
    };
    pub(in crate::store::types) use diesel::expression::AsExpression;
    // What diesel's own derive of `AsExpression` expands to; the derive cannot be put on a type
    // that is declared elsewhere.
    pub(in crate::store::types) use diesel::internal::derives::as_expression::Bound;
    pub(in crate::store::types) use diesel::pg::{Pg, PgValue};
    pub(in crate::store::types) use diesel::query_builder::QueryId;
    pub(in crate::store::types) use diesel::serialize::{self, IsNull, Output, ToSql};
    pub(in crate::store::types) use diesel::sql_types::{Nullable, SqlType};
    pub(in crate::store::types) use diesel::sqlite::{Sqlite, SqliteValue};
}

/// A value of another crate on its way to or from the database.
///
/// Diesel's traits cannot be implemented for types of other crates, so rows name this wrapper in
/// `serialize_as` and `deserialize_as` and hold the plain type.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sql<T>(pub(in crate::store) T);

impl<T> From<T> for Sql<T> {
    fn from(value: T) -> Self {
        Self(value)
    }
}

/// Lets values of a Rust type be bound to columns of an SQL type, and read from them.
macro_rules! sql_type {
    ($sql:ty: $($rust:ty),+) => {$(
        impl AsExpression<$sql> for $rust {
            type Expression = Bound<$sql, Self>;

            fn as_expression(self) -> Self::Expression {
                Bound::new(self)
            }
        }

        impl<'a> AsExpression<$sql> for &'a $rust {
            type Expression = Bound<$sql, &'a $rust>;

            fn as_expression(self) -> Self::Expression {
                Bound::new(self)
            }
        }

        impl AsExpression<Nullable<$sql>> for $rust {
            type Expression = Bound<Nullable<$sql>, Self>;

            fn as_expression(self) -> Self::Expression {
                Bound::new(self)
            }
        }

        impl<DB: Backend> ToSql<Nullable<$sql>, DB> for $rust
        where
            Self: ToSql<$sql, DB>,
        {
            fn to_sql<'b>(&'b self, out: &mut Output<'b, '_, DB>) -> serialize::Result {
                ToSql::<$sql, DB>::to_sql(self, out)
            }
        }

        impl<DB: Backend> Queryable<$sql, DB> for $rust
        where
            Self: FromSql<$sql, DB>,
        {
            type Row = Self;

            fn build(row: Self) -> deserialize::Result<Self> {
                Ok(row)
            }
        }
    )+};
}
pub(super) use sql_type;

/// As `sql_type!` for types of other crates, in their wrapper, and for optional ones.
macro_rules! foreign_type {
    ($sql:ty: $($rust:ty),+) => {$(
        sql_type!($sql: Sql<$rust>);

        impl From<Sql<$rust>> for $rust {
            fn from(value: Sql<$rust>) -> Self {
                value.0
            }
        }

        impl AsExpression<Nullable<$sql>> for Sql<Option<$rust>> {
            type Expression = Bound<Nullable<$sql>, Option<Sql<$rust>>>;

            fn as_expression(self) -> Self::Expression {
                Bound::new(self.0.map(Sql))
            }
        }

        impl<DB: Backend> Queryable<Nullable<$sql>, DB> for Sql<Option<$rust>>
        where
            Option<Sql<$rust>>: FromStaticSqlRow<Nullable<$sql>, DB>,
        {
            type Row = Option<Sql<$rust>>;

            fn build(row: Self::Row) -> deserialize::Result<Self> {
                Ok(Self(row.map(|value| value.0)))
            }
        }

        impl From<Sql<Option<$rust>>> for Option<$rust> {
            fn from(value: Sql<Option<$rust>>) -> Self {
                value.0
            }
        }
    )+};
}
pub(super) use foreign_type;
