//! Prints the instances of calendars, one a line.
//!
//! Reads from standard input, one a line: path, first date, last date, default zone. Prints for each
//! what was found and then a line `.`.

use std::error::Error;
use std::io::BufRead;

use jiff::tz::TimeZone;
use plimsoll_api::calendar::{self, Bounds};

#[allow(clippy::print_stdout)]
fn main() -> Result<(), Box<dyn Error>> {
    for line in std::io::stdin().lock().lines() {
        let line = line?;
        let [path, first, last, zone] = line.split_whitespace().collect::<Vec<_>>()[..] else {
            return Err(format!("not path, dates and zone: {line}").into());
        };
        let text = std::fs::read(path)?;
        let window = (first.parse()?, last.parse()?);
        print(&text, window, &TimeZone::get(zone)?);
        println!(".");
    }
    Ok(())
}

#[allow(clippy::print_stdout)]
fn print(text: &[u8], window: (jiff::civil::Date, jiff::civil::Date), home: &TimeZone) {
    let read = match calendar::expand(text, window, home, &Bounds::default()) {
        Ok(read) => read,
        Err(refused) => return println!("refused\t{refused}"),
    };
    for one in read.instances {
        let original = one
            .recurrence_id
            .map_or_else(|| "-".to_owned(), |id| id.to_string());
        let (uid, at, date) = (&one.uid, one.start.at, one.start.date());
        let (minutes, status) = (one.minutes, one.status.code());
        println!("{at}\t{date}\t{minutes}\t{status}\t{uid}\t{original}");
    }
    for problem in read.problems {
        let (component, code, detail) = (problem.component, problem.code, problem.detail);
        println!("problem\t{component}\t{code}\t{detail}");
    }
}
