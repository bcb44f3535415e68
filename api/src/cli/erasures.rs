//! `plimsoll erasures replay FILE…` and `plimsoll erasures finish`.

use std::fs::File;
use std::io::BufReader;
use std::path::{Path, PathBuf};

use clap::Subcommand;

use super::{Failure, say, start, tell};
use crate::app::App;
use crate::config::Config;
use crate::services::erasure::{self, file};
use crate::services::retention::run;
use crate::store::retention::runs;
use crate::store::{Clubs, StoreError, erasures};

/// Arguments of `erasures`.
#[derive(Debug, Subcommand)]
pub(super) enum Arguments {
    /// After a restore: erase again whom these files name, before anybody is served; doing it twice changes nothing.
    Replay {
        /// The files that erasures were written to, of each instance.
        #[arg(required = true)]
        files: Vec<PathBuf>,
    },
    /// Do what is still to be done after erasures and retention runs: the line outside the database, and making the database
    /// forget the bytes. Only the owner of the tables can do the latter on PostgreSQL.
    Finish,
}

pub(super) fn run(config: &Config, arguments: &Arguments) -> Result<(), Failure> {
    let config = config.clone();
    actix_web::rt::System::new().block_on(async move {
        let app = start::app(config, start::Migrations::BySetting).await?;
        let files: &[PathBuf] = match arguments {
            Arguments::Replay { files } => files,
            Arguments::Finish => return finish(&app).await,
        };
        let mut failed = 0;
        for path in files {
            failed += replay(&app, path).await?;
        }
        erasure::finish(&app).await;
        match failed {
            0 => Ok(()),
            failed => Err(Failure::Found(format!(
                "{failed} line(s) could not be replayed; they are named above"
            ))),
        }
    })
}

/// Does what is still to be done, and says whether anything is left.
async fn finish(app: &App) -> Result<(), Failure> {
    erasure::finish(app).await;
    run::clean(app).await;
    let left = app.store.read(Clubs::Every, |conn| {
        let (erasures, runs) = (erasures::unfinished(conn)?, runs::unclean(conn)?);
        Ok::<_, StoreError>((erasures.len(), runs.len()))
    });
    match left.await.map_err(Failure::found)? {
        (0, 0) => say("nothing is left to be done"),
        (erasures, runs) => Err(Failure::Found(format!(
            "{erasures} erasure(s) and {runs} retention run(s) are not finished; the log says why"
        ))),
    }
}

/// Erases again whom a file names; answers for how many lines that failed.
async fn replay(app: &App, path: &Path) -> Result<usize, Failure> {
    let wrong = |error| Failure::file(path, &error);
    let lines = file::read(BufReader::new(File::open(path).map_err(wrong)?)).map_err(wrong)?;
    let mut failed = 0;
    for (number, line) in lines {
        let place = format!("{}, line {number}", path.display());
        let Ok(filed) = line else {
            failed += 1;
            tell(&format!(
                "{place} is not an erasure; a line that was broken off is written once more below it"
            ));
            continue;
        };
        let (club, athlete) = (filed.club_id, filed.athlete_id);
        match erasure::again(app, filed).await {
            Ok(0) => say(&format!("{club} {athlete} nothing is left"))?,
            Ok(rows) => say(&format!("{club} {athlete} {rows} rows erased"))?,
            Err(problem) => {
                failed += 1;
                tell(&format!("{place}: {}", problem.detail));
            }
        }
    }
    Ok(failed)
}
