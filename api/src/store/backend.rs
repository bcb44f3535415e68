//! One query text, two databases: with `db.rs`, the only place that tells them apart.

/// Rows in one statement: 500 rows of 32 columns stay below SQLite's 32,766 and PostgreSQL's
/// 65,535 bound values.
pub(super) const BATCH: usize = 500;

/// Expands the body once for each database, with `$c` bound to its diesel connection, and turns
/// diesel's error into a [`StoreError`](super::StoreError).
macro_rules! each_backend {
    ($conn:expr, |$c:ident| $query:expr) => {{
        let conn: &mut $crate::store::Conn = $conn;
        let result = match &mut conn.link {
            $crate::store::db::Link::Sqlite(pooled) => {
                let $c = &mut **pooled;
                $query
            }
            $crate::store::db::Link::Postgres(pooled) => {
                let $c = &mut pooled.conn;
                $query
            }
        };
        conn.settle(result)
    }};
}
pub(super) use each_backend;

/// Runs the inserting `statement` made of `rows`; for a single row it stays prepared.
macro_rules! insert_rows {
    ($conn:expr, $batch:expr, |$rows:ident| $statement:expr) => {
        match <[_; 1]>::try_from($batch) {
            Ok([$rows]) => {
                each_backend!($conn, |c| $crate::store::prepared::prepared($statement)
                    .execute(c))
            }
            Err($rows) => each_backend!($conn, |c| $statement.execute(c)),
        }
    };
}
pub(super) use insert_rows;

/// Reads one row and locks it until the transaction ends.
///
/// SQLite has no row locks and needs none: its write transactions run one at a time. PostgreSQL's
/// lock leaves the key alone, so that rows that only refer to this one are not held up.
macro_rules! for_update {
    ($conn:expr, $query:expr) => {{
        let conn: &mut $crate::store::Conn = $conn;
        let result = match &mut conn.link {
            $crate::store::db::Link::Sqlite(pooled) => ($query).first(&mut **pooled),
            $crate::store::db::Link::Postgres(pooled) => {
                ($query).for_no_key_update().first(&mut pooled.conn)
            }
        };
        conn.settle(result)
    }};
}
pub(super) use for_update;

/// Keys in batches, sorted and each once, so that results read batch by batch are sorted too.
pub(super) fn sorted_chunks<K: Ord + Copy>(keys: &[K]) -> Vec<Vec<K>> {
    let mut keys = keys.to_vec();
    keys.sort_unstable();
    keys.dedup();
    keys.chunks(BATCH).map(<[K]>::to_vec).collect()
}

/// Rows in batches of one statement each.
pub(super) fn batches<T>(rows: impl IntoIterator<Item = T>) -> impl Iterator<Item = Vec<T>> {
    let mut rows = rows.into_iter();
    std::iter::from_fn(move || {
        let batch: Vec<T> = rows.by_ref().take(BATCH).collect();
        (!batch.is_empty()).then_some(batch)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn batches_hold_every_row_once() {
        let sizes: Vec<_> = batches(0..1_000).map(|batch| batch.len()).collect();
        assert_eq!(sizes, [500, 500]);
        assert_eq!(batches(0..1_001).flatten().count(), 1_001);
        assert_eq!(batches(0..0).count(), 0);
    }

    #[test]
    fn chunks_are_sorted_and_hold_each_key_once() {
        assert_eq!(sorted_chunks(&[3, 1, 3, 2]), vec![vec![1, 2, 3]]);
        assert!(sorted_chunks::<u8>(&[]).is_empty());
        let many: Vec<usize> = (0..1_201).rev().collect();
        let chunks = sorted_chunks(&many);
        assert_eq!(
            chunks.iter().map(Vec::len).collect::<Vec<_>>(),
            [500, 500, 201]
        );
        assert!(chunks.concat().is_sorted());
    }
}
