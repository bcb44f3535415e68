//! Whether and when a club looks ahead to the weekend: the setting as it is sent and stored.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::error::{FieldProblem, Problem};
use crate::services::closing;
use crate::services::fields::Faults;
use crate::services::write::Change;
use crate::services::zones;
use crate::store::look_aheads::{self, LookAheadTime};
use crate::store::{Conn, Tenant};

/// Whether and when to look ahead, as it is sent.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"enabled": true, "weekday": "thursday", "time": "18:00"}))]
pub struct LookAheadInput {
    /// Whether the club wants it.
    #[schema(value_type = bool)]
    pub enabled: Option<bool>,
    /// The day of the running week: monday to sunday.
    #[schema(value_type = String)]
    pub weekday: Option<String>,
    /// The time of day in the club's zone, HH:MM.
    #[schema(value_type = String)]
    pub time: Option<String>,
}

/// Whether and when the club looks ahead.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
#[schema(example = json!({"enabled": false, "weekday": "thursday", "time": "18:00",
    "time_zone": "Europe/Copenhagen", "version": 0}))]
pub struct LookAheadSetting {
    /// Whether it does; false until it is set.
    pub enabled: bool,
    /// The day of the week.
    #[schema(value_type = String)]
    pub weekday: &'static str,
    /// The time of day.
    pub time: String,
    /// The club's zone, which it is meant in.
    pub time_zone: String,
    /// 0 until it is set, then 1, 2, 3, …; also the ETag.
    pub version: i32,
}

/// The setting of a club: what it chose, else off, and Thursday at 18:00.
pub fn stored(conn: &mut Conn, tenant: Tenant) -> Result<LookAheadTime, Problem> {
    let usual = LookAheadTime {
        enabled: false,
        weekday: 4,
        minute: 18 * 60,
        set_at: Timestamp::UNIX_EPOCH,
        version: 0,
    };
    Ok(look_aheads::time(conn, tenant)?.unwrap_or(usual))
}

/// The answer for a stored setting.
pub fn answer(
    conn: &mut Conn,
    tenant: Tenant,
    stored: &LookAheadTime,
) -> Result<LookAheadSetting, Problem> {
    let zone = zones::of_club(conn, tenant)?;
    Ok(LookAheadSetting {
        enabled: stored.enabled,
        weekday: closing::weekday_name(stored.weekday)?,
        time: closing::time_text(stored.minute),
        time_zone: zone.iana_name().unwrap_or("UTC").to_owned(),
        version: stored.version,
    })
}

/// Sets whether and when the club looks ahead; the same again changes nothing.
///
/// # Errors
/// 422 with every fault.
pub fn set(change: &mut Change<'_>, input: &LookAheadInput) -> Result<LookAheadSetting, Problem> {
    let tenant = change.tenant();
    let before = stored(change.conn, tenant)?;
    let mut faults = Faults::default();
    let missing = || FieldProblem::missing("/enabled", "true or false");
    let enabled = faults.take(input.enabled.ok_or_else(missing));
    let weekday = faults.take(closing::weekday("/weekday", input.weekday.as_deref()));
    let minute = faults.take(closing::minute("/time", input.time.as_deref()));
    let (enabled, (weekday, minute)) = faults.settle(enabled.zip(weekday.zip(minute)))?;
    let mut after = LookAheadTime {
        enabled,
        weekday,
        minute,
        ..before.clone()
    };
    if after != before {
        after.version += 1;
        after.set_at = change.at();
        look_aheads::set_time(change.conn, tenant, &after)?;
    }
    answer(change.conn, tenant, &after)
}
