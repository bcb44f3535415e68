//! The trials of a test: a JSON list of thousandths that the database never looks into.

use plimsoll_domain::{TrialValue, Trials};
use serde_json::Value;

use super::Sql;

impl From<Trials> for Sql<Value> {
    fn from(trials: Trials) -> Self {
        let thousandths = trials.all().iter().map(|trial| trial.thousandths());
        Self(thousandths.collect())
    }
}

impl TryFrom<Sql<Value>> for Trials {
    type Error = Box<dyn std::error::Error + Send + Sync>;

    fn try_from(Sql(list): Sql<Value>) -> Result<Self, Self::Error> {
        let thousandths: Vec<i64> = serde_json::from_value(list)?;
        let trials = thousandths.into_iter().map(TrialValue::from_thousandths);
        Ok(Trials::new(trials.collect::<Result<_, _>>()?)?)
    }
}
