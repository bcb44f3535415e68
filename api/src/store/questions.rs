//! What athletes and guardians ask about a session or an item of a programme, and what they are told.

use jiff::Timestamp;
use serde_json::Value;

use super::schema::questions;
use super::seal::{Private, opened_versions, sealed_row};
use super::versioned::prelude::*;
use super::who::{Who, of_whom};
use crate::ids::{AthleteId, QuestionId};

sealed_row! {
    /// A question.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Question {
        /// Its id.
        pub question_id: QuestionId,
        /// Whose record it is about.
        pub athlete_id: AthleteId,
        /// What it is attached to.
        pub about: Value as Sql<Value>,
        /// Whether something hurts.
        pub hurts: bool,
        /// In which role it was asked.
        pub asked_by: String,
        /// When it was asked.
        pub asked_at: Timestamp as Sql<Timestamp>,
        /// Whether it waits for somebody.
        pub is_open: bool,
    }
    sealed {
        /// What was asked.
        pub text: Private<String>,
        /// What was answered.
        pub reply: Option<Private<String>>,
    }
    #[derive(Debug, Queryable, Selectable, Insertable)]
    #[diesel(table_name = questions, treat_none_as_default_value = false)]
    struct Row in questions by question_id
}

versioned!(questions, question_id: QuestionId, Question kept as Row, pub fn insert);

/// Which questions a list shows.
#[derive(Debug, Clone, Copy, Default)]
pub struct QuestionFilter {
    /// Only open ones, or only those that are not.
    pub open: Option<bool>,
    /// Only where something hurts.
    pub pain_alone: bool,
}

/// A page of the current, undeleted questions by id, after the given one.
///
/// # Errors
/// Those of the database.
pub fn page(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    filter: QuestionFilter,
    after: Option<QuestionId>,
    limit: i64,
) -> Result<Vec<Versioned<Question>>, StoreError> {
    let found = each_backend!(conn, |c| {
        let query = questions::table
            .filter(questions::club_id.eq(tenant.club_id()))
            .filter(questions::superseded_at.is_null())
            .filter(not(questions::deleted))
            .into_boxed();
        let mut query = of_whom!(questions, query, tenant, who);
        if let Some(open) = filter.open {
            query = query.filter(questions::is_open.eq(open));
        }
        if filter.pain_alone {
            query = query.filter(questions::hurts);
        }
        if let Some(after) = after {
            query = query.filter(questions::question_id.gt(after));
        }
        query
            .order(questions::question_id)
            .limit(limit)
            .select((Row::as_select(), version_columns!(questions)))
            .load(c)
    })?;
    opened_versions::<Row>(conn, tenant, found)
}

/// How many questions about an athlete are open.
///
/// # Errors
/// Those of the database.
pub fn count_open(conn: &mut Conn, tenant: Tenant, athlete: AthleteId) -> Result<i64, StoreError> {
    Ok(each_backend!(conn, |c| questions::table
        .filter(questions::club_id.eq(tenant.club_id()))
        .filter(questions::athlete_id.eq(athlete))
        .filter(questions::superseded_at.is_null())
        .filter(not(questions::deleted))
        .filter(questions::is_open)
        .count()
        .get_result(c))?)
}
