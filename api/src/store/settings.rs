//! How many connections, and how long to wait for what.

use std::time::Duration;

/// Limits of the store. Every wait has one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StoreSettings {
    /// Connections for reading; also how many reads run at once.
    pub read_connections: u32,
    /// Connections for writing on PostgreSQL. SQLite has exactly one writer.
    pub write_connections: u32,
    /// How long a request waits for a free connection before it is told "busy".
    pub permit_wait: Duration,
    /// How long a request that has its turn waits until its connection is open. There is one for every
    /// turn, so it waits only while the database is away or slow to take it.
    pub connect_wait: Duration,
    /// The longest statement (PostgreSQL only: SQLite's time limit is a callback that needs
    /// `unsafe`, so there it is bounded by what the queries can touch).
    pub statement_timeout: Duration,
    /// The longest wait for a lock; SQLite's `busy_timeout`.
    pub lock_timeout: Duration,
    /// The longest wait for the answer to COMMIT, after which the outcome is unknown. PostgreSQL's
    /// own time limits do not bound a COMMIT that waits for a synchronous standby.
    pub commit_timeout: Duration,
    /// PostgreSQL: reads find each table as a view in which every row that can be seen at all is the asking club's, as if no query
    /// named its club (`testing::Unfiltered`).
    #[cfg(any(test, feature = "testing"))]
    pub reads_unfiltered: bool,
}

impl Default for StoreSettings {
    fn default() -> Self {
        Self {
            read_connections: 4,
            write_connections: 4,
            permit_wait: Duration::from_secs(1),
            connect_wait: Duration::from_millis(750),
            statement_timeout: Duration::from_secs(5),
            lock_timeout: Duration::from_secs(2),
            commit_timeout: Duration::from_secs(5),
            #[cfg(any(test, feature = "testing"))]
            reads_unfiltered: false,
        }
    }
}
