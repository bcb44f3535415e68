//! What a club adds to the catalogue of exercises: its own ones, and films of any.

use serde_json::Value;

use super::schema::exercises;
use super::versioned::prelude::*;
use crate::ids::ExerciseId;

/// What a club adds under one code.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = exercises, treat_none_as_default_value = false)]
pub struct ClubExercise {
    /// Its id.
    pub exercise_id: ExerciseId,
    /// The code of the exercise.
    pub code: String,
    /// Where the club's film of it is.
    pub film_url: Option<String>,
    /// What the exercise is; `None` for a shipped one.
    #[diesel(serialize_as = Sql<Option<Value>>, deserialize_as = Sql<Option<Value>>)]
    pub content: Option<Value>,
}

versioned!(exercises, exercise_id: ExerciseId, ClubExercise, pub fn insert);

/// All that the club ever added, each in its version of a state of knowledge, by code; removed ones too, since sign-offs name them.
///
/// # Errors
/// Those of the database.
pub fn known(
    conn: &mut Conn,
    tenant: Tenant,
    state: Known,
) -> Result<Vec<Versioned<ClubExercise>>, StoreError> {
    Ok(each_backend!(conn, |c| {
        let query = exercises::table
            .filter(exercises::club_id.eq(tenant.club_id()))
            .into_boxed();
        known!(exercises, query, state)
            .order(exercises::code)
            .select((ClubExercise::as_select(), version_columns!(exercises)))
            .load(c)
    })?)
}
