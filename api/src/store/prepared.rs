//! Statements that stay prepared on their connection.
//!
//! Diesel keeps what it can prove to have one text. Of updates, upserts and, on SQLite, lists of keys it
//! cannot, and has them parsed and planned anew each time. Where the code fixes the columns and the
//! number of rows, it can say so itself. On PostgreSQL diesel 2.3 listens only where rows are loaded, so
//! an update or upsert of every report loads a column of the row it wrote.

use diesel::backend::Backend;
use diesel::prelude::*;
use diesel::query_builder::{AstPass, Query, QueryFragment, QueryId};

/// A statement whose text is one of a few, to be kept prepared.
#[derive(Debug, Clone, Copy)]
pub(super) struct Prepared<Q> {
    statement: Q,
    keep: bool,
}

/// Keeps a statement prepared.
pub(super) fn prepared<Q>(statement: Q) -> Prepared<Q> {
    prepared_if(true, statement)
}

/// Keeps a statement prepared where `keep`; else leaves it to diesel.
pub(super) fn prepared_if<Q>(keep: bool, statement: Q) -> Prepared<Q> {
    Prepared { statement, keep }
}

impl<DB: Backend, Q: QueryFragment<DB>> QueryFragment<DB> for Prepared<Q> {
    fn walk_ast<'b>(&'b self, out: AstPass<'_, 'b, DB>) -> QueryResult<()> {
        self.statement.walk_ast(out)
    }

    fn is_safe_to_cache_prepared(&self, backend: &DB) -> QueryResult<bool> {
        Ok(self.keep || self.statement.is_safe_to_cache_prepared(backend)?)
    }
}

/// Known by its text, never by its type alone.
impl<Q> QueryId for Prepared<Q> {
    type QueryId = ();
    const HAS_STATIC_QUERY_ID: bool = false;
}

impl<Q: Query> Query for Prepared<Q> {
    type SqlType = Q::SqlType;
}

impl<Q, C> RunQueryDsl<C> for Prepared<Q> {}
