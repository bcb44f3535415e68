//! Numbers by class of records: a JSON object that the database never looks into.

use std::collections::BTreeMap;

use plimsoll_domain::RecordClass;
use plimsoll_domain::retention::Terms;
use serde_json::Value;

use super::Sql;
use crate::store::retention::runs::RowsByClass;

type Unreadable = Box<dyn std::error::Error + Send + Sync>;

fn written<N: Into<Value>>(numbers: impl Iterator<Item = (RecordClass, N)>) -> Sql<Value> {
    let members = numbers.map(|(class, number)| (class.code().to_owned(), number.into()));
    Sql(Value::Object(members.collect()))
}

fn read<N: serde::de::DeserializeOwned>(
    Sql(object): Sql<Value>,
) -> Result<BTreeMap<RecordClass, N>, Unreadable> {
    let members: BTreeMap<String, N> = serde_json::from_value(object)?;
    let class = |(code, number): (String, N)| {
        let known = RecordClass::parse(&code).map(|class| (class, number));
        known.ok_or_else(|| format!("{code:?} is not a class of records of this version").into())
    };
    members.into_iter().map(class).collect()
}

impl From<Terms> for Sql<Value> {
    fn from(terms: Terms) -> Self {
        written(terms.each())
    }
}

impl TryFrom<Sql<Value>> for Terms {
    type Error = Unreadable;

    fn try_from(stored: Sql<Value>) -> Result<Self, Self::Error> {
        Terms::new(read(stored)?).ok_or_else(|| "a stored term is none of this version".into())
    }
}

impl From<RowsByClass> for Sql<Value> {
    fn from(RowsByClass(rows): RowsByClass) -> Self {
        written(rows.into_iter())
    }
}

impl TryFrom<Sql<Value>> for RowsByClass {
    type Error = Unreadable;

    fn try_from(stored: Sql<Value>) -> Result<Self, Self::Error> {
        read(stored).map(Self)
    }
}
