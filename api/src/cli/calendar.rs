//! `plimsoll calendar FILE --from DATE --to DATE --zone ZONE`.

use std::path::PathBuf;

use jiff::civil::Date;
use jiff::tz::TimeZone;

use super::{Failure, say};
use crate::calendar::{self, Bounds, Calendar, Instance, RowProblem};

/// Arguments of `calendar`.
#[derive(Debug, clap::Args)]
pub(super) struct Arguments {
    /// An iCalendar file (RFC 5545).
    file: PathBuf,
    /// First date.
    #[arg(long)]
    from: Date,
    /// Last date.
    #[arg(long)]
    to: Date,
    /// The zone of dates and times that come without one.
    #[arg(long, value_name = "IANA NAME")]
    zone: String,
}

/// Says what a calendar comes to: an instance a line, then what of it cannot be taken. Stores nothing, and asks no database.
pub(super) fn run(arguments: &Arguments) -> Result<(), Failure> {
    let zone = TimeZone::get(&arguments.zone).map_err(|error| Failure::Usage(error.to_string()))?;
    let path = &arguments.file;
    let text = std::fs::read(path).map_err(|error| Failure::file(path, &error))?;
    let window = (arguments.from, arguments.to);
    let read = calendar::expand(&text, window, &zone, &Bounds::default());
    let read = read.map_err(|refused| Failure::Found(format!("{}: {refused}", path.display())))?;
    tell(&read)?;
    match read.problems.len() {
        0 => Ok(()),
        number => Err(Failure::Found(format!(
            "{number} event(s) of the calendar cannot be taken; they are named above"
        ))),
    }
}

fn tell(read: &Calendar) -> Result<(), Failure> {
    for instance in &read.instances {
        say(&told(instance))?;
    }
    for problem in &read.problems {
        say(&refused(problem))?;
    }
    Ok(())
}

fn told(instance: &Instance) -> String {
    let start = &instance.start;
    let local = start.local().strftime("%a %Y-%m-%d %H:%M");
    let (zone, minutes, status) = (start.zone_name(), instance.minutes, instance.status.code());
    let summary = instance.text.summary.as_deref().unwrap_or_default();
    format!(
        "{local} {} {minutes} min {status} {summary}",
        zone.unwrap_or_default()
    )
}

fn refused(problem: &RowProblem) -> String {
    let RowProblem {
        component,
        line,
        code,
        detail,
        ..
    } = problem;
    format!("event {component} at line {line}: {code}: {detail}")
}
