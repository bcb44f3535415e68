//! The changes of one club read once, batch by batch, and nothing done with them.

use std::error::Error;
use std::io::Write;
use std::time::Instant;

use plimsoll_api::ids::ClubId;
use plimsoll_api::store::{Store, Tenant, changes};

/// Rows at a time, as the service's stream.
const BATCH: i64 = 1_000;

/// Whose.
#[derive(Debug, clap::Args)]
pub(super) struct Arguments {
    /// The club.
    #[arg(long)]
    club: ClubId,
}

/// Reads, and prints the number of rows and the seconds.
pub(super) async fn run(store: &Store, arguments: &Arguments) -> Result<(), Box<dyn Error>> {
    let tenant = Tenant::granted(arguments.club);
    let (mut rows, mut after, start) = (0, i64::MIN, Instant::now());
    loop {
        let read = store.read(tenant, move |conn| {
            changes::since(conn, tenant, after, BATCH)
        });
        let batch = read.await?;
        let Some(last) = batch.last() else { break };
        after = last.seq;
        rows += batch.len();
    }
    let seconds = start.elapsed().as_secs_f64();
    writeln!(std::io::stdout(), "{rows} {seconds:.4}")?;
    Ok(())
}
