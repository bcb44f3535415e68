//! Times the columns kernel on given loads, for comparison with other programs in one run.
//!
//! `time_columns FILE DAYS REPEATS`: FILE holds the daily loads of athlete after athlete in
//! half-AU, eight bytes each, little-endian; prints the seconds of each repeat, then a checksum of
//! each column so that results can be compared.

use std::error::Error;
use std::io::Write as _;
use std::time::Instant;

use plimsoll_domain::columns::{Column, ColumnSettings, Columns};
use plimsoll_domain::{Decimal, Load};

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [file, days, repeats] = arguments.as_slice() else {
        return Err("usage: time_columns FILE DAYS REPEATS".into());
    };
    let (days, repeats): (usize, usize) = (days.parse()?, repeats.parse()?);
    let loads = read(file)?;
    let athletes: Vec<&[Load]> = loads.chunks(days).collect();
    let settings = ColumnSettings {
        chronic_floor: Load::from_au(250),
        ratio_limit: Decimal::hundredths(150),
    };
    let mut out = std::io::stdout().lock();
    let mut columns = Columns::new();
    for _ in 0..repeats {
        let start = Instant::now();
        columns.compute(&athletes, &settings);
        writeln!(out, "seconds {}", start.elapsed().as_secs_f64())?;
    }
    for column in Column::ALL {
        let present = columns
            .column(*column)
            .iter()
            .filter(|value| !value.is_nan());
        writeln!(
            out,
            "{} {} {}",
            column.code(),
            present.clone().count(),
            present.sum::<f64>()
        )?;
    }
    Ok(())
}

fn read(file: &str) -> Result<Vec<Load>, Box<dyn Error>> {
    let bytes = std::fs::read(file)?;
    let (words, rest) = bytes.as_chunks::<8>();
    if !rest.is_empty() {
        return Err("the file must hold whole numbers of eight bytes".into());
    }
    let load = |word: &[u8; 8]| Load::from_half_au(i64::from_le_bytes(*word));
    words
        .iter()
        .map(load)
        .collect::<Option<Vec<Load>>>()
        .ok_or_else(|| "a load is negative".into())
}
