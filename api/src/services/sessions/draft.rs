//! A checked report, and who enters it.

use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};
use plimsoll_domain::{Basis, GivenBy, Kind, Minutes, Rpe, Setting};

use crate::auth::Role;
use crate::error::{Code, FieldProblem};
use crate::ids::AthleteId;
use crate::services::local_time::LocalInstant;

pub use super::check::check;

/// A rating given later than this after the session is warned about.
const LATE_RECALL: SignedDuration = SignedDuration::from_hours(48);
/// Clocks may differ by this much: so far ahead of ours may be what a report tells.
pub const CLOCK_TOLERANCE: SignedDuration = SignedDuration::from_mins(10);
/// Days after which entering or changing a report needs staff and a reason.
pub const CHANGE_DAYS: i64 = 14;

/// Who enters, and when.
#[derive(Debug, Clone, Copy)]
pub struct Entry {
    /// The acting role.
    pub role: Role,
    /// Whether that role is staff.
    pub is_staff: bool,
    /// Now, by the service's clock.
    pub now: Timestamp,
}

impl Entry {
    /// Whether a report of this load date may still be changed: for 14 days by everyone who may
    /// enter it, later by staff with a reason. Today is the athlete's, in her home zone.
    pub fn may_change(
        self,
        load_date: Date,
        home: &TimeZone,
        reason: Option<&str>,
    ) -> Result<(), FieldProblem> {
        let until = super::answer::can_change_until(load_date);
        let today = home.to_datetime(self.now).date();
        if today <= until || (self.is_staff && reason.is_some()) {
            return Ok(());
        }
        let detail = format!(
            "The report could be changed until {until}; now it takes a member of staff and a reason."
        );
        Err(FieldProblem {
            code: Code::ReasonRequired,
            ..FieldProblem::missing("/reason", "a reason, in a staff role").detail(detail)
        })
    }
}

/// A checked report.
#[derive(Debug, Clone)]
pub struct Draft {
    /// The athlete.
    pub athlete_id: AthleteId,
    /// Her home zone.
    pub home: TimeZone,
    /// The sender's id.
    pub external_id: Option<String>,
    /// The scheduled event.
    pub event_external_id: Option<String>,
    /// Start and load date.
    pub start: LocalInstant,
    /// Minutes.
    pub minutes: Minutes,
    /// Session RPE.
    pub rpe: Rpe,
    /// Who ran it.
    pub setting: Setting,
    /// What it was.
    pub kind: Kind,
    /// What the minutes cover.
    pub basis: Basis,
    /// When the rating was given.
    pub given_at: Timestamp,
    /// Whether that was not said, and now was taken.
    pub given_at_assumed: bool,
    /// Who gave it.
    pub given_by: GivenBy,
    /// A note.
    pub note: Option<String>,
    /// Why it is entered or changed late.
    pub reason: Option<String>,
}

impl Draft {
    /// Minutes before local midnight, where the session crosses it.
    pub fn minutes_before_midnight(&self) -> Option<Minutes> {
        let before = self.start.minutes_before_midnight(self.minutes.get())?;
        Minutes::new(before.into()).ok()
    }

    /// The natural key within the source: the sender's id, or what makes it the same session.
    pub fn natural_key(&self) -> String {
        match &self.external_id {
            Some(id) => format!("id:{id}"),
            None => format!(
                "at:{}:{}:{}:{}",
                self.athlete_id,
                self.start.at.as_microsecond(),
                self.setting.code(),
                self.kind.code()
            ),
        }
    }

    /// End of the session.
    pub fn ended_at(&self) -> Timestamp {
        self.start.at + SignedDuration::from_mins(self.minutes.get().into())
    }

    /// What is odd about it, overlaps with other sessions aside.
    pub fn warnings(&self) -> Vec<Code> {
        use plimsoll_domain::SessionWarning::{
            LoadOver1200Au, RpeTenOver120Minutes, RpeZeroWithMinutes,
        };
        let mut found: Vec<Code> = plimsoll_domain::warnings(self.rpe, self.minutes)
            .into_iter()
            .map(|warning| match warning {
                RpeZeroWithMinutes => Code::RpeZeroWithMinutes,
                RpeTenOver120Minutes => Code::RpeTenOver120Minutes,
                LoadOver1200Au => Code::LoadOver1200Au,
            })
            .collect();
        if self.minutes.get() > 180 {
            found.push(Code::LongSession);
        }
        if self.given_at.duration_since(self.ended_at()) > LATE_RECALL {
            found.push(Code::LateRecall);
        }
        if self.start.assumed {
            found.push(Code::ZoneAssumed);
        }
        found
    }
}
