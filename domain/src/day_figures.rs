//! All figures of each day, in one pass over a series.

use jiff::civil::Date;

use crate::change::{self, Change};
use crate::day::DayTotal;
use crate::day_state::{Absence, DayState, NothingSaid, StateCounts};
use crate::ewma::{Ewma, EwmaPass, Seed};
use crate::exact::{Decimal, Fraction, Root};
use crate::figure::{Bounds, Figure};
use crate::load::Load;
use crate::monotony::{self, ByDivisor};
use crate::own_highest;
use crate::ratio::{self, RatioKind};
use crate::reason::Reason;
use crate::series::DailySeries;
use crate::strain;
use crate::window::{self, ACUTE_DAYS, CHRONIC_DAYS, ChronicWeek};

/// What a club's policy decides about figures.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FigureSettings {
    /// The mean weekly load of the three prior weeks below which no ratio is given.
    pub chronic_floor: Load,
    /// The seed of the exponential means.
    pub seed: Seed,
    /// What a day is on which nothing was expected and nothing was said.
    pub nothing_said: NothingSaid,
    /// How many earlier weeks the own highest week is taken from.
    pub own_highest_weeks: u8,
    /// The last step of the return after an absence, as a share of the load before it.
    pub last_return_share: Decimal,
}

impl Default for FigureSettings {
    /// For a club without a policy: floor 250 AU a week, first-day seed, silence taken for rest, a
    /// return that ends at the whole load before the absence. The floor is common practice, no
    /// source.
    fn default() -> FigureSettings {
        FigureSettings {
            chronic_floor: Load::from_au(250),
            seed: Seed::FirstDay,
            nothing_said: NothingSaid::AssumedRest,
            own_highest_weeks: own_highest::WEEKS,
            last_return_share: Decimal::hundredths(100),
        }
    }
}

/// The figures of one date.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DayFigures {
    /// The date that ends every window below.
    pub date: Date,
    /// What is known about the day.
    pub state: DayState,
    /// The day's load.
    pub load: Bounds<Load>,
    /// Sessions reported on the day.
    pub sessions: u32,
    /// Minutes reported on the day.
    pub minutes: u32,
    /// Load of the last 7 days.
    pub acute_7d: Figure<Load>,
    /// Load of the 21 days before those.
    pub prior_21d: Figure<Load>,
    /// Chronic load as a weekly mean in AU, as logged.
    pub chronic_week: Option<ChronicWeek>,
    /// 4A / (A + P).
    pub ratio_coupled: Figure<Fraction>,
    /// 3A / P.
    pub ratio_uncoupled: Figure<Fraction>,
    /// Exponentially weighted means.
    pub ewma: Ewma,
    /// Monotony of the last 7 days.
    pub monotony: ByDivisor<Figure<Root>>,
    /// Training strain of the last 7 days, in AU; its bounds are outer ones.
    pub strain: ByDivisor<Figure<Root>>,
    /// The last 7 days against the 7 before.
    pub change_from_previous_7d: Change,
    /// The states of the last 28 days.
    pub days_28: StateCounts,
}

/// The figures of each date from `from` to `to`, as a list; see [`day_figures_iter`].
#[must_use]
pub fn day_figures(
    series: &DailySeries,
    settings: &FigureSettings,
    from: Date,
    to: Date,
) -> Vec<DayFigures> {
    day_figures_iter(series, settings, from, to).collect()
}

/// The figures of each date from `from` to `to`, one at a time, in one pass: the cost is linear in
/// the days of the series.
///
/// Dates outside the series and before the first membership date are left out. So are, when the
/// series begins after that date, its first 27 days, whose windows it does not hold.
///
/// ```
/// use jiff::civil::date;
/// use plimsoll_domain::{DailySeries, FigureSettings, Load, day_figures};
/// let series = DailySeries::of_loads(date(2026, 9, 7), &[Load::from_au(300); 30]).unwrap();
/// let days = day_figures(&series, &FigureSettings::default(), series.first(), series.last());
/// assert_eq!(days[29].acute_7d.point, Some(Load::from_au(2100)));
/// assert_eq!(days[26].ratio_coupled.reason.unwrap().code(), "fewer_than_28_days");
/// ```
pub fn day_figures_iter<'a>(
    series: &'a DailySeries,
    settings: &'a FigureSettings,
    from: Date,
    to: Date,
) -> impl Iterator<Item = DayFigures> + 'a {
    let member_days = series.member_days();
    let unreadable = if series.holds_whole_membership() {
        0
    } else {
        CHRONIC_DAYS - 1
    };
    let mut pass = Pass::new(series, settings);
    let dates = std::iter::successors(Some(series.first().max(series.member_since())), |date| {
        date.tomorrow().ok()
    });
    dates
        .zip(0..member_days.len())
        .take_while(move |(date, _)| *date <= to)
        .filter_map(move |(date, at)| {
            let ewma = pass.slide(at);
            (date >= from && at >= unreadable).then(|| pass.figures(date, at, ewma))
        })
}

/// The sums that slide along the membership days.
struct Pass<'a> {
    days: &'a [DayTotal],
    settings: &'a FigureSettings,
    ewma: EwmaPass,
    prior: Bounds<Load>,
    states: StateCounts,
    long_absence_days: usize,
}

impl<'a> Pass<'a> {
    fn new(series: &'a DailySeries, settings: &'a FigureSettings) -> Pass<'a> {
        let mut states = StateCounts::default();
        for _ in 0..CHRONIC_DAYS {
            states.add(DayState::BeforeMembership, 1);
        }
        Pass {
            days: series.member_days(),
            settings,
            ewma: EwmaPass::new(series, settings.seed),
            prior: Bounds::default(),
            states,
            long_absence_days: 0,
        }
    }

    /// Moves the windows on by one day, to end at `days[at]`.
    fn slide(&mut self, at: usize) -> Ewma {
        let entering = &self.days[at];
        self.states.add(entering.state(), 1);
        self.long_absence_days += usize::from(entering.absence() == Absence::Long);
        if let Some(aged) = at.checked_sub(ACUTE_DAYS) {
            self.prior = self.prior + self.days[aged].load();
        }
        match at.checked_sub(CHRONIC_DAYS) {
            Some(leaving) => {
                let leaving = &self.days[leaving];
                self.states.remove(leaving.state());
                self.long_absence_days -= usize::from(leaving.absence() == Absence::Long);
                self.prior = self.prior.less(leaving.load());
            }
            None => self.states.remove(DayState::BeforeMembership),
        }
        self.ewma.step(entering)
    }

    fn figures(&self, date: Date, at: usize, ewma: Ewma) -> DayFigures {
        let day = &self.days[at];
        let last = |days: usize| {
            (at + 1)
                .checked_sub(days)
                .map(|start| &self.days[start..=at])
        };
        let week = last(ACUTE_DAYS);
        let acute = week.map(window::total).ok_or(Reason::FewerThan7Days);
        let prior = if at + 1 >= CHRONIC_DAYS {
            Ok(self.prior)
        } else {
            Err(Reason::FewerThan28Days)
        };
        let monotony = monotony::monotony(week.unwrap_or_default());
        let two_weeks = last(2 * ACUTE_DAYS).map(|days| window::total(&days[..ACUTE_DAYS]));
        let ratio = |kind| self.ratio(kind, acute, prior);
        DayFigures {
            date,
            state: day.state(),
            load: day.load(),
            sessions: day.sessions(),
            minutes: day.minutes(),
            acute_7d: Figure::from_result(acute),
            prior_21d: Figure::from_result(prior),
            chronic_week: acute
                .and_then(|acute| Ok(ChronicWeek::of(acute.point, prior?.point)))
                .ok(),
            ratio_coupled: ratio(RatioKind::Coupled),
            ratio_uncoupled: ratio(RatioKind::Uncoupled),
            ewma,
            monotony,
            strain: strain::strain(acute.unwrap_or_default(), monotony),
            change_from_previous_7d: match (acute, two_weeks) {
                (Ok(acute), Some(before)) => change::change(acute, before),
                _ => Change::none(Reason::FewerThan14Days),
            },
            days_28: self.states,
        }
    }

    fn ratio(
        &self,
        kind: RatioKind,
        acute: Result<Bounds<Load>, Reason>,
        prior: Result<Bounds<Load>, Reason>,
    ) -> Figure<Fraction> {
        match (acute, prior) {
            (Ok(_), Ok(_)) if self.long_absence_days > 0 => Figure::none(Reason::AbsenceInWindow),
            (Ok(acute), Ok(prior)) => ratio::ratio(kind, acute, prior, self.settings.chronic_floor),
            _ => Figure::none(Reason::FewerThan28Days),
        }
    }
}
