//! Organised hours against hours of free play, where free play is logged.
//!
//! `ratio = organised minutes / free minutes`, without unit. Over means more than [`TO_ONE`] to one:
//! young athletes of 7 to 18 years beyond it had had a serious overuse injury more often, odds ratio
//! 1.87 (Jayanthi NA, et al. 2015, Am J Sports Med 43(4):794-801, read in a report of the paper). Free
//! play is a club's or a family's offer to log and cannot be demanded: none logged is not none played,
//! and then there is no ratio.

use crate::exact::Fraction;
use crate::figure::{Bounds, Figure};
use crate::judge::Outcome;
use crate::organised::OrganisedSettings;
use crate::organised_week::AthleteTime;
use crate::reason::Reason;
use crate::session::Setting;
use crate::session_time::{SessionTime, total_minutes};
use crate::week::IsoWeek;

/// The most organised hours to one hour of free play.
pub const TO_ONE: u32 = 2;

/// A week's organised time against its free play.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FreePlay {
    /// Organised minutes, free activity never among them.
    pub organised_minutes: Bounds<u32>,
    /// Minutes of free activity.
    pub free_minutes: Bounds<u32>,
    /// The one to the other. Without an upper end, and with [`Reason::NotCounted`], where no free play
    /// is certain.
    pub ratio: Figure<Fraction>,
    /// Whether it is more than [`TO_ONE`] to one.
    pub outcome: Outcome,
    /// How many organisations share nothing, which can only add organised time.
    pub settings_not_shared: u32,
}

/// Organised time against free play in a week.
///
/// # Errors
/// [`Reason::NotCounted`] where no free play is logged.
pub fn free_play(
    time: &AthleteTime<'_>,
    organised: &OrganisedSettings,
    week: IsoWeek,
) -> Result<FreePlay, Reason> {
    let first = week.monday().max(time.member_since);
    let dates = first..=week.sunday();
    let of_week = time.sessions.iter();
    let of_week = of_week.filter(|session| dates.contains(&session.slot.date));
    let is_free = |session: &&SessionTime| session.slot.setting == Setting::Free;
    let counts = |session: &&SessionTime| organised.has(session.slot.setting);
    let organised = total_minutes(of_week.clone().filter(|it| !is_free(it)).filter(counts));
    let free = total_minutes(of_week.filter(is_free));
    let ratio = |organised: u32, free: u32| Fraction::new(organised.into(), free.into());
    let point = ratio(organised.point, free.point).ok_or(Reason::NotCounted)?;
    let high = ratio(organised.high, free.low);
    let over = |organised: u32, free: u32| organised > TO_ONE * free;
    Ok(FreePlay {
        organised_minutes: organised,
        free_minutes: free,
        ratio: Figure {
            low: ratio(organised.low, free.high),
            point: Some(point),
            high,
            reason: high.is_none().then_some(Reason::NotCounted),
        },
        outcome: Outcome::of(
            over(organised.low, free.high),
            over(organised.high, free.low),
        ),
        settings_not_shared: time.settings_not_shared,
    })
}

#[cfg(test)]
mod tests {
    use jiff::civil::{Date, date};

    use super::*;
    use crate::judge::Certainty;
    use crate::session_time::examples::{practice, run_by, unlogged};

    fn club(hour: i64, minutes: i64) -> SessionTime {
        practice(date(2026, 11, 9), hour, minutes)
    }

    fn free(minutes: i64) -> SessionTime {
        run_by(Setting::Free, club(20, minutes))
    }

    fn of(sessions: &[SessionTime]) -> Result<FreePlay, Reason> {
        since(date(2026, 8, 3), sessions)
    }

    fn since(member_since: Date, sessions: &[SessionTime]) -> Result<FreePlay, Reason> {
        let time = AthleteTime {
            member_since,
            sessions,
            settings_not_shared: 0,
        };
        let organised = [Setting::Club, Setting::Free].into_iter().collect();
        free_play(&time, &organised, "2026-W46".parse().unwrap())
    }

    #[test]
    fn twice_as_much_is_not_over() {
        let with = |minutes| of(&[club(8, minutes), free(60)]).unwrap();
        assert_eq!(with(120).outcome, Outcome::NotRaised);
        assert_eq!(with(120).ratio, Figure::exact(Fraction::whole(2)));
        assert_eq!(with(121).outcome, Outcome::Raised(Certainty::Certain));
    }

    #[test]
    fn an_unlogged_practice_may_tip_it() {
        let open = unlogged(club(12, 90));
        let found = of(&[club(8, 90), open, free(60)]).unwrap();
        assert_eq!(found.ratio.low, found.ratio.point);
        assert_eq!(found.ratio.high, Some(Fraction::whole(3)));
        assert_eq!(found.outcome, Outcome::Raised(Certainty::Possible));
    }

    #[test]
    fn without_free_play_logged_there_is_no_ratio() {
        assert_eq!(of(&[club(8, 90)]), Err(Reason::NotCounted));
        let tuesday = date(2026, 11, 10);
        let before_membership = since(tuesday, &[club(8, 90), free(60)]);
        assert_eq!(before_membership, Err(Reason::NotCounted));
    }

    /// Even where the policy lists free activity among the organised settings.
    #[test]
    fn free_play_is_never_organised_here() {
        let found = of(&[free(60), run_by(Setting::Pe, club(8, 60))]).unwrap();
        assert_eq!(found.organised_minutes, Bounds::default());
        assert_eq!(found.ratio, Figure::exact(Fraction::ZERO));
    }
}
