//! Organised hours and free days of an ISO week.
//!
//! Hours are minutes attended / 60, exactly; a session belongs to the week of its load date. A free
//! day is a date without an organised session. As logged, an unlogged session has not taken place: the
//! most hours and the fewest free days are those of a week in which every one of them did, at the
//! minutes planned. Sessions that nobody planned or reported, and settings that are not shared, cannot
//! be bounded.

use std::collections::BTreeSet;

use jiff::civil::Date;

use crate::exact::Fraction;
use crate::figure::Bounds;
use crate::organised::OrganisedSettings;
use crate::reason::Reason;
use crate::series::days_between;
use crate::session_time::{SessionTime, total_minutes};
use crate::week::IsoWeek;

/// What is known of an athlete's time.
#[derive(Clone, Copy, Debug)]
pub struct AthleteTime<'a> {
    /// The first membership date; nothing is known of the dates before it.
    pub member_since: Date,
    /// Her sessions, in any order.
    pub sessions: &'a [SessionTime],
    /// How many organisations share nothing.
    pub settings_not_shared: u32,
}

/// The organised time of one ISO week.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OrganisedWeek {
    /// The week.
    pub week: IsoWeek,
    /// Minutes of organised sessions.
    pub minutes: Bounds<u32>,
    /// Days of the membership without an organised session.
    pub free_days: Bounds<u8>,
    /// Days of the week that belong to the membership. Of fewer than seven, minutes and free days are
    /// those of a part of the week.
    pub member_days: u8,
    /// How many organisations share nothing.
    pub settings_not_shared: u32,
}

impl OrganisedWeek {
    /// Organised hours, minutes / 60.
    #[must_use]
    pub fn hours(&self) -> Bounds<Fraction> {
        self.minutes
            .map(|minutes| Fraction::over::<60>(minutes.into()))
    }
}

/// The organised time of a week.
///
/// # Errors
/// [`Reason::FewerThan7Days`] if the week ended before the first membership date.
///
/// ```
/// use jiff::civil::date;
/// use plimsoll_domain::organised_week::{AthleteTime, organised_week};
/// use plimsoll_domain::{Attended, Kind, Minutes, Places, SessionTime, Setting, Slot};
/// let practice = SessionTime {
///     slot: Slot { date: date(2026, 11, 9), start: 0, end: 75 * 60, setting: Setting::Club },
///     kind: Kind::Practice,
///     attended: Attended::Known(Minutes::new(75).unwrap()),
/// };
/// let time = AthleteTime {
///     member_since: date(2026, 8, 3),
///     sessions: &[practice],
///     settings_not_shared: 0,
/// };
/// let organised = [Setting::Club].into_iter().collect();
/// let week = organised_week(&time, &organised, "2026-W46".parse().unwrap()).unwrap();
/// assert_eq!(week.hours().point.round(Places::Four).to_string(), "1.25");
/// assert_eq!(week.free_days.point, 6);
/// ```
pub fn organised_week(
    time: &AthleteTime<'_>,
    organised: &OrganisedSettings,
    week: IsoWeek,
) -> Result<OrganisedWeek, Reason> {
    let first = week.monday().max(time.member_since);
    let member_days = u8::try_from(days_between(first, week.sunday()) + 1)
        .ok()
        .filter(|days| *days > 0)
        .ok_or(Reason::FewerThan7Days)?;
    let sessions = time.sessions.iter().filter(|session| {
        (first..=week.sunday()).contains(&session.slot.date) && organised.has(session.slot.setting)
    });
    let free_beside = |sessions: &mut dyn Iterator<Item = &SessionTime>| {
        let busy: BTreeSet<Date> = sessions.map(|session| session.slot.date).collect();
        member_days - u8::try_from(busy.len()).unwrap_or(member_days)
    };
    let as_logged = free_beside(&mut sessions.clone().filter(|session| session.is_known()));
    Ok(OrganisedWeek {
        week,
        minutes: total_minutes(sessions.clone()),
        free_days: Bounds {
            low: free_beside(&mut sessions.clone()),
            point: as_logged,
            high: as_logged,
        },
        member_days,
        settings_not_shared: time.settings_not_shared,
    })
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::session::Setting;
    use crate::session_time::examples::{practice, run_by, unlogged};

    fn hour_on(day: i8) -> SessionTime {
        practice(date(2026, 11, day), 17, 60)
    }

    /// The week of 9 to 15 November, club sessions alone being organised.
    fn of(member_since: Date, sessions: &[SessionTime]) -> Result<OrganisedWeek, Reason> {
        let time = AthleteTime {
            member_since,
            sessions,
            settings_not_shared: 0,
        };
        let organised = [Setting::Club].into_iter().collect();
        organised_week(&time, &organised, "2026-W46".parse().unwrap())
    }

    const SINCE: Date = date(2026, 8, 3);

    fn ends<T>(Bounds { low, point, high }: Bounds<T>) -> (T, T, T) {
        (low, point, high)
    }

    #[test]
    fn unlogged_sessions_add_hours_and_take_free_days_at_one_end() {
        let open = |day| unlogged(practice(date(2026, 11, day), 19, 90));
        let sessions = [hour_on(9), open(9), open(11)];
        let week = of(SINCE, &sessions).unwrap();
        assert_eq!(ends(week.minutes), (60, 60, 240));
        assert_eq!(ends(week.free_days), (5, 6, 6));
        assert_eq!(week.hours().high, Fraction::whole(4));
    }

    #[test]
    fn other_settings_and_other_weeks_do_not_count() {
        let sessions = [run_by(Setting::Free, hour_on(9)), hour_on(8), hour_on(16)];
        let week = of(SINCE, &sessions).unwrap();
        assert_eq!(
            (week.minutes, ends(week.free_days)),
            (Bounds::default(), (7, 7, 7))
        );
    }

    #[test]
    fn days_before_membership_are_neither_free_nor_busy() {
        let sessions = [hour_on(9), hour_on(12)];
        let week = of(date(2026, 11, 11), &sessions).unwrap();
        assert_eq!((week.member_days, week.free_days.point), (5, 4));
        assert_eq!(week.minutes, Bounds::exact(60));
        let too_late = of(date(2026, 11, 16), &sessions);
        assert_eq!(too_late, Err(Reason::FewerThan7Days));
    }
}
