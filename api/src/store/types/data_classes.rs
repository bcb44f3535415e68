//! The classes of data a consent is about: a JSON list of codes that the database never looks into.

use plimsoll_domain::consent::DataClass;
use serde_json::Value;

use super::Sql;
use crate::store::DataClasses;

impl From<DataClasses> for Sql<Value> {
    fn from(DataClasses(classes): DataClasses) -> Self {
        Self(classes.into_iter().map(DataClass::code).collect())
    }
}

impl TryFrom<Sql<Value>> for DataClasses {
    type Error = Box<dyn std::error::Error + Send + Sync>;

    fn try_from(Sql(list): Sql<Value>) -> Result<Self, Self::Error> {
        let codes: Vec<String> = serde_json::from_value(list)?;
        let class = |code: &String| {
            let known = DataClass::parse(code);
            known.ok_or_else(|| format!("{code:?} is not a class of data of this version"))
        };
        Ok(Self(codes.iter().map(class).collect::<Result<_, _>>()?))
    }
}
