//! `plimsoll import sessions FILE`: the same code as the bulk call.

use std::io::IsTerminal;
use std::path::{Path, PathBuf};

use super::{Failure, say, start};
use crate::app::App;
use crate::auth::tenant::Caller;
use crate::config::Config;
use crate::error::{FieldProblem, Problem};
use crate::ids::ClubId;
use crate::services::sessions::bulk::{self, Row, RowResult};
use crate::services::sessions::csv_rows;
use crate::services::write;
use crate::store::Tenant;
use indicatif::ProgressBar;

/// Rows stored in one transaction.
const BATCH: usize = 1_000;

/// Arguments of `import`.
#[derive(Debug, clap::Args)]
pub(super) struct Arguments {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, clap::Subcommand)]
enum What {
    /// Session reports: CSV with a header line, JSON `{"sessions": […]}`, or NDJSON, by the file's ending.
    Sessions(Sessions),
}

#[derive(Debug, Clone, clap::Args)]
struct Sessions {
    /// The file: .csv, .json or .ndjson.
    file: PathBuf,
    /// The club.
    #[arg(long)]
    club: ClubId,
    /// The source: reports are known by it and their external id.
    #[arg(long)]
    source: String,
    /// Check everything, store nothing.
    #[arg(long)]
    dry_run: bool,
}

#[derive(Default)]
struct Counts {
    accepted: usize,
    unchanged: usize,
    rejected: usize,
}

pub(super) fn run(config: &Config, arguments: &Arguments) -> Result<(), Failure> {
    let What::Sessions(sessions) = &arguments.what;
    let (config, sessions) = (config.clone(), sessions.clone());
    actix_web::rt::System::new().block_on(async move {
        let app = start::app(config, start::Migrations::BySetting).await?;
        let tenant = Tenant::granted(sessions.club);
        let caller = Caller::system(tenant, &sessions.source, app.clock.now());
        let mut rows = rows(&sessions.file)?;
        let bar = if std::io::stderr().is_terminal() {
            ProgressBar::new_spinner()
        } else {
            ProgressBar::hidden()
        };
        let mut counts = Counts::default();
        let mut first = 1;
        loop {
            // A trial undoes what it did, so only one over everything sees what repeats.
            let size = if sessions.dry_run { usize::MAX } else { BATCH };
            let batch: Vec<Row> = rows.by_ref().take(size).collect();
            if batch.is_empty() {
                break;
            }
            let number = batch.len();
            let results = store(&app, &caller, batch, first, sessions.dry_run).await;
            let results = results.map_err(|problem| Failure::Found(problem.detail))?;
            results.iter().for_each(|result| counts.take(result));
            first += number;
            bar.set_position(u64::try_from(first - 1).unwrap_or(u64::MAX));
        }
        bar.finish_and_clear();
        counts.report(sessions.dry_run)
    })
}

async fn store(
    app: &App,
    caller: &Caller,
    rows: Vec<Row>,
    first: usize,
    dry_run: bool,
) -> Result<Vec<RowResult>, Problem> {
    let work = move |change: &mut write::Change<'_>| bulk::store(change, &rows, first);
    if dry_run {
        write::trial(app, caller.clone(), work).await
    } else {
        write::job(app, caller.clone(), work).await
    }
}

impl Counts {
    fn take(&mut self, result: &RowResult) {
        match result.outcome {
            "accepted" => self.accepted += 1,
            "unchanged" => self.unchanged += 1,
            _ => self.rejected += 1,
        }
        for problem in &result.problems {
            say(&format!("row {}: {}", result.row, words(problem)));
        }
    }

    fn report(&self, dry_run: bool) -> Result<(), Failure> {
        let stored = if dry_run {
            "would be accepted"
        } else {
            "accepted"
        };
        let Counts {
            accepted,
            unchanged,
            rejected,
        } = self;
        say(&format!(
            "{accepted} {stored}, {unchanged} unchanged, {rejected} rejected"
        ));
        if *rejected > 0 {
            return Err(Failure::Found(format!(
                "{rejected} rows were rejected; mend and send them again"
            )));
        }
        Ok(())
    }
}

fn words(problem: &FieldProblem) -> String {
    let given = problem
        .given
        .as_ref()
        .map(|given| format!(", given {given}"))
        .unwrap_or_default();
    let allowed = problem
        .allowed
        .as_ref()
        .map(|some| format!(", allowed {some}"))
        .unwrap_or_default();
    format!(
        "{} {}{given}{allowed}",
        problem.code.code(),
        problem.pointer
    )
}

/// The rows of a file, by its ending.
fn rows(path: &Path) -> Result<Box<dyn Iterator<Item = Row>>, Failure> {
    let unreadable = |error| Failure::Found(format!("cannot read {}: {error}", path.display()));
    let unfit =
        |problem: Problem| Failure::Found(format!("{}: {}", path.display(), problem.detail));
    let whole = || std::fs::read(path).map_err(unreadable);
    match path.extension().and_then(|ending| ending.to_str()) {
        Some("csv") => {
            let rows = csv_rows::read(&whole()?).map_err(unfit)?.into_iter();
            Ok(Box::new(rows.map(|row| {
                row.and_then(|value| bulk::row_of_table(&value))
            })))
        }
        Some("json") => {
            let input = bulk::read_json(&whole()?).map_err(unfit)?;
            Ok(Box::new(input.into_iter()))
        }
        Some("ndjson") => {
            let text = whole()?;
            let lines = text
                .split(|byte| *byte == b'\n')
                .filter(|line| !line.trim_ascii().is_empty());
            let rows: Vec<Row> = lines.map(bulk::row).collect();
            Ok(Box::new(rows.into_iter()))
        }
        _ => Err(Failure::Usage(
            "the file ends in .csv, .json or .ndjson".into(),
        )),
    }
}
