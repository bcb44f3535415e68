//! The other side of the benchmarks: the least that could be done for the same rows and bytes.
//!
//! It shares the database, the store's connections and pools and the HTTP library with the service,
//! and has nothing else of it: no tokens, checks, versions, figures, audit or log. `tests/bench/http.sh`
//! measures the service against it.

mod changes;
mod copy;
mod parse;
mod pass;
mod serve;

use std::error::Error;

use clap::Parser;
use plimsoll_api::store::{DatabaseUrl, MasterKeys, Store, StoreSettings};

/// The plain side of the HTTP benchmarks.
#[derive(Debug, Parser)]
struct Arguments {
    /// The database of the service, migrated.
    #[arg(long)]
    database_url: DatabaseUrl,
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, clap::Subcommand)]
enum Command {
    /// Answers plain requests.
    Serve(serve::Arguments),
    /// Writes the rows of one club once more, as another club's, and prints the seconds.
    Copy(copy::Arguments),
    /// Reads the day totals of every club once, and prints the rows and the seconds.
    Pass(pass::Arguments),
    /// Reads the changes of one club once, and prints the rows and the seconds.
    Changes(changes::Arguments),
    /// Parses a roster or a calendar, and prints the bytes and the seconds.
    Parse(parse::Arguments),
}

fn main() -> Result<(), Box<dyn Error>> {
    let arguments = Arguments::parse();
    let settings = StoreSettings {
        read_connections: 8,
        ..StoreSettings::default()
    };
    actix_web::rt::System::new().block_on(async {
        // The rows of the benchmarks have nothing private.
        let store = Store::connect(&arguments.database_url, settings, MasterKeys::none())?;
        match arguments.command {
            Command::Serve(arguments) => serve::run(store, &arguments).await,
            Command::Copy(arguments) => copy::run(&store, &arguments).await,
            Command::Pass(arguments) => pass::run(&store, &arguments).await,
            Command::Changes(arguments) => changes::run(&store, &arguments).await,
            Command::Parse(arguments) => parse::run(&arguments),
        }
    })
}
