//! Prints the figures of daily loads, for comparison with other programs.
//!
//! `figures_csv days` and `figures_csv weeks` read lines `athlete,date,half_au` from standard
//! input, after a header, one for every date from an athlete's first membership date, and write CSV
//! with a header. Figures are written in full; a figure that does not exist is left empty.

use std::collections::BTreeMap;
use std::error::Error;
use std::io::{BufWriter, Write};

use jiff::civil::Date;
use plimsoll_domain::{
    DailySeries, DayFigures, FigureSettings, Fraction, IsoWeek, Load, LoadChange, Root,
    WeekFigures, day_figures_iter, week_figures,
};

type Athletes = BTreeMap<String, DailySeries>;

fn main() -> Result<(), Box<dyn Error>> {
    let text = std::io::read_to_string(std::io::stdin())?;
    let out = BufWriter::new(std::io::stdout().lock());
    match std::env::args().nth(1).as_deref() {
        Some("days") => print_days(&read(&text)?, out),
        Some("weeks") => print_weeks(&read(&text)?, out),
        _ => Err("usage: figures_csv days|weeks < loads.csv".into()),
    }
}

fn read(text: &str) -> Result<Athletes, Box<dyn Error>> {
    let mut loads: BTreeMap<String, (Date, Vec<Load>)> = BTreeMap::new();
    for line in text.lines().skip(1) {
        let fields: Vec<&str> = line.split(',').collect();
        let [athlete, date, half_au] = fields.as_slice() else {
            return Err(format!("expected athlete,date,half_au: {line}").into());
        };
        let load = Load::from_half_au(half_au.parse()?).ok_or("a load is negative")?;
        let first = date.parse()?;
        loads
            .entry((*athlete).into())
            .or_insert((first, Vec::new()))
            .1
            .push(load);
    }
    let series = loads
        .into_iter()
        .map(|(athlete, (first, loads))| Ok((athlete, DailySeries::of_loads(first, &loads)?)));
    series.collect()
}

fn print_days(athletes: &Athletes, mut out: impl Write) -> Result<(), Box<dyn Error>> {
    writeln!(
        out,
        "athlete,date,acute,prior,chronic_coupled,chronic_uncoupled,ratio_coupled,ratio_uncoupled,\
         ewma_acute,ewma_chronic,ewma_ratio,monotony_sample,monotony_population,strain_sample,\
         strain_population,change_au,change_pct"
    )?;
    let settings = FigureSettings::default();
    for (athlete, series) in athletes {
        for day in day_figures_iter(series, &settings, series.first(), series.last()) {
            writeln!(out, "{athlete},{},{}", day.date, row(&of_day(&day)))?;
        }
    }
    Ok(())
}

fn of_day(day: &DayFigures) -> [Option<f64>; 15] {
    let fraction = |figure: Option<Fraction>| figure.map(Fraction::to_f64);
    let root = |figure: Option<Root>| figure.map(Root::to_f64);
    let change = day.change_from_previous_7d;
    [
        day.acute_7d.point.map(Load::to_au),
        day.prior_21d.point.map(Load::to_au),
        fraction(day.chronic_week.map(|week| week.coupled)),
        fraction(day.chronic_week.map(|week| week.uncoupled)),
        fraction(day.ratio_coupled.point),
        fraction(day.ratio_uncoupled.point),
        day.ewma.acute,
        day.ewma.chronic,
        day.ewma.ratio,
        root(day.monotony.sample.point),
        root(day.monotony.population.point),
        root(day.strain.sample.point),
        root(day.strain.population.point),
        change.au.point.map(LoadChange::to_au),
        fraction(change.pct.point),
    ]
}

fn print_weeks(athletes: &Athletes, mut out: impl Write) -> Result<(), Box<dyn Error>> {
    writeln!(
        out,
        "athlete,monday,load,own_highest,mean,sd,z,median,median_deviation,robust_z"
    )?;
    let settings = FigureSettings::default();
    for (athlete, series) in athletes {
        let (from, to) = (IsoWeek::of(series.first())?, IsoWeek::of(series.last())?);
        for week in week_figures(series, &settings, from, to) {
            writeln!(
                out,
                "{athlete},{},{}",
                week.week.monday(),
                row(&of_week(&week))
            )?;
        }
    }
    Ok(())
}

fn of_week(week: &WeekFigures) -> [Option<f64>; 8] {
    let baseline = week.baseline.ok();
    [
        Some(week.load.point.to_au()),
        week.own_highest.ok().map(|highest| highest.load.to_au()),
        baseline.map(|usual| usual.mean.to_f64()),
        baseline.map(|usual| usual.standard_deviation.to_f64()),
        baseline.and_then(|usual| usual.z.point).map(Root::to_f64),
        baseline.map(|usual| usual.median.to_f64()),
        baseline.map(|usual| usual.median_deviation.to_f64()),
        baseline
            .and_then(|usual| usual.robust_z.point)
            .map(Fraction::to_f64),
    ]
}

fn row(figures: &[Option<f64>]) -> String {
    let text = |figure: &Option<f64>| figure.map(|figure| format!("{figure}")).unwrap_or_default();
    figures.iter().map(text).collect::<Vec<_>>().join(",")
}
