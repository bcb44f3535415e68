//! By when a week must be cut, and by how much, to come within the limit on the ratio.
//!
//! Of a series that holds the planned days as if they were done: the excess `A - c P` (c as in
//! [`RatioLimit::share`]) on Sunday, or on each coming day. Cuts within a week change A alone: the 21 days
//! before the seven that end on one of its days all lie before its Monday.

use jiff::civil::Date;

use super::CutBy;
use crate::exact::Fraction;
use crate::ratio::sums_at;
use crate::ratio_limit::RatioLimit;
use crate::reason::Reason;
use crate::series::DailySeries;
use crate::week::IsoWeek;

/// What the week must give by Sunday; `None` where it is within the limit.
///
/// # Errors
/// Why there is no ratio on Sunday.
pub fn week_need(
    limit: RatioLimit,
    series: &DailySeries,
    week: IsoWeek,
) -> Result<Option<CutBy>, Reason> {
    need(limit, series, week.sunday())
}

/// What the week must give by each of its days from `from` on that is over the limit. Days before are
/// done, whatever they are.
///
/// # Errors
/// Why there is no ratio on one of the days.
pub fn rolling_needs(
    limit: RatioLimit,
    series: &DailySeries,
    week: IsoWeek,
    from: Date,
) -> Result<Vec<CutBy>, Reason> {
    let coming = week.days().filter(|date| *date >= from);
    coming
        .filter_map(|date| need(limit, series, date).transpose())
        .collect()
}

/// As logged: sessions left open count for nothing.
fn need(limit: RatioLimit, series: &DailySeries, date: Date) -> Result<Option<CutBy>, Reason> {
    let (acute, prior) = sums_at(series, date)?;
    if !limit.judges_after(prior.low) {
        return Err(Reason::BelowChronicFloor);
    }
    let au = limit.over_by(acute.point, prior.point);
    Ok((au > Fraction::ZERO).then_some(CutBy { date, au }))
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::exact::Decimal;
    use crate::load::Load;
    use crate::ratio::RatioKind;

    const MONDAY: Date = date(2026, 11, 2);

    fn limit() -> RatioLimit {
        let limit = Decimal::hundredths(150);
        RatioLimit::new(RatioKind::Coupled, limit, Load::from_au(250)).unwrap()
    }

    /// Four weeks of 100 AU a day with 1400 in all in the last, then a week of seven days.
    fn series(week: [u16; 7]) -> DailySeries {
        let before = [&[100; 21][..], &[0, 0, 0, 0, 0, 700, 700]].concat();
        let loads = [before, week.to_vec()].concat();
        let loads: Vec<Load> = loads.into_iter().map(Load::from_au).collect();
        DailySeries::of_loads(date(2026, 10, 5), &loads).unwrap()
    }

    /// On Monday 1400 + 100 against 0.6 x 2000, on Friday 1400 + 500 against 0.6 x 1600, on Saturday 700 +
    /// 600 against 0.6 x 2200: the heavy weekend has begun to be among the weeks before.
    #[test]
    fn each_coming_day_over_the_limit_has_its_need() {
        let (series, week) = (series([100; 7]), IsoWeek::of(MONDAY).unwrap());
        assert_eq!(week_need(limit(), &series, week), Ok(None));
        let needs = |from| rolling_needs(limit(), &series, week, from).unwrap();
        let of = |day, au| CutBy {
            date: date(2026, 11, day),
            au: Fraction::whole(au),
        };
        assert_eq!(needs(MONDAY).first(), Some(&of(2, 300)));
        assert_eq!(needs(date(2026, 11, 6)), [of(6, 940)]);
        assert_eq!(needs(date(2026, 11, 7)), []);
    }

    #[test]
    fn a_day_without_a_ratio_has_no_need_to_tell() {
        let first = IsoWeek::of(date(2026, 10, 19)).unwrap();
        let early = week_need(limit(), &series([100; 7]), first);
        assert_eq!(early, Err(Reason::FewerThan28Days));
        let light = DailySeries::of_loads(date(2026, 10, 5), &[Load::from_au(30); 35]).unwrap();
        let judged = week_need(limit(), &light, IsoWeek::of(MONDAY).unwrap());
        assert_eq!(judged, Err(Reason::BelowChronicFloor));
    }

    #[test]
    fn sunday_is_the_week_view() {
        let heavy = week_need(limit(), &series([300; 7]), IsoWeek::of(MONDAY).unwrap());
        let of = |au| CutBy {
            date: date(2026, 11, 8),
            au: Fraction::whole(au),
        };
        // 2100 against 0.6 x 2800.
        assert_eq!(heavy, Ok(Some(of(420))));
    }
}
