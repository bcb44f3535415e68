//! Neuromuscular warm-ups of planned sessions, as they were held, and the dose that athletes had of them.
//!
//! `body` is what is sent, here and of planned sessions; `answer` is what is answered; [`dose`] joins warm-ups with who was there.

mod answer;
mod body;
pub mod dose;

pub use answer::EventWarmUpAnswer;
pub use body::WarmUpBody;

use plimsoll_domain::Minutes;
use plimsoll_domain::neuromuscular::{ExerciseCategory, WarmUp, WarmUpMinutes};
use serde::Deserialize;
use serde_json::Value;

use super::fields::Faults;
use super::write::Change;
use crate::error::Problem;
use crate::ids::EventId;
use crate::store::event_warm_ups::{self, EventWarmUp};
use crate::store::events::Event;
use crate::store::{self, Conn, Tenant, Versioned};

/// Stores the warm-up of a planned session: for the first time, as the next version, or not at all where it says the same. `current` is
/// what is stored, deleted or not.
///
/// # Errors
/// 422 with every fault.
pub fn put(
    change: &mut Change<'_>,
    event: &Event,
    current: Option<Versioned<EventWarmUp>>,
    body: &WarmUpBody,
) -> Result<EventWarmUpAnswer, Problem> {
    let mut faults = Faults::default();
    let warm_up = body.check("", Minutes::new(event.minutes.into()).ok(), &mut faults);
    let warm_up = faults.settle(warm_up)?;
    let content = row(event.event_id, &warm_up);
    match current {
        Some(current) if current.content == content && !current.version.deleted => {}
        Some(current) => {
            let next = store::Change {
                replaces: current.version.number,
                content,
                deleted: false,
            };
            change.store_with(|conn, tenant, moment, author| {
                event_warm_ups::supersede(conn, tenant, moment, author, &[next])
            })?;
        }
        None => change.store_with(|conn, tenant, moment, author| {
            event_warm_ups::insert(conn, tenant, moment, author, &[content])
        })?,
    }
    let tenant = change.tenant();
    EventWarmUpAnswer::new(&find(change.conn, tenant, event.event_id)?)
}

/// The warm-up of a planned session.
///
/// # Errors
/// 404 where nobody said anything of it.
pub fn find(
    conn: &mut Conn,
    tenant: Tenant,
    event_id: EventId,
) -> Result<Versioned<EventWarmUp>, Problem> {
    let found = event_warm_ups::current(conn, tenant, event_id)?;
    let found = found.filter(|one| !one.version.deleted);
    found.ok_or_else(Problem::not_found)
}

/// Takes it back: nothing is said of it any more.
pub fn remove(change: &mut Change<'_>, current: Versioned<EventWarmUp>) -> Result<(), Problem> {
    let tombstone = store::Change::tombstone(current);
    change.store_with(|conn, tenant, moment, author| {
        event_warm_ups::supersede(conn, tenant, moment, author, &[tombstone])
    })?;
    Ok(())
}

/// Takes the warm-ups of planned sessions back that are removed, where there are any.
pub fn remove_with(change: &mut Change<'_>, events: &[EventId]) -> Result<(), Problem> {
    let tenant = change.tenant();
    let mut current = event_warm_ups::current_many(change.conn, tenant, events)?;
    current.retain(|one| !one.version.deleted);
    let tombstones: Vec<_> = current.into_iter().map(store::Change::tombstone).collect();
    if tombstones.is_empty() {
        return Ok(());
    }
    Ok(change.store_with(|conn, tenant, moment, author| {
        event_warm_ups::supersede(conn, tenant, moment, author, &tombstones)
    })?)
}

fn row(event_id: EventId, warm_up: &WarmUp) -> EventWarmUp {
    EventWarmUp {
        event_id,
        minutes: warm_up.minutes().get().into(),
        categories: warm_up
            .categories()
            .iter()
            .map(|one| Value::from(one.code()))
            .collect(),
        feedback: warm_up.feedback(),
    }
}

/// What a row says; one that is no warm-up is a defect.
fn warm_up(row: &EventWarmUp) -> Result<WarmUp, Problem> {
    let minutes = WarmUpMinutes::new(row.minutes.into());
    let minutes = minutes.map_err(|error| Problem::internal(&error))?;
    let codes = Vec::<String>::deserialize(&row.categories);
    let codes = codes.map_err(|error| Problem::internal(&error))?;
    let categories = codes.iter().map(|code| ExerciseCategory::parse(code));
    let categories = categories.collect::<Option<_>>();
    let categories = categories.ok_or_else(|| Problem::internal(&"no category of a warm-up"))?;
    let made = WarmUp::new(minutes, categories, row.feedback);
    made.map_err(|error| Problem::internal(&error))
}

#[cfg(test)]
mod tests {
    use serde_json::json;
    use uuid::Uuid;

    use super::*;

    #[test]
    fn a_row_says_what_was_put() {
        let stored = |minutes, categories, feedback| EventWarmUp {
            event_id: Uuid::nil().into(),
            minutes,
            categories,
            feedback,
        };
        let held = stored(15, json!(["jump", "balance"]), true);
        assert_eq!(row(Uuid::nil().into(), &warm_up(&held).unwrap()), held);
        for defect in [
            stored(601, json!([]), false),
            stored(15, json!(["jumping"]), false),
            stored(15, json!("jump"), false),
            stored(0, json!(["jump"]), false),
        ] {
            assert!(warm_up(&defect).is_err(), "{defect:?}");
        }
    }
}
