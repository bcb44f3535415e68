//! A roster or a calendar parsed by the library that the service uses, and nothing done with it.

use std::error::Error;
use std::io::Write;
use std::path::PathBuf;
use std::time::Instant;

use icalendar::parser;
use serde_json::Value;

/// The shortest of so many passes is what the parse takes.
const PASSES: u32 = 20;

/// Which file.
#[derive(Debug, clap::Args)]
pub(super) struct Arguments {
    /// JSON, or iCalendar where the name ends in `.ics`.
    file: PathBuf,
}

/// Parses it, and prints its bytes and the seconds.
pub(super) fn run(arguments: &Arguments) -> Result<(), Box<dyn Error>> {
    let text = std::fs::read_to_string(&arguments.file)?;
    let is_calendar = arguments.file.extension().is_some_and(|end| end == "ics");
    let mut shortest = f64::INFINITY;
    for _ in 0..PASSES {
        let start = Instant::now();
        if is_calendar {
            parse_calendar(&text)?;
        } else {
            std::hint::black_box(serde_json::from_str::<Value>(&text)?);
        }
        shortest = shortest.min(start.elapsed().as_secs_f64());
    }
    writeln!(std::io::stdout(), "{} {shortest:.6}", text.len())?;
    Ok(())
}

fn parse_calendar(text: &str) -> Result<(), Box<dyn Error>> {
    let unfolded = parser::unfold(text);
    let calendar = parser::read_calendar(&unfolded).map_err(|error| error.clone())?;
    std::hint::black_box(calendar);
    Ok(())
}
