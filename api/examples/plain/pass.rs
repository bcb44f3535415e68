//! The day totals of every club read once, club by club, and nothing done with them.

use std::error::Error;
use std::io::Write;
use std::time::Instant;

use jiff::civil::Date;
use plimsoll_api::store::{Clubs, Store, StoreError, Tenant, Who, clubs, day_totals};

/// Which rows.
#[derive(Debug, clap::Args)]
pub(super) struct Arguments {
    /// First load date.
    #[arg(long)]
    from: Date,
    /// Last load date.
    #[arg(long)]
    to: Date,
}

/// Reads, and prints the number of rows and the seconds.
pub(super) async fn run(store: &Store, arguments: &Arguments) -> Result<(), Box<dyn Error>> {
    let (from, to) = (arguments.from, arguments.to);
    let clubs = store
        .read(Clubs::Every, |conn| clubs::list_all(conn, None, 500))
        .await?;
    let (mut rows, start) = (0, Instant::now());
    for club in clubs {
        let tenant = Tenant::granted(club.club_id);
        let read = store.read(tenant, move |conn| {
            let rows = day_totals::in_dates(conn, tenant, Who::WholeClub, from, to)?;
            Ok::<_, StoreError>(rows.len())
        });
        rows += read.await?;
    }
    let seconds = start.elapsed().as_secs_f64();
    writeln!(std::io::stdout(), "{rows} {seconds:.4}")?;
    Ok(())
}
