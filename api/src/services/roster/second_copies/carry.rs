//! Carrying what belongs to one athlete over to another, and back.
//!
//! A record keeps its id and gets a next version with the other athlete, so that every earlier answer stays what it was. What she would
//! then have twice is withdrawn instead: a second entry for one session of an attendance list, a rest day on the same date, a membership
//! or a guardian in the same days.

use std::collections::BTreeMap;

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::error::Problem;
use crate::ids::{AthleteId, EventId};
use crate::services::local_time::LATEST;
use crate::services::sessions::recount::recount;
use crate::services::write::Change;
use crate::services::{flags, schedule};
use crate::store::absences::{self, Absence};
use crate::store::attendance::{self, Attendance};
use crate::store::guardian_links::{self, GuardianLink};
use crate::store::memberships::{self, Membership};
use crate::store::rest_days::{self, RestDay};
use crate::store::second_copies::{RecordIds, records_of};
use crate::store::session_contacts::{self, SessionContacts};
use crate::store::sessions::{self, Session};
use crate::store::{self, DaySet, Versioned, events};

/// What was carried over, kept with the decision so that it can be brought back.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Carried {
    /// What belongs to the other since then.
    pub moved: RecordIds,
    /// What the other had already.
    pub withdrawn: RecordIds,
    /// The client that entered the other, where the other had no key and took over this one's.
    pub source_before: Option<String>,
}

/// From whom, and to whom.
#[derive(Debug, Clone, Copy)]
pub struct Way {
    /// Whose it was.
    pub from: AthleteId,
    /// Whose it becomes.
    pub to: AthleteId,
}

/// What belongs to an athlete.
trait Hers: Clone {
    fn athlete(&mut self) -> &mut AthleteId;
}

macro_rules! hers {
    ($($content:ty),+) => {$(
        impl Hers for $content {
            fn athlete(&mut self) -> &mut AthleteId {
                &mut self.athlete_id
            }
        }
    )+};
}

hers!(
    Session,
    SessionContacts,
    RestDay,
    Absence,
    Attendance,
    Membership,
    GuardianLink
);

/// The same with another athlete.
fn given_to<T: Hers>(mut content: T, to: AthleteId) -> T {
    *content.athlete() = to;
    content
}

/// Carries all of it over.
///
/// # Errors
/// Those of the database.
pub fn over(change: &mut Change<'_>, way: Way) -> Result<Carried, Problem> {
    let tenant = change.tenant();
    let (hers, others) = (
        records_of(change.conn, tenant, way.from)?,
        records_of(change.conn, tenant, way.to)?,
    );
    let (mut carried, mut reached) = (Carried::default(), Reached::default());
    /// Moves the records of one kind, or withdraws those that the other has already.
    macro_rules! carry {
        ($kind:ident, $module:ident, $key:ident, $is_twice:expr) => {{
            let mut next = Vec::with_capacity(hers.$kind.len());
            for one in $module::current_many(change.conn, tenant, &hers.$kind)? {
                let twice = $is_twice(&one.content);
                let kept = if twice {
                    &mut carried.withdrawn
                } else {
                    &mut carried.moved
                };
                kept.$kind.push(one.content.$key);
                reached.$kind(&one.content);
                let content = if twice {
                    one.content
                } else {
                    given_to(one.content, way.to)
                };
                reached.$kind(&content);
                next.push(store::Change {
                    replaces: one.version.number,
                    content,
                    deleted: twice,
                });
            }
            change.store_with(|conn, tenant, moment, author| {
                $module::supersede(conn, tenant, moment, author, &next)
            })?;
        }};
    }
    carry!(sessions, sessions, session_id, |_: &Session| false);
    carry!(
        session_contacts,
        session_contacts,
        session_id,
        |_: &SessionContacts| false
    );
    carry!(absences, absences, absence_id, |_: &Absence| false);
    let there = rest_days::current_many(change.conn, tenant, &others.rest_days)?;
    carry!(rest_days, rest_days, rest_day_id, |one: &RestDay| {
        there.iter().any(|other| one.date == other.content.date)
    });
    let there = attendance::current_many(change.conn, tenant, &others.attendance)?;
    carry!(attendance, attendance, attendance_id, |one: &Attendance| {
        there
            .iter()
            .any(|other| one.event_id == other.content.event_id)
    });
    let there = memberships::current_many(change.conn, tenant, &others.memberships)?;
    carry!(
        memberships,
        memberships,
        membership_id,
        |one: &Membership| {
            let span = (one.from_date, one.to_date);
            let mut same = there
                .iter()
                .map(|other| &other.content)
                .filter(|other| one.squad_id == other.squad_id);
            same.any(|other| meet(span, (other.from_date, other.to_date)))
        }
    );
    let there = guardian_links::current_many(change.conn, tenant, &others.guardian_links)?;
    carry!(
        guardian_links,
        guardian_links,
        guardian_link_id,
        |one: &GuardianLink| {
            let span = (one.from_date, one.to_date);
            let mut same = there
                .iter()
                .map(|other| &other.content)
                .filter(|other| one.external_id == other.external_id);
            same.any(|other| meet(span, (other.from_date, other.to_date)))
        }
    );
    reached.settle(change)?;
    Ok(carried)
}

/// Brings it back: what still belongs to whom it was carried to, as it now is. What was withdrawn holds again, unless the other has got
/// the like of it meanwhile.
///
/// # Errors
/// Those of the database.
pub fn back(change: &mut Change<'_>, way: Way, carried: &Carried) -> Result<(), Problem> {
    let tenant = change.tenant();
    let mut reached = Reached::default();
    macro_rules! bring {
        ($kind:ident, $module:ident) => {{
            let mut next = Vec::new();
            for mut one in $module::current_many(change.conn, tenant, &carried.moved.$kind)? {
                if one.version.deleted || *one.content.athlete() != way.to {
                    continue;
                }
                reached.$kind(&one.content);
                let content = given_to(one.content, way.from);
                reached.$kind(&content);
                next.push(store::Change {
                    replaces: one.version.number,
                    content,
                    deleted: false,
                });
            }
            for one in $module::current_many(change.conn, tenant, &carried.withdrawn.$kind)? {
                if one.version.deleted {
                    reached.$kind(&one.content);
                    next.push(store::Change {
                        replaces: one.version.number,
                        content: one.content,
                        deleted: false,
                    });
                }
            }
            change.store_with(|conn, tenant, moment, author| {
                $module::supersede(conn, tenant, moment, author, &next)
            })?;
        }};
    }
    bring!(sessions, sessions);
    bring!(session_contacts, session_contacts);
    bring!(rest_days, rest_days);
    bring!(absences, absences);
    bring!(attendance, attendance);
    bring!(memberships, memberships);
    bring!(guardian_links, guardian_links);
    reached.settle(change)
}

/// Whether two spans have a day in common, both ends included.
fn meet(one: (Date, Option<Date>), other: (Date, Option<Date>)) -> bool {
    one.0 <= other.1.unwrap_or(LATEST) && other.0 <= one.1.unwrap_or(LATEST)
}

/// The days that are to be counted and judged anew.
#[derive(Default)]
struct Reached {
    days: DaySet,
    at_events: Vec<(AthleteId, EventId)>,
    memberships: Vec<Membership>,
}

impl Reached {
    fn sessions(&mut self, one: &Session) {
        self.days.add(one.athlete_id, one.load_date);
    }

    /// Counts lie on the days of their sessions.
    const fn session_contacts(&mut self, _: &SessionContacts) {}

    fn rest_days(&mut self, one: &RestDay) {
        self.days.add(one.athlete_id, one.date);
    }

    fn absences(&mut self, one: &Absence) {
        self.days.add(one.athlete_id, one.from_date);
        self.days.add(one.athlete_id, one.to_date);
    }

    fn attendance(&mut self, one: &Attendance) {
        self.at_events.push((one.athlete_id, one.event_id));
    }

    fn memberships(&mut self, one: &Membership) {
        self.memberships.push(one.clone());
    }

    /// Figures do not depend on guardians.
    const fn guardian_links(&mut self, _: &GuardianLink) {}

    fn settle(mut self, change: &mut Change<'_>) -> Result<(), Problem> {
        let tenant = change.tenant();
        let ids: Vec<EventId> = self.at_events.iter().map(|(_, event)| *event).collect();
        let dates: BTreeMap<EventId, Date> = events::current_many(change.conn, tenant, &ids)?
            .into_iter()
            .map(|Versioned { content, .. }| (content.event_id, content.load_date))
            .collect();
        for (athlete, event) in &self.at_events {
            if let Some(date) = dates.get(event) {
                self.days.add(*athlete, *date);
            }
        }
        let begun: Vec<_> = self
            .memberships
            .iter()
            .map(|one| (None, Some(one)))
            .collect();
        let of_memberships = schedule::days_of_memberships(change, &begun)?;
        of_memberships
            .iter()
            .for_each(|(athlete, date)| self.days.add(athlete, date));
        recount(change, &self.days)?;
        flags::rejudge(change, &self.days)
    }
}
