//! `plimsoll import sessions FILE`: the same code as the bulk call.

mod file;

use std::io::IsTerminal;
use std::path::PathBuf;

use indicatif::{ProgressBar, ProgressStyle};

use super::{Failure, say, start};
use crate::app::App;
use crate::auth::tenant::Caller;
use crate::config::Config;
use crate::error::{FieldProblem, Problem};
use crate::ids::ClubId;
use crate::services::sessions::bulk::{self, Row, RowResult};
use crate::services::{text, write};

use file::Rows;

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
    #[arg(long, value_parser = source)]
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
        let tenant = start::club(&app, sessions.club).await?;
        let caller = Caller::system(tenant, &sessions.source, app.clock.now());
        let rows = file::read(&sessions.file)?;
        let bar = bar(rows.total)?;
        let mut counts = Counts::default();
        let outcome = all(&app, &caller, rows, sessions.dry_run, &bar, &mut counts).await;
        bar.finish_and_clear();
        // Also when the file could not be read to its end: what was stored is stored.
        counts.report(sessions.dry_run)?;
        outcome?;
        counts.verdict()
    })
}

/// Stores all rows, batch by batch, and says which are refused.
async fn all(
    app: &App,
    caller: &Caller,
    rows: Rows,
    dry_run: bool,
    bar: &ProgressBar,
    counts: &mut Counts,
) -> Result<(), Failure> {
    let mut rows = rows.rows;
    let mut first = 1;
    // A trial undoes what it did, so only one over everything sees what repeats.
    let size = if dry_run { usize::MAX } else { BATCH };
    loop {
        let batch: Vec<Row> = rows.by_ref().take(size).collect::<Result<_, _>>()?;
        let number = batch.len();
        if number == 0 {
            return Ok(());
        }
        let results = store(app, caller, batch, first, dry_run).await;
        let results = results.map_err(|problem| Failure::Found(problem.detail))?;
        bar.suspend(|| results.iter().try_for_each(|result| counts.take(result)))?;
        first += number;
        bar.inc(u64::try_from(number).unwrap_or(u64::MAX));
    }
}

/// Rows done, of how many where that is known; nothing where no person looks on.
fn bar(total: Option<usize>) -> Result<ProgressBar, Failure> {
    if !std::io::stderr().is_terminal() {
        return Ok(ProgressBar::hidden());
    }
    let total = total.and_then(|total| u64::try_from(total).ok());
    let (bar, template) = match total {
        Some(total) => (ProgressBar::new(total), "{wide_bar} {pos} of {len} rows"),
        None => (ProgressBar::no_length(), "{spinner} {pos} rows"),
    };
    let style = ProgressStyle::with_template(template).map_err(Failure::found)?;
    Ok(bar.with_style(style))
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
    fn take(&mut self, result: &RowResult) -> Result<(), Failure> {
        match result.outcome {
            "accepted" => self.accepted += 1,
            "unchanged" => self.unchanged += 1,
            _ => self.rejected += 1,
        }
        let mut problems = result.problems.iter();
        problems.try_for_each(|problem| say(&format!("row {}: {}", result.row, words(problem))))
    }

    fn report(&self, dry_run: bool) -> Result<(), Failure> {
        let Counts {
            accepted,
            unchanged,
            rejected,
        } = self;
        let stored = if dry_run {
            "would be accepted"
        } else {
            "accepted"
        };
        say(&format!(
            "{accepted} {stored}, {unchanged} unchanged, {rejected} rejected"
        ))
    }

    fn verdict(&self) -> Result<(), Failure> {
        match self.rejected {
            0 => Ok(()),
            some => Err(Failure::Found(format!(
                "{some} rows were rejected; mend and send them again"
            ))),
        }
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
    // A row that could not be read at all has no field to point at.
    let place = match problem.pointer.as_str() {
        "" => "",
        pointer => &format!(" {pointer}"),
    };
    format!("{}{place}{given}{allowed}", problem.code.code())
}

/// A source is a text as tokens name it.
fn source(given: &str) -> Result<String, String> {
    text::line("", given, 255)
        .map(|()| given.to_owned())
        .map_err(|_| "a source is a text of 1 to 255 characters".to_owned())
}
