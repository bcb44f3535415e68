//! How far an athlete's running week is from the club's limit on the ratio.
//!
//! A day with sessions still to come is not done: what is logged of it so far counts as fixed, and the margins begin with it. Events
//! that cannot be moved or shortened count as they are planned: at their intended RPE, else at the top of the athlete's usual range,
//! else at 10.

use jiff::ToSpan;
use jiff::civil::Date;
use plimsoll_domain::margin::{self, FixedLoad, Margin};
use plimsoll_domain::{Bounds, DailySeries, IsoWeek, Load, Policy, RatioLimit};

use super::as_of::AsOf;
use super::figures::{self, Asked, AthleteDays};
use super::flags::looks_back_to;
use super::policy::Policies;
use super::schedule::plan::Plan;
use super::{ratings, week_ahead, zones};
use crate::error::Problem;
use crate::ids::EventId;
use crate::store::athletes::Athlete;
use crate::store::events::Event;
use crate::store::{Conn, Tenant, Who};

/// The running week of an athlete, and its margins.
#[derive(Debug)]
pub struct RunningWeek {
    /// The week.
    pub week: IsoWeek,
    /// The last date that is done.
    pub done_until: Date,
    /// What is done since its Monday; `None` before her first day in the club.
    pub done: Option<Bounds<Load>>,
    /// Fixed events still to come, by start, with the load they are taken at.
    pub fixed: Vec<Fixed>,
    /// The policy of its Sunday; `None` where the club has none.
    pub policy: Option<Policy>,
    /// The margins; `None` without a limit on the ratio, or before her first day in the club.
    pub margin: Option<Margin>,
    /// Organisations whose loads are not shared with the club.
    pub not_shared: usize,
}

/// A fixed event still to come.
#[derive(Debug, Clone, Copy)]
pub struct Fixed {
    /// The event.
    pub event_id: EventId,
    /// Its date and load.
    pub load: FixedLoad,
}

/// Reads the running week of an athlete.
pub fn read(
    conn: &mut Conn,
    tenant: Tenant,
    athlete: &Athlete,
    as_of: AsOf,
) -> Result<RunningWeek, Problem> {
    let today = as_of.today(&zones::home(conn, tenant, athlete)?);
    let policies = Policies::read(conn, tenant, as_of.known)?;
    let days = days(conn, tenant, athlete, today, as_of, &policies)?;
    let to_come = to_come(conn, tenant, &days, today, as_of)?;
    let is_over = to_come.iter().all(|event| event.load_date != today);
    let done_until = if is_over { today } else { shifted(today, -1)? };
    let week = week_of(shifted(done_until, 1)?)?;
    let policy = policies.at(week.sunday()).cloned();
    let fixed = fixed(conn, tenant, athlete, (week, &to_come), as_of)?;
    let limit = policy.as_ref().and_then(RatioLimit::of);
    let done = days
        .series
        .as_ref()
        .and_then(|series| series.until(done_until));
    let margin = match (limit, &done) {
        (Some(limit), Some(done)) => {
            let so_far = (!is_over).then(|| so_far(&days, today)).flatten();
            let planned = fixed.iter().map(|one| one.load);
            let loads: Vec<FixedLoad> = so_far.into_iter().chain(planned).collect();
            let margin = margin::margin(limit, done, &loads);
            Some(margin.map_err(|reason| Problem::internal(&reason.code()))?)
        }
        _ => None,
    };
    Ok(RunningWeek {
        week,
        done_until,
        done: done.map(|done| since(&done, week.monday())),
        fixed,
        policy,
        margin,
        not_shared: days.elsewhere.not_shared.len(),
    })
}

/// Her days as far as margins look back, and what is planned until the end of the week of tomorrow.
fn days(
    conn: &mut Conn,
    tenant: Tenant,
    athlete: &Athlete,
    today: Date,
    as_of: AsOf,
    policies: &Policies,
) -> Result<AthleteDays, Problem> {
    let asked = Asked {
        first: looks_back_to(week_of(today)?),
        last: week_of(shifted(today, 1)?)?.sunday(),
        settings: None,
        known: as_of.known,
        now: as_of.now,
    };
    let who = Who::Athletes(&[athlete.athlete_id]);
    let days = figures::days(conn, tenant, who, &asked, policies)?;
    days.into_iter().next().ok_or_else(Problem::not_found)
}

/// Her sessions of those days that are neither over nor answered, and that she goes to.
fn to_come(
    conn: &mut Conn,
    tenant: Tenant,
    days: &AthleteDays,
    today: Date,
    as_of: AsOf,
) -> Result<Vec<Event>, Problem> {
    let (athlete, open) = (days.athlete.athlete_id, &days.planned);
    let dates = (today, week_of(shifted(today, 1)?)?.sunday());
    let plan = Plan::read(conn, tenant, &[athlete], dates, as_of.known)?;
    let planned = plan.of(athlete, &[]);
    let events = planned.iter().filter(|one| week_ahead::goes(one));
    let events = events.map(|one| one.event);
    let to_come = events.filter(|event| open.iter().any(|one| one.event_id == event.event_id));
    Ok(to_come.cloned().collect())
}

/// The events of the week that cannot be moved or shortened.
fn fixed(
    conn: &mut Conn,
    tenant: Tenant,
    athlete: &Athlete,
    (week, to_come): (IsoWeek, &[Event]),
    as_of: AsOf,
) -> Result<Vec<Fixed>, Problem> {
    let who = Who::Athletes(&[athlete.athlete_id]);
    let span = (looks_back_to(week), week.sunday());
    let ratings = ratings::read(conn, tenant, who, span, as_of.known)?;
    let ratings = ratings.get(&athlete.athlete_id);
    let fixed = to_come
        .iter()
        .filter(|event| event.is_fixed && event.load_date <= week.sunday());
    let fixed = fixed.map(|event| {
        let (_, load) = week_ahead::session(event, ratings)?.loads();
        Ok(Fixed {
            event_id: event.event_id,
            load: FixedLoad {
                date: event.load_date,
                load,
            },
        })
    });
    fixed.collect()
}

/// What is logged of a day that is not over.
fn so_far(days: &AthleteDays, today: Date) -> Option<FixedLoad> {
    let day = days.series.as_ref()?.day(today)?;
    Some(FixedLoad {
        date: today,
        load: day.load().high,
    })
}

/// The loads from a Monday to the end of a series.
fn since(series: &DailySeries, monday: Date) -> Bounds<Load> {
    let days = series.first().series(1.day()).zip(series.days());
    let of_week = days.filter(|(date, _)| monday <= *date);
    of_week.fold(Bounds::default(), |sum, (_, day)| sum + day.load())
}

fn week_of(date: Date) -> Result<IsoWeek, Problem> {
    IsoWeek::of(date).map_err(|error| Problem::internal(&error))
}

fn shifted(date: Date, days: i64) -> Result<Date, Problem> {
    date.checked_add(days.days())
        .map_err(|error| Problem::internal(&error))
}
