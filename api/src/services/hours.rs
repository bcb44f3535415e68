//! An athlete's organised time of a week: hours, free days, games close together, and who ran what share of her load.
//!
//! The upper ends take every planned session as held that nobody has answered, whether it is over or still to come, so that a
//! call-up for Sunday shows before Sunday.

use jiff::Span;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use plimsoll_domain::game_density::{Games, RollingWindow, densest_ending};
use plimsoll_domain::organised_rules::{
    AgainstLimit, OrganisedJudgement, hours_above_line, judge_organised,
};
use plimsoll_domain::organised_week::{AthleteTime, OrganisedWeek, organised_week};
use plimsoll_domain::share::{SettingPart, SettingShare, shares, visible_share};
use plimsoll_domain::{
    Attended, Bounds, ByPe, Figure, Fraction, IsoWeek, Kind, Load, Minutes, Policy, Reason,
    RuleCode, SessionTime, Setting, Slot,
};

use super::as_of::AsOf;
use super::figures::{self, Asked, AthleteDays};
use super::policy::Policies;
use super::schedule::record::Record;
use crate::error::Problem;
use crate::store::athletes::Athlete;
use crate::store::day_totals::DayTotal;
use crate::store::expected::ExpectedSession;
use crate::store::shared_day_totals::SharedTotal;
use crate::store::{Conn, Tenant, Who};

/// The organised time of a week.
#[derive(Debug)]
pub struct WeekHours {
    /// The policy of its Sunday; `None` where the club has none.
    pub policy: Option<Policy>,
    /// With PE counted as organised and without; `None` without a policy, and before her first day in the club.
    pub readings: Option<ByPe<Reading>>,
    /// The most games in each window that ends with a game of the week.
    pub games: Vec<(RollingWindow, Games)>,
    /// The share of each setting in the week's load.
    pub shares: Vec<SettingShare>,
    /// The share of what the club itself runs.
    pub club_share: Figure<Fraction>,
    /// Organisations that share nothing.
    pub not_shared: u32,
}

/// Organised time in one reading of what counts.
#[derive(Debug, Clone, Copy)]
pub struct Reading {
    /// Hours and free days.
    pub week: OrganisedWeek,
    /// By the policy's rule on hours; `None` where it has none.
    pub by_age: Option<OrganisedJudgement>,
    /// By its rule on free days; `None` where it has none.
    pub free_days: Option<OrganisedJudgement>,
    /// Against 16 hours at any age.
    pub line: AgainstLimit,
}

/// Reads the organised time of a week.
pub fn read(
    conn: &mut Conn,
    tenant: Tenant,
    athlete: &Athlete,
    week: IsoWeek,
    as_of: AsOf,
) -> Result<WeekHours, Problem> {
    // A window of seven days may end on Monday.
    let first = week.monday().saturating_sub(Span::new().days(6));
    let dates = (first, week.sunday());
    let policies = Policies::read(conn, tenant, as_of.known)?;
    let asked = Asked {
        first,
        last: week.sunday(),
        settings: None,
        known: as_of.known,
        now: as_of.now,
    };
    let ids = [athlete.athlete_id];
    let days = figures::days(conn, tenant, Who::Athletes(&ids), &asked, &policies)?;
    let days = days.into_iter().next().ok_or_else(Problem::not_found)?;
    let record = Record::read(conn, tenant, &ids, dates, as_of.known)?;
    let sessions = sessions(&days, &record, dates)?;
    let not_shared = u32::try_from(days.elsewhere.not_shared.len()).unwrap_or(u32::MAX);
    let time = AthleteTime {
        member_since: athlete.joined_on,
        sessions: &sessions,
        settings_not_shared: not_shared,
    };
    let policy = policies.at(week.sunday()).cloned();
    let readings = policy
        .as_ref()
        .and_then(|policy| readings(policy, athlete.birth_date, &time, week).ok());
    let parts = parts(&days, week)?;
    let games = RollingWindow::ALL
        .iter()
        .map(|window| (*window, densest_ending(&sessions, *window, week.monday())));
    Ok(WeekHours {
        readings,
        games: games.collect(),
        shares: shares(&parts, not_shared),
        club_share: visible_share(&parts, not_shared, |setting| setting == Setting::Club),
        not_shared,
        policy,
    })
}

fn readings(
    policy: &Policy,
    born: Option<Date>,
    time: &AthleteTime<'_>,
    week: IsoWeek,
) -> Result<ByPe<Reading>, Reason> {
    let organised = policy.organised();
    let of = |organised| {
        let week = organised_week(time, organised, week)?;
        let by = |code| {
            policy
                .rule(code)
                .and_then(|rule| judge_organised(rule, born, &week))
        };
        Ok(Reading {
            by_age: by(RuleCode::OrganisedHours),
            free_days: by(RuleCode::FreeDays),
            line: hours_above_line(&week),
            week,
        })
    };
    Ok(ByPe {
        with_pe: of(&organised.with_pe)?,
        without_pe: of(&organised.without_pe)?,
    })
}

/// Her sessions of these dates: those that count, those that nobody has answered, and the days that others share.
fn sessions(
    days: &AthleteDays,
    record: &Record<'_>,
    (first, last): (Date, Date),
) -> Result<Vec<SessionTime>, Problem> {
    let standings = record.sessions()?;
    let counted = standings.into_values().flatten().filter_map(|one| {
        let (leading, counted) = (one.leading()?, one.as_counted()?);
        let start = counted.started_at.as_second();
        Some(SessionTime {
            slot: Slot {
                date: counted.load_date,
                start,
                end: start + i64::from(counted.minutes.get()) * 60,
                setting: counted.setting,
            },
            kind: leading.kind,
            attended: Attended::Known(counted.minutes),
        })
    });
    let counted: Vec<SessionTime> = counted.collect();
    let planned = days
        .planned
        .iter()
        .filter(|one| !is_off(days, one.load_date));
    let open = days.unlogged.iter().chain(planned).filter_map(open);
    let mut sessions: Vec<SessionTime> = open.collect();
    for total in &days.elsewhere.shared {
        sessions.append(&mut shared_on(total, &counted)?);
    }
    sessions.extend(counted);
    sessions.retain(|one| (first..=last).contains(&one.slot.date));
    Ok(sessions)
}

/// Whether a day of rest or an absence answers for what was planned.
fn is_off(days: &AthleteDays, date: Date) -> bool {
    let mut absences = days.absences.iter();
    days.rest_days.contains(&date)
        || absences.any(|one| (one.from_date..=one.to_date).contains(&date))
}

/// A planned session that nobody has answered.
fn open(one: &ExpectedSession) -> Option<SessionTime> {
    let planned = Minutes::new(one.minutes.into()).ok()?;
    Some(SessionTime {
        slot: Slot {
            date: one.load_date,
            start: one.starts_at.as_second(),
            end: one.ends_at.as_second(),
            setting: one.setting,
        },
        kind: one.kind,
        attended: Attended::Unlogged { planned },
    })
}

/// What another club shares of a day. Nobody says at what time it was, so it may be what she has reported of a second club herself, and
/// lies beside that where there is any. More minutes than a session can have are told as several.
fn shared_on(total: &SharedTotal, own: &[SessionTime]) -> Result<Vec<SessionTime>, Problem> {
    let mut own = own.iter().map(|one| one.slot);
    let beside = own.find(|slot| slot.date == total.date && slot.setting == Setting::SecondClub);
    let mut start = match beside {
        Some(slot) => slot.start,
        None => midnight(total.date)?,
    };
    let mut left = i64::from(total.minutes);
    let mut parts = Vec::new();
    while let Ok(minutes) = Minutes::new(left.min(600)) {
        let end = start + 60 * i64::from(minutes.get());
        parts.push(SessionTime {
            slot: Slot {
                date: total.date,
                start,
                end,
                setting: Setting::SecondClub,
            },
            kind: Kind::Other,
            attended: Attended::Known(minutes),
        });
        left -= i64::from(minutes.get());
        start = end;
    }
    Ok(parts)
}

/// The first second of a date in UTC.
fn midnight(date: Date) -> Result<i64, Problem> {
    let midnight = TimeZone::UTC.to_timestamp(date.into());
    let midnight = midnight.map_err(|error| Problem::internal(&error))?;
    Ok(midnight.as_second())
}

/// The load of each setting in the week.
fn parts(days: &AthleteDays, week: IsoWeek) -> Result<Vec<SettingPart>, Problem> {
    let load = |half_au| Load::from_half_au(half_au).ok_or_else(|| Problem::internal(&"no load"));
    let rows = days.totals.iter();
    let rows = rows.filter(|row| (week.monday()..=week.sunday()).contains(&row.date));
    let part = |row: &DayTotal| {
        Ok(SettingPart {
            setting: row.setting,
            load: Bounds {
                low: load(row.totals.low_half)?,
                point: load(row.totals.logged_half)?,
                high: load(row.totals.high_half)?,
            },
        })
    };
    rows.map(part).collect()
}
