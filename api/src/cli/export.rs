//! `plimsoll export sessions`: in the columns that `import sessions` reads.

use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::PathBuf;

use jiff::Timestamp;
use jiff::civil::Date;

use super::{Failure, start};
use crate::config::Config;
use crate::ids::{ClubId, SessionId};
use crate::services::sessions::{SessionInput, answer, csv_rows};
use crate::services::table;
use crate::store::sessions::{self, SessionFilter};
use crate::store::{Private, Who};

/// Rows read at a time.
const PAGE: i64 = 500;

/// Arguments of `export`.
#[derive(Debug, clap::Args)]
pub(super) struct Arguments {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, clap::Subcommand)]
enum What {
    /// Current session reports by start. Imported again under the same source, nothing changes.
    Sessions(Sessions),
}

#[derive(Debug, Clone, clap::Args)]
struct Sessions {
    /// The club.
    #[arg(long)]
    club: ClubId,
    /// Only reports of this source.
    #[arg(long)]
    source: Option<String>,
    /// First load date.
    #[arg(long)]
    from: Option<Date>,
    /// Last load date.
    #[arg(long)]
    to: Option<Date>,
    /// csv or ndjson.
    #[arg(long, default_value = "csv")]
    format: Format,
    /// Write to this file instead of standard output.
    #[arg(long)]
    out: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Format {
    Csv,
    Ndjson,
}

pub(super) fn run(config: &Config, arguments: &Arguments) -> Result<(), Failure> {
    let What::Sessions(asked) = &arguments.what;
    if matches!((asked.from, asked.to), (Some(from), Some(to)) if from > to) {
        return Err(Failure::Usage("--from is a date after --to".into()));
    }
    let (config, asked) = (config.clone(), asked.clone());
    actix_web::rt::System::new().block_on(async move {
        let app = start::app(config, start::Migrations::BySetting).await?;
        let tenant = start::club(&app, asked.club).await?;
        let out: Box<dyn Write> = match &asked.out {
            Some(path) => {
                Box::new(File::create(path).map_err(|error| Failure::file(path, &error))?)
            }
            None => Box::new(std::io::stdout()),
        };
        let mut lines = Lines::new(BufWriter::new(out), asked.format)?;
        let mut after: Option<(Timestamp, SessionId)> = None;
        loop {
            let (from, to) = (asked.from, asked.to);
            let page = app
                .store
                .read(tenant, move |conn| {
                    let filter = SessionFilter {
                        who: Who::WholeClub,
                        from,
                        to,
                    };
                    sessions::page(conn, tenant, filter, after, PAGE)
                })
                .await
                .map_err(Failure::found)?;
            let Some(last) = page.last() else {
                return lines.finish();
            };
            after = Some((last.content.started_at, last.content.session_id));
            for report in &page {
                if asked
                    .source
                    .as_ref()
                    .is_none_or(|source| *source == report.content.source)
                {
                    let input = answer::as_input(&report.content);
                    let input = input.map_err(|problem| Failure::Found(problem.detail))?;
                    lines.add(&SessionInput {
                        reason: report.content.reason.clone().map(Private::into_inner),
                        ..input
                    })?;
                }
            }
        }
    })
}

/// Writes reports one by one.
struct Lines<W: Write> {
    out: W,
    format: Format,
}

impl<W: Write> Lines<W> {
    fn new(mut out: W, format: Format) -> Result<Self, Failure> {
        if format == Format::Csv {
            out.write_all(&table::line(&csv_rows::COLUMNS))
                .map_err(Failure::found)?;
        }
        Ok(Self { out, format })
    }

    fn add(&mut self, report: &SessionInput) -> Result<(), Failure> {
        let line = match self.format {
            Format::Csv => csv_rows::write(report),
            Format::Ndjson => {
                let mut line = serde_json::to_vec(report).map_err(Failure::found)?;
                line.push(b'\n');
                line
            }
        };
        self.out.write_all(&line).map_err(Failure::found)
    }

    fn finish(mut self) -> Result<(), Failure> {
        self.out.flush().map_err(Failure::found)
    }
}
