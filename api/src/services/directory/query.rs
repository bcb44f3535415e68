//! Lists of users and groups: what a filter asks for, found, matched and counted (RFC 7644, section 3.4.2).

use jiff::civil::Date;
use serde_json::{Map, Value};

use super::people::{self, Narrow};
use super::{base, group};
use crate::error::Problem;
use crate::scim::attributes::ResourceType;
use crate::scim::discovery::{MOST_RESULTS, page};
use crate::scim::filter::{Filter, Operator};
use crate::scim::kept::{GROUP, USER};
use crate::scim::projection::Projection;
use crate::scim::{Fault, matching, parse};
use crate::store::{Conn, Tenant};

/// Resources of an answer, unless the client says how many it takes.
const USUAL_RESULTS: usize = 100;

/// What a client asks for.
#[derive(Debug, Clone)]
pub struct Question {
    /// Of which kinds.
    pub kinds: Vec<&'static ResourceType>,
    /// Which of them.
    pub filter: Option<Filter>,
    /// What of each is shown.
    pub projection: Projection,
    /// The number of the first, from 1.
    pub start: usize,
    /// How many at most.
    pub count: usize,
}

impl Question {
    /// Reads a question. A start below 1 is 1, and a count below 0 is 0 (RFC 7644, section 3.4.2.4).
    ///
    /// # Errors
    /// A filter that no kind can answer.
    pub fn new(
        kinds: Vec<&'static ResourceType>,
        filter: Option<&str>,
        projection: Projection,
        (start, count): (Option<i64>, Option<i64>),
    ) -> Result<Self, Fault> {
        let filter = filter.map(parse::filter).transpose()?;
        if let Some(filter) = &filter {
            let checked = kinds.iter().map(|kind| matching::check(filter, kind));
            let mut refused: Vec<Fault> = checked.filter_map(Result::err).collect();
            // What only one kind has is asked of that one.
            if refused.len() == kinds.len()
                && let Some(fault) = refused.pop()
            {
                return Err(fault);
            }
        }
        let start = start.map_or(1, |start| usize::try_from(start).unwrap_or(0).max(1));
        let count = count.map_or(USUAL_RESULTS, |count| usize::try_from(count).unwrap_or(0));
        Ok(Self {
            kinds,
            filter,
            projection,
            start,
            count: count.min(MOST_RESULTS),
        })
    }

    /// Whether it can be asked of a kind.
    fn is_of(&self, kind: &ResourceType) -> bool {
        let is_answered = |filter: &Filter| matching::check(filter, kind).is_ok();
        self.kinds.iter().any(|one| one.name == kind.name)
            && self.filter.as_ref().is_none_or(is_answered)
    }

    /// Where of the list a number of found resources lies, the ones before it left out.
    fn place(&self, before: usize) -> (usize, usize) {
        let first = (self.start - 1).saturating_sub(before);
        let taken = before.saturating_sub(self.start - 1).min(self.count);
        (first, self.count - taken)
    }
}

/// Answers a question: users first, then groups, each by id.
///
/// # Errors
/// Those of the database.
pub fn answer(
    conn: &mut Conn,
    tenant: Tenant,
    today: Date,
    question: &Question,
) -> Result<Value, Problem> {
    let base = base(tenant.club_id());
    let narrow = question.filter.as_ref().map_or(Narrow::All, narrow);
    let (mut total, mut shown) = (0, Vec::new());
    if question.is_of(&USER) {
        let (all, users) = users(conn, tenant, today, question, &narrow, &base)?;
        total += all;
        shown.extend(users);
    }
    if question.is_of(&GROUP) {
        let squads = group::find(conn, tenant, &narrow)?;
        let groups = group::filled(conn, tenant, today, squads)?;
        let groups = groups.iter().map(|group| group.resource(&base));
        let found: Vec<_> = groups
            .filter(|group| fits(question, group, &GROUP))
            .collect();
        let (first, most) = question.place(total);
        total += found.len();
        let found = found.into_iter().skip(first).take(most);
        shown.extend(found.map(|group| question.projection.apply(&GROUP, group)));
    }
    let shown: Vec<Value> = shown.into_iter().map(Value::from).collect();
    Ok(page(total, question.start, &shown))
}

/// How many users there are, and those that are shown. Without a filter only these are read whole.
fn users(
    conn: &mut Conn,
    tenant: Tenant,
    today: Date,
    question: &Question,
    narrow: &Narrow,
    base: &str,
) -> Result<(usize, Vec<Map<String, Value>>), Problem> {
    let mut people = people::find(conn, tenant, narrow)?;
    let (first, most) = question.place(0);
    let mut total = people.len();
    if question.filter.is_none() {
        people = people.into_iter().skip(first).take(most).collect();
    }
    people::fill(conn, tenant, today, &mut people)?;
    let users = people.iter().map(|person| person.resource(base));
    let mut found: Vec<_> = users.filter(|user| fits(question, user, &USER)).collect();
    if question.filter.is_some() {
        total = found.len();
        found = found.into_iter().skip(first).take(most).collect();
    }
    let shown = found
        .into_iter()
        .map(|user| question.projection.apply(&USER, user));
    Ok((total, shown.collect()))
}

fn fits(question: &Question, resource: &Map<String, Value>, kind: &ResourceType) -> bool {
    let filter = question.filter.as_ref();
    filter.is_none_or(|filter| matching::matches(filter, resource, kind))
}

/// What an index finds of a filter: of what is asked for together, the first name, key or id.
fn narrow(filter: &Filter) -> Narrow {
    match filter {
        Filter::And(one, other) => match narrow(one) {
            Narrow::All => narrow(other),
            found => found,
        },
        Filter::Compare(path, Operator::Eq, Value::String(value)) if path.sub.is_none() => {
            let value = value.clone();
            match path.name.to_ascii_lowercase().as_str() {
                "id" => Narrow::Id(value),
                "username" => Narrow::UserName(value),
                "externalid" => Narrow::ExternalId(value),
                _ => Narrow::All,
            }
        }
        _ => Narrow::All,
    }
}
