//! Lists of ids that are read and written as a whole: a JSON list the database never looks into.

use serde_json::Value;

use super::Sql;
use crate::ids::{AthleteId, SquadId};

macro_rules! id_list {
    ($($id:ty),+) => {$(
        impl From<Vec<$id>> for Sql<Value> {
            fn from(ids: Vec<$id>) -> Self {
                Self(ids.iter().map(ToString::to_string).collect())
            }
        }

        impl TryFrom<Sql<Value>> for Vec<$id> {
            type Error = serde_json::Error;

            fn try_from(Sql(list): Sql<Value>) -> Result<Self, Self::Error> {
                serde_json::from_value(list)
            }
        }
    )+};
}

id_list!(SquadId, AthleteId);
