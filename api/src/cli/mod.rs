//! The command line: one file a command.
//!
//! Exit codes: 0 done, 1 found something wrong, 2 wrong usage or settings. An error is one sentence
//! on standard error that says what to do.

mod audit;
mod calendar;
mod check;
mod close_week;
mod demo;
mod erasures;
mod export;
mod import;
mod keys;
mod migrate;
mod openapi;
mod page_link;
mod pull_rosters;
mod read_calendars;
mod retention;
mod serve;
mod start;
mod stopping;
mod token;

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Parser, Subcommand};

use crate::config::{Config, ConfigError};

/// Training-load monitoring for clubs: sessions in, loads out, the week's spikes listed.
#[derive(Debug, Parser)]
#[command(name = "plimsoll", version, about, max_term_width = 100)]
struct Arguments {
    /// Settings file; `PLIMSOLL_…` variables win over it.
    #[arg(long, global = true, value_name = "FILE")]
    config: Option<PathBuf>,
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Show an invented club's week, then serve it.
    Demo(demo::Arguments),
    /// Run the service.
    Serve,
    /// Apply pending migrations, or only report them.
    Migrate(migrate::Arguments),
    /// Close a week now; running it twice changes nothing.
    CloseWeek(close_week::Arguments),
    /// Import session reports from a file.
    Import(import::Arguments),
    /// Export session reports.
    Export(export::Arguments),
    /// Say what a calendar's file comes to, and what of it cannot be taken.
    Calendar(calendar::Arguments),
    /// Pull the roster sources that are due now.
    PullRosters,
    /// Read the calendars that are due now, from their feeds or by the texts that were sent.
    ReadCalendars,
    /// Look after the list of who read what.
    #[command(subcommand)]
    Audit(audit::Arguments),
    /// Look after the keys that private values are sealed with.
    #[command(subcommand)]
    Keys(keys::Arguments),
    /// Erase what is due of athletes who have left.
    #[command(subcommand)]
    Retention(retention::Arguments),
    /// Erase again, after a restore, whoever had been erased.
    #[command(subcommand)]
    Erasures(erasures::Arguments),
    /// Look at settings, database, migrations, keys and clock.
    Check,
    /// Sign a token with the local development key.
    Token(token::Arguments),
    /// Sign a link to one weekly list, for trials.
    PageLink(page_link::Arguments),
    /// Print the OpenAPI document, or compare it with a file.
    Openapi(openapi::Arguments),
}

/// Why a command ended early.
#[derive(Debug, thiserror::Error)]
pub enum Failure {
    /// It ran and found something wrong.
    #[error("{0}")]
    Found(String),
    /// It was asked for wrongly, or a setting is wrong.
    #[error("{0}")]
    Usage(String),
}

impl Failure {
    fn found(cause: impl std::fmt::Display) -> Self {
        Failure::Found(cause.to_string())
    }

    /// What went wrong with a file, by its name.
    fn file(path: &Path, error: &std::io::Error) -> Self {
        Failure::Found(format!("{}: {error}", path.display()))
    }

    fn exit_code(&self) -> ExitCode {
        match self {
            Failure::Found(_) => ExitCode::from(1),
            Failure::Usage(_) => ExitCode::from(2),
        }
    }
}

impl From<ConfigError> for Failure {
    fn from(error: ConfigError) -> Self {
        Failure::Usage(error.to_string())
    }
}

/// Parses the arguments, runs the command, turns the outcome into an exit code.
pub fn run() -> ExitCode {
    let arguments = Arguments::parse();
    match dispatch(arguments) {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            tell(&format!("plimsoll: {failure}"));
            failure.exit_code()
        }
    }
}

fn dispatch(arguments: Arguments) -> Result<(), Failure> {
    let config = || Config::load(arguments.config.as_deref());
    match arguments.command {
        Command::Demo(arguments) => demo::run(&arguments),
        Command::Serve => serve::run(config()?),
        Command::Migrate(arguments) => migrate::run(&config()?, &arguments),
        Command::CloseWeek(arguments) => close_week::run(&config()?, &arguments),
        Command::Import(arguments) => import::run(&config()?, &arguments),
        Command::Export(arguments) => export::run(&config()?, &arguments),
        Command::Calendar(arguments) => calendar::run(&arguments),
        Command::PullRosters => pull_rosters::run(&config()?),
        Command::ReadCalendars => read_calendars::run(&config()?),
        Command::Audit(arguments) => audit::run(&config()?, &arguments),
        Command::Keys(arguments) => keys::run(&config()?, &arguments),
        Command::Retention(arguments) => retention::run(&config()?, &arguments),
        Command::Erasures(arguments) => erasures::run(&config()?, &arguments),
        Command::Check => check::run(&config()?),
        Command::Token(arguments) => token::run(&config()?, &arguments),
        Command::PageLink(arguments) => page_link::run(config()?, &arguments),
        Command::Openapi(arguments) => openapi::run(&arguments),
    }
}

/// One line to standard output: results. Whoever reads may have gone away, as in `plimsoll … | head`.
fn say(line: &str) -> Result<(), Failure> {
    writeln!(std::io::stdout().lock(), "{line}")
        .map_err(|error| Failure::Found(format!("cannot write to standard output: {error}")))
}

/// One line to standard error: what went wrong. Where that cannot be written, nobody is left to be told.
fn tell(line: &str) {
    let _ = writeln!(std::io::stderr().lock(), "{line}");
}
