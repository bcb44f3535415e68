//! All figures of an ISO week.

use jiff::ToSpan;
use jiff::civil::Date;

use crate::baseline::{Baseline, baseline};
use crate::change::{Change, change_at};
use crate::day_figures::FigureSettings;
use crate::day_state::StateCounts;
use crate::exact::{Fraction, Root};
use crate::figure::{Bounds, Figure};
use crate::load::Load;
use crate::monotony::{self, ByDivisor};
use crate::own_highest::{OwnHighest, own_highest};
use crate::ramp::{self, Returning};
use crate::ratio::{RatioKind, ratio_at};
use crate::reason::Reason;
use crate::series::DailySeries;
use crate::strain;
use crate::week::IsoWeek;
use crate::window::{self, ChronicWeek};

/// The figures of one ISO week, taken at its Sunday.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WeekFigures {
    /// The week.
    pub week: IsoWeek,
    /// Its load; of its membership days only, where `days` counts some before membership.
    pub load: Bounds<Load>,
    /// Minutes reported.
    pub minutes: u32,
    /// Sessions reported.
    pub sessions: u32,
    /// Sessions expected.
    pub expected: u32,
    /// Expected sessions left open.
    pub unlogged: u32,
    /// Load of the 21 days before Monday.
    pub prior_21d: Figure<Load>,
    /// Chronic load as a weekly mean in AU, as logged.
    pub chronic_week: Option<ChronicWeek>,
    /// 4A / (A + P) on Sunday.
    pub ratio_coupled: Figure<Fraction>,
    /// 3A / P on Sunday.
    pub ratio_uncoupled: Figure<Fraction>,
    /// Monotony of the seven days.
    pub monotony: ByDivisor<Figure<Root>>,
    /// Training strain in AU; its bounds are outer ones.
    pub strain: ByDivisor<Figure<Root>>,
    /// Against the ISO week before.
    pub change: Change,
    /// The highest earlier week it is compared with.
    pub own_highest: Result<OwnHighest, Reason>,
    /// The usual week it is compared with.
    pub baseline: Result<Baseline, Reason>,
    /// The ramp week that ended in this week, or why it has none; `None` where no absence is
    /// followed.
    pub returning: Option<Result<Returning, Reason>>,
    /// The states of the seven days.
    pub days: StateCounts,
    /// The states of the 28 days up to Sunday.
    pub days_28: StateCounts,
    /// The first date on which the athlete's membership allows a ratio: the 28th.
    pub first_ratio_date: Date,
}

impl WeekFigures {
    /// The ratio of this kind on Sunday.
    #[must_use]
    pub const fn ratio(&self, kind: RatioKind) -> Figure<Fraction> {
        match kind {
            RatioKind::Coupled => self.ratio_coupled,
            RatioKind::Uncoupled => self.ratio_uncoupled,
        }
    }

    /// Sessions were expected, and nothing at all was reported.
    #[must_use]
    pub const fn nothing_logged(&self) -> bool {
        self.sessions == 0 && self.expected > 0 && self.unlogged == self.expected
    }
}

/// The figures of each week from `from` to `to` that the series holds. A week that has not ended
/// by the last date of the series, or ended before the first membership date, is left out.
#[must_use]
pub fn week_figures(
    series: &DailySeries,
    settings: &FigureSettings,
    from: IsoWeek,
    to: IsoWeek,
) -> Vec<WeekFigures> {
    from.through(to)
        .filter_map(|week| week_figures_of(series, settings, week).ok())
        .collect()
}

/// The figures of one week.
///
/// # Errors
/// [`Reason::FewerThan7Days`] if the week ended before the first membership date,
/// [`Reason::NotRead`] if the series does not hold the week and the membership dates of the 21
/// days before it.
///
/// ```
/// use jiff::civil::date;
/// use plimsoll_domain::{DailySeries, FigureSettings, IsoWeek, Load, week_figures_of};
/// let loads = [780, 225, 450, 630, 0, 680, 45].map(Load::from_au);
/// let series = DailySeries::of_loads(date(2026, 9, 7), &loads).unwrap();
/// let week: IsoWeek = "2026-W37".parse().unwrap();
/// let figures = week_figures_of(&series, &FigureSettings::default(), week).unwrap();
/// assert_eq!(figures.load.point, Load::from_au(2810));
/// ```
pub fn week_figures_of(
    series: &DailySeries,
    settings: &FigureSettings,
    week: IsoWeek,
) -> Result<WeekFigures, Reason> {
    let sunday = week.sunday();
    let member_days = series.history(sunday).min(7);
    let length = usize::try_from(member_days).map_err(|_| Reason::FewerThan7Days)?;
    if length == 0 {
        return Err(Reason::FewerThan7Days);
    }
    let days = series.window(sunday, length, Reason::FewerThan7Days)?;
    let load = window::total(days);
    let prior = window::prior(series, sunday);
    let monotony = monotony::monotony(days);
    Ok(WeekFigures {
        week,
        load,
        minutes: days.iter().map(|day| day.minutes()).sum(),
        sessions: days.iter().map(|day| day.sessions()).sum(),
        expected: days.iter().map(|day| day.expected()).sum(),
        unlogged: days.iter().map(|day| day.unlogged()).sum(),
        prior_21d: Figure::from_result(prior),
        chronic_week: prior
            .ok()
            .map(|prior| ChronicWeek::of(load.point, prior.point)),
        ratio_coupled: ratio_at(series, sunday, RatioKind::Coupled, settings.chronic_floor),
        ratio_uncoupled: ratio_at(series, sunday, RatioKind::Uncoupled, settings.chronic_floor),
        monotony,
        strain: strain::strain(load, monotony),
        change: change_at(series, sunday),
        own_highest: own_highest(series, week, settings.own_highest_weeks),
        baseline: baseline(series, week, load, settings.nothing_said),
        returning: ramp::returning(series, week, settings),
        days: window::states(series, sunday, 7)?,
        days_28: window::states(series, sunday, 28)?,
        first_ratio_date: series.member_since().saturating_add(27.days()),
    })
}
