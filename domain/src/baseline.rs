//! The athlete's own baseline: what a usual week is for her, and how far this one is from it.
//!
//! Over the 8 most recent known ISO weeks (at least 6) within the last 26, leaving out weeks with
//! an absence: mean, sample standard deviation and `z = (x - mean) / SD`; median, median absolute
//! deviation and the robust `z = (x - median) / (1.4826 MAD)`. Loads in AU, z without unit. It says
//! how unusual a week is, not whether it is good or bad; the deviation of 8 weeks is itself
//! uncertain by roughly a quarter. Common practice, no source; 1.4826 makes the MAD of a normal
//! distribution its standard deviation.

use crate::day_state::NothingSaid;
use crate::earlier_weeks::{EarlierWeek, REACH, earlier_weeks};
use crate::exact::{Fraction, Root};
use crate::figure::{Bounds, Figure};
use crate::load::Load;
use crate::moments::{Divisor, Moments};
use crate::reason::Reason;
use crate::series::DailySeries;
use crate::week::IsoWeek;
use crate::window;

const WEEKS: usize = 8;
const LEAST_WEEKS: usize = 6;

/// A week against the weeks before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Baseline {
    /// How many weeks it is taken over.
    pub weeks_used: u8,
    /// Mean week, AU.
    pub mean: Fraction,
    /// Sample standard deviation, AU.
    pub standard_deviation: Root,
    /// Distance from the mean in standard deviations.
    pub z: Figure<Root>,
    /// Median week, AU.
    pub median: Fraction,
    /// Median absolute deviation, AU.
    pub median_deviation: Fraction,
    /// Distance from the median in 1.4826 median absolute deviations.
    pub robust_z: Figure<Fraction>,
}

/// The baseline before `week`, and the distance of `load`, that week's load, from it.
///
/// The distances alone are missing with [`Reason::NoVariation`] where their divisor is zero.
///
/// # Errors
/// [`Reason::FewerThan6Weeks`], or [`Reason::NotRead`] where the series does not reach back far
/// enough to tell.
pub fn baseline(
    series: &DailySeries,
    week: IsoWeek,
    load: Bounds<Load>,
    nothing_said: NothingSaid,
) -> Result<Baseline, Reason> {
    let known = |week: &EarlierWeek<'_>| {
        week.without_absence()
            && week
                .days
                .iter()
                .all(|day| day.state().is_known(nothing_said))
    };
    let weeks = earlier_weeks(series, week, WEEKS, REACH, known)?;
    if weeks.len() < LEAST_WEEKS {
        return Err(Reason::FewerThan6Weeks);
    }
    let loads: Vec<Load> = weeks
        .iter()
        .map(|week| window::total(week.days).point)
        .collect();
    against(&loads, load).ok_or(Reason::FewerThan6Weeks)
}

fn against(earlier: &[Load], load: Bounds<Load>) -> Option<Baseline> {
    let moments = Moments::of(earlier.iter().copied());
    let half_au = earlier.iter().map(|load| load.half_au()).collect();
    // Twice the median and four times the median deviation are whole numbers of half-AU.
    let median = twice_median(half_au);
    let deviations = earlier
        .iter()
        .map(|load| (2 * load.half_au() - median).abs())
        .collect();
    let deviation = twice_median(deviations);
    let z = |load| z(&moments, load);
    let robust =
        |load: Load| Fraction::new(20_000 * (2 * load.half_au() - median), 14_826 * deviation);
    Some(Baseline {
        weeks_used: u8::try_from(earlier.len()).ok()?,
        mean: moments.mean()?,
        standard_deviation: moments.standard_deviation(Divisor::Sample)?,
        z: distance(load, z),
        median: Fraction::over::<4>(median),
        median_deviation: Fraction::over::<8>(deviation),
        robust_z: distance(load, robust),
    })
}

/// `(x - S/n) / sqrt((nQ - S^2) / (n (n - 1)))` as one exact root.
fn z(moments: &Moments, load: Load) -> Option<Root> {
    let count = moments.count();
    let square = Fraction::new(count - 1, count * moments.deviation()?)?;
    Some(Root::new(count * load.half_au() - moments.sum(), square))
}

fn distance<T>(load: Bounds<Load>, of: impl Fn(Load) -> Option<T>) -> Figure<T> {
    let Bounds { low, point, high } = load.map(of);
    let reason = if point.is_none() {
        Some(Reason::NoVariation)
    } else {
        None
    };
    Figure {
        low,
        point,
        high,
        reason,
    }
}

/// Twice the median of some values.
pub(crate) fn twice_median(mut values: Vec<i64>) -> i64 {
    values.sort_unstable();
    let middle = values.len() / 2;
    if values.len().is_multiple_of(2) {
        values[middle - 1] + values[middle]
    } else {
        2 * values[middle]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn loads(au: &[u16]) -> Vec<Load> {
        au.iter().copied().map(Load::from_au).collect()
    }

    #[test]
    fn without_variation_there_is_a_mean_but_no_distance() {
        let baseline = against(&loads(&[2000; 6]), Bounds::exact(Load::from_au(2100))).unwrap();
        assert_eq!(baseline.mean, Fraction::whole(2000));
        assert_eq!(baseline.z, Figure::none(Reason::NoVariation));
        assert_eq!(baseline.robust_z, Figure::none(Reason::NoVariation));
    }

    #[test]
    fn the_median_of_an_odd_number_is_the_middle_one() {
        let earlier = loads(&[1000, 1100, 1250, 1300, 1400, 1600, 2000]);
        let baseline = against(&earlier, Bounds::exact(Load::from_au(1200))).unwrap();
        assert_eq!(baseline.median, Fraction::whole(1300));
        // Deviations 300, 200, 50, 0, 100, 300, 700.
        assert_eq!(baseline.median_deviation, Fraction::whole(200));
        assert!(baseline.z.point.unwrap().to_f64() < 0.0);
        assert_eq!(
            baseline.robust_z.point,
            Fraction::new(-1_000_000, 1_4826 * 200)
        );
    }

    #[test]
    fn the_distance_has_the_bounds_of_the_week() {
        let (low, high) = (Load::from_au(1000), Load::from_au(1500));
        let earlier = loads(&[900, 1000, 1100, 1200, 1300, 1400]);
        let baseline = against(
            &earlier,
            Bounds {
                low,
                point: low,
                high,
            },
        )
        .unwrap();
        assert_eq!(baseline.z.low, baseline.z.point);
        assert!(baseline.z.high > baseline.z.point);
    }
}
