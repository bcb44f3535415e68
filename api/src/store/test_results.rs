//! Results of physical tests, side by side.

use jiff::civil::Date;
use plimsoll_domain::{Better, Phase, Side, Trials};
use serde_json::Value;

use super::schema::test_results;
use super::versioned::prelude::*;
use super::who::{Who, of_whom};
use crate::ids::{AthleteId, TestResultId};

/// The trials of one test on one side on one day.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = test_results, treat_none_as_default_value = false)]
pub struct TestResult {
    /// Its id.
    pub test_result_id: TestResultId,
    /// Whose it is.
    pub athlete_id: AthleteId,
    /// The test's name.
    pub test: String,
    /// The unit of its trials.
    pub unit: String,
    /// Which way is better.
    #[diesel(serialize_as = Sql<Better>, deserialize_as = Sql<Better>)]
    pub better: Better,
    /// Which side.
    #[diesel(serialize_as = Sql<Side>, deserialize_as = Sql<Side>)]
    pub side: Side,
    /// The trials, in the order they were made.
    #[diesel(serialize_as = Sql<Value>, deserialize_as = Sql<Value>)]
    pub trials: Trials,
    /// The day.
    #[diesel(serialize_as = Sql<Date>, deserialize_as = Sql<Date>)]
    pub tested_on: Date,
    /// Who tested.
    pub tester: String,
    /// Before an injury, or at any other time.
    #[diesel(serialize_as = Sql<Phase>, deserialize_as = Sql<Phase>)]
    pub phase: Phase,
}

versioned!(test_results, test_result_id: TestResultId, TestResult, pub fn insert);

/// The undeleted results of tests up to `to`, by athlete, day, test, side and id.
///
/// # Errors
/// Those of the database.
pub fn until(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    to: Date,
    state: Known,
) -> Result<Vec<Versioned<TestResult>>, StoreError> {
    who.read(|who| {
        each_backend!(conn, |c| {
            let query = test_results::table
                .filter(test_results::club_id.eq(tenant.club_id()))
                .filter(test_results::tested_on.le(Sql(to)))
                .filter(not(test_results::deleted))
                .into_boxed();
            known!(
                test_results,
                of_whom!(test_results, query, tenant, who),
                state
            )
            .order((
                test_results::athlete_id,
                test_results::tested_on,
                test_results::test,
                test_results::side,
                test_results::test_result_id,
            ))
            .select((TestResult::as_select(), version_columns!(test_results)))
            .load(c)
        })
    })
}

/// A page of the current, undeleted results by id, after the given one.
///
/// # Errors
/// Those of the database.
pub fn page(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    (from, to): (Date, Date),
    after: Option<TestResultId>,
    limit: i64,
) -> Result<Vec<Versioned<TestResult>>, StoreError> {
    each_backend!(conn, |c| {
        let query = test_results::table
            .filter(test_results::club_id.eq(tenant.club_id()))
            .filter(test_results::tested_on.between(Sql(from), Sql(to)))
            .filter(test_results::superseded_at.is_null())
            .filter(not(test_results::deleted))
            .into_boxed();
        let mut query = of_whom!(test_results, query, tenant, who);
        if let Some(after) = after {
            query = query.filter(test_results::test_result_id.gt(after));
        }
        query
            .order(test_results::test_result_id)
            .limit(limit)
            .select((TestResult::as_select(), version_columns!(test_results)))
            .load(c)
    })
}
