//! Which sandbox is wanted: a seed and a date.

use jiff::civil::{self, Date};
use jiff::tz::TimeZone;
use serde::Deserialize;
use serde_json::Number;
use utoipa::ToSchema;

use crate::app::App;
use crate::demo;
use crate::error::{Code, FieldProblem, Problem};
use crate::services::fields::{self, Faults};

const FIRST: Date = civil::date(2001, 1, 1);
const LAST: Date = civil::date(2180, 12, 31);

/// Which sandbox to make. Seed and date make everything in it.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"seed": 7, "date": "2026-11-25"}))]
pub struct SandboxInput {
    /// Another seed makes another season, 0 to 4294967295; drawn where none is given.
    #[schema(value_type = Option<u32>)]
    pub seed: Option<Number>,
    /// The date on which its clock begins, at 07:00 in the club's zone, 2001-01-01 to 2180-12-31; today where none is given.
    #[schema(value_type = Option<String>, format = Date)]
    pub date: Option<String>,
}

/// A checked seed and date.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wanted {
    /// The seed.
    pub seed: u32,
    /// The date on which the clock begins.
    pub date: Date,
}

impl SandboxInput {
    /// Checks both; what is not given is taken from `app`.
    ///
    /// # Errors
    /// 422 with every fault.
    pub fn check(&self, app: &App) -> Result<Wanted, Problem> {
        let mut faults = Faults::default();
        let seed = match &self.seed {
            None => Some(u32::from_le_bytes(app.ids.bytes())),
            Some(seed) => faults.take(whole("/seed", seed)),
        };
        let date = match self.date.as_deref() {
            None => Some(today(app)?),
            Some(date) => faults.take(within("/date", date)),
        };
        faults.settle(seed.zip(date).map(|(seed, date)| Wanted { seed, date }))
    }
}

fn whole(pointer: &str, given: &Number) -> Result<u32, FieldProblem> {
    let seed = fields::whole(given).and_then(|seed| u32::try_from(seed).ok());
    seed.ok_or_else(|| {
        FieldProblem::new(pointer, Code::OutOfRange, given.clone())
            .allowed(format!("a whole number from 0 to {}", u32::MAX))
    })
}

fn within(pointer: &str, given: &str) -> Result<Date, FieldProblem> {
    let date = fields::date(pointer, Some(given))?;
    match (FIRST..=LAST).contains(&date) {
        true => Ok(date),
        false => Err(FieldProblem::new(pointer, Code::OutOfRange, given)
            .allowed(format!("{FIRST} to {LAST}"))),
    }
}

fn today(app: &App) -> Result<Date, Problem> {
    let zone = TimeZone::get(demo::ZONE).map_err(|error| Problem::internal(&error))?;
    Ok(zone.to_datetime(app.clock.now()).date())
}
