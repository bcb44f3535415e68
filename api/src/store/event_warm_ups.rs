//! The neuromuscular warm-ups of planned sessions, as they were held. A session without a row is one of which nobody said anything.

use serde_json::Value;

use super::schema::event_warm_ups;
use super::versioned::prelude::*;
use crate::ids::EventId;

/// The warm-up of a planned session.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = event_warm_ups, treat_none_as_default_value = false)]
pub struct EventWarmUp {
    /// The planned session.
    pub event_id: EventId,
    /// How long it lasted; 0 where none was held.
    pub minutes: i32,
    /// The codes of what it held.
    #[diesel(serialize_as = Sql<Value>, deserialize_as = Sql<Value>)]
    pub categories: Value,
    /// Whether feedback on technique was given.
    pub feedback: bool,
}

versioned!(event_warm_ups, event_id: EventId, EventWarmUp, pub fn insert);

/// The undeleted warm-ups of these events, by event.
///
/// # Errors
/// Those of the database.
pub fn of_events(
    conn: &mut Conn,
    tenant: Tenant,
    events: &[EventId],
    state: Known,
) -> Result<Vec<EventWarmUp>, StoreError> {
    let mut found = Vec::new();
    for events in sorted_chunks(events) {
        found.append(&mut each_backend!(conn, |c| {
            let query = event_warm_ups::table
                .filter(event_warm_ups::club_id.eq(tenant.club_id()))
                .filter(event_warm_ups::event_id.eq_any(&events))
                .filter(not(event_warm_ups::deleted))
                .into_boxed();
            known!(event_warm_ups, query, state)
                .order(event_warm_ups::event_id)
                .select(EventWarmUp::as_select())
                .load(c)
        })?);
    }
    Ok(found)
}
