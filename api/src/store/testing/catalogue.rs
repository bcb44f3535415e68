//! What the database itself says of its tables.

use diesel::prelude::*;
use diesel::sql_types::{BigInt, Text};

use crate::store::backend::each_backend;
use crate::store::db::Link;
use crate::store::{Conn, StoreError};

/// A primary key, unique key, foreign key or index.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, QueryableByName)]
pub struct Key {
    /// Its table.
    #[diesel(sql_type = Text)]
    pub table_name: String,
    /// What it is and what it is called, or refers to.
    #[diesel(sql_type = Text)]
    pub name: String,
    /// Its columns in order, with commas between them.
    #[diesel(sql_type = Text)]
    pub columns: String,
}

/// Every key and index of our tables.
///
/// # Errors
/// Those of the database.
pub fn keys(conn: &mut Conn) -> Result<Vec<Key>, StoreError> {
    let sql = match conn.link {
        Link::Sqlite(_) => SQLITE_KEYS,
        Link::Postgres(_) => POSTGRES_KEYS,
    };
    each_backend!(conn, |c| diesel::sql_query(sql).load(c))
}

/// A column.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, QueryableByName)]
pub struct ColumnOf {
    /// Its table.
    #[diesel(sql_type = Text)]
    pub table_name: String,
    /// Its name.
    #[diesel(sql_type = Text)]
    pub name: String,
    /// 1 where it may be null, 0 where not.
    #[diesel(sql_type = BigInt)]
    pub may_be_null: i64,
}

/// Every column of our tables.
///
/// # Errors
/// Those of the database.
pub fn columns(conn: &mut Conn) -> Result<Vec<ColumnOf>, StoreError> {
    let sql = match conn.link {
        Link::Sqlite(_) => SQLITE_COLUMNS,
        Link::Postgres(_) => POSTGRES_COLUMNS,
    };
    each_backend!(conn, |c| diesel::sql_query(sql).load(c))
}

/// The whole schema as text, one line a column, key, index, trigger and function, in a fixed order.
///
/// # Errors
/// Those of the database.
pub fn schema(conn: &mut Conn) -> Result<Vec<String>, StoreError> {
    let sql = match conn.link {
        Link::Sqlite(_) => SQLITE_SCHEMA,
        Link::Postgres(_) => POSTGRES_SCHEMA,
    };
    let lines: Vec<Line> = each_backend!(conn, |c| diesel::sql_query(sql).load(c))?;
    Ok(lines.into_iter().map(|line| line.line).collect())
}

#[derive(QueryableByName)]
struct Line {
    #[diesel(sql_type = Text)]
    line: String,
}

const SQLITE_KEYS: &str = "
    SELECT t.name AS table_name, 'index ' || i.name AS name,
           (SELECT group_concat(c.name, ',' ORDER BY c.seqno) FROM pragma_index_info(i.name) c) AS columns
    FROM sqlite_schema t, pragma_index_list(t.name) i
    WHERE t.type = 'table' AND t.name NOT LIKE '\\_\\_%' ESCAPE '\\'
    UNION ALL
    SELECT t.name, 'primary key',
           (SELECT group_concat(c.name, ',' ORDER BY c.pk) FROM pragma_table_info(t.name) c WHERE c.pk > 0)
    FROM sqlite_schema t
    WHERE t.type = 'table' AND t.name NOT LIKE '\\_\\_%' ESCAPE '\\'
    UNION ALL
    SELECT t.name, 'foreign key to ' || f.\"table\", group_concat(f.\"from\", ',' ORDER BY f.seq)
    FROM sqlite_schema t, pragma_foreign_key_list(t.name) f
    WHERE t.type = 'table' AND t.name NOT LIKE '\\_\\_%' ESCAPE '\\'
    GROUP BY t.name, f.id, f.\"table\"
    ORDER BY 1, 2";

const POSTGRES_KEYS: &str = "
    SELECT t.relname::text AS table_name, 'index ' || i.relname AS name,
           (SELECT string_agg(a.attname, ',' ORDER BY k.place)
            FROM unnest(x.indkey) WITH ORDINALITY k (attnum, place)
            JOIN pg_attribute a ON a.attrelid = t.oid AND a.attnum = k.attnum) AS columns
    FROM pg_index x
    JOIN pg_class t ON t.oid = x.indrelid
    JOIN pg_class i ON i.oid = x.indexrelid
    WHERE t.relnamespace = 'public'::regnamespace AND t.relname NOT LIKE '\\_\\_%'
    UNION ALL
    SELECT t.relname::text, 'foreign key to ' || r.relname,
           (SELECT string_agg(a.attname, ',' ORDER BY k.place)
            FROM unnest(f.conkey) WITH ORDINALITY k (attnum, place)
            JOIN pg_attribute a ON a.attrelid = t.oid AND a.attnum = k.attnum)
    FROM pg_constraint f
    JOIN pg_class t ON t.oid = f.conrelid
    JOIN pg_class r ON r.oid = f.confrelid
    WHERE f.contype = 'f'
    ORDER BY 1, 2";

const SQLITE_COLUMNS: &str = "
    SELECT t.name AS table_name, c.name AS name, 1 - c.\"notnull\" AS may_be_null
    FROM sqlite_schema t, pragma_table_info(t.name) c
    WHERE t.type = 'table' AND t.name NOT LIKE '\\_\\_%' ESCAPE '\\' AND t.name NOT LIKE 'sqlite\\_%' ESCAPE '\\'
    ORDER BY 1, 2";

const POSTGRES_COLUMNS: &str = "
    SELECT table_name::text, column_name::text AS name, CAST((is_nullable = 'YES')::integer AS bigint) AS may_be_null
    FROM information_schema.columns
    WHERE table_schema = 'public' AND table_name NOT LIKE '\\_\\_%'
    ORDER BY 1, 2";

const SQLITE_SCHEMA: &str = "
    SELECT type || ' ' || name || ': ' || coalesce(sql, '') AS line
    FROM sqlite_schema
    WHERE tbl_name NOT LIKE '\\_\\_%' ESCAPE '\\'
    ORDER BY 1";

const POSTGRES_SCHEMA: &str = "
    SELECT 'column ' || table_name || '.' || column_name || ': ' || data_type || ' ' || is_nullable
           || ' ' || ordinal_position || ' ' || coalesce(collation_name, '') AS line
    FROM information_schema.columns
    WHERE table_schema = 'public' AND table_name NOT LIKE '\\_\\_%'
    UNION ALL
    SELECT 'index ' || indexdef FROM pg_indexes
    WHERE schemaname = 'public' AND tablename NOT LIKE '\\_\\_%'
    UNION ALL
    SELECT 'key ' || conrelid::regclass || ': ' || pg_get_constraintdef(oid) FROM pg_constraint
    WHERE connamespace = 'public'::regnamespace AND conrelid::regclass::text NOT LIKE '\\_\\_%'
    UNION ALL
    SELECT 'policy ' || polrelid::regclass || ' ' || polname || ' ' || polcmd::text || ': ' || pg_get_expr(polqual, polrelid)
    FROM pg_policy
    UNION ALL
    SELECT 'row security ' || relname || ' ' || relrowsecurity || ' ' || relforcerowsecurity FROM pg_class
    WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace AND relname NOT LIKE '\\_\\_%'
    UNION ALL
    SELECT 'trigger ' || tgenabled::text || ' ' || pg_get_triggerdef(oid) FROM pg_trigger WHERE NOT tgisinternal
    UNION ALL
    SELECT 'function ' || oid::regprocedure || ': ' || prosrc FROM pg_proc
    WHERE pronamespace = 'public'::regnamespace
    ORDER BY 1";
