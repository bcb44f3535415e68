//! Days of athletes: what a change touches, and which rows to read for it.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Span;
use jiff::civil::{Date, Weekday};

use super::StoreError;
use super::who::Who;
use crate::ids::AthleteId;

/// Some days of some athletes.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct DaySet(BTreeMap<AthleteId, BTreeSet<Date>>);

/// Athletes and a range of dates that holds days of each of them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Block {
    /// Whose days.
    pub athletes: Vec<AthleteId>,
    /// The first date of any.
    pub from: Date,
    /// The last date of any.
    pub to: Date,
}

impl DaySet {
    /// Adds a day.
    pub fn add(&mut self, athlete: AthleteId, date: Date) {
        self.0.entry(athlete).or_default().insert(date);
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Whether a day is one of them.
    pub fn contains(&self, athlete: AthleteId, date: Date) -> bool {
        self.of(athlete).is_some_and(|dates| dates.contains(&date))
    }

    /// One athlete's days.
    pub fn of(&self, athlete: AthleteId) -> Option<&BTreeSet<Date>> {
        self.0.get(&athlete)
    }

    /// Every day, by athlete and date.
    pub fn iter(&self) -> impl Iterator<Item = (AthleteId, Date)> {
        let days = |(athlete, dates): (_, &'_ BTreeSet<Date>)| {
            let athlete: &AthleteId = athlete;
            dates
                .iter()
                .map(|date| (*athlete, *date))
                .collect::<Vec<_>>()
        };
        self.0.iter().flat_map(days)
    }

    /// The athletes, in order.
    pub fn athletes(&self) -> Vec<AthleteId> {
        self.0.keys().copied().collect()
    }

    /// Each athlete with her first and her last day.
    pub fn spans(&self) -> impl Iterator<Item = (AthleteId, (Date, Date))> {
        self.0
            .iter()
            .filter_map(|(athlete, dates)| Some((*athlete, (*dates.first()?, *dates.last()?))))
    }

    /// These days and those up to `days` before and after each.
    #[must_use]
    pub fn around(&self, days: i64) -> Self {
        let shifted = |date: Date| {
            (-days..=days).filter_map(move |by| date.checked_add(Span::new().days(by)).ok())
        };
        let of_each = self.0.iter().map(|(athlete, dates)| {
            let around = dates.iter().flat_map(|date| shifted(*date));
            (*athlete, around.collect())
        });
        Self(of_each.collect())
    }

    /// The days in blocks, in the order of their dates: one block where all lie within two weeks, else
    /// one a calendar week. So a query a block reads little more than these days, wherever in the
    /// year they lie, and there are no more queries than weeks.
    pub fn blocks(&self) -> Vec<Block> {
        const WITHIN_DAYS: i64 = 14;
        let firsts = self.spans().map(|(_, (first, _))| first);
        let lasts = self.spans().map(|(_, (_, last))| last);
        let (Some(first), Some(last)) = (firsts.min(), lasts.max()) else {
            return Vec::new();
        };
        if first.saturating_add(Span::new().days(WITHIN_DAYS)) > last {
            return vec![Block {
                athletes: self.athletes(),
                from: first,
                to: last,
            }];
        }
        let mut weeks: BTreeMap<Date, Self> = BTreeMap::new();
        for (athlete, date) in self.iter() {
            weeks.entry(monday(date)).or_default().add(athlete, date);
        }
        weeks.values().flat_map(Self::blocks).collect()
    }

    /// Runs a query of a range of dates once a block and batch of athletes, and keeps the rows of
    /// exactly these days: by date block, then in the order of the query.
    pub(super) fn read<T>(
        &self,
        day_of: impl Fn(&T) -> (AthleteId, Date),
        mut query: impl FnMut(Who<'_>, Date, Date) -> Result<Vec<T>, StoreError>,
    ) -> Result<Vec<T>, StoreError> {
        let mut found = Vec::new();
        for block in self.blocks() {
            let who = Who::Athletes(&block.athletes);
            let rows = who.read(|who| query(who, block.from, block.to))?;
            found.extend(rows.into_iter().filter(|row| {
                let (athlete, date) = day_of(row);
                self.contains(athlete, date)
            }));
        }
        Ok(found)
    }
}

impl FromIterator<(AthleteId, Date)> for DaySet {
    fn from_iter<I: IntoIterator<Item = (AthleteId, Date)>>(days: I) -> Self {
        let mut these = Self::default();
        days.into_iter()
            .for_each(|(athlete, date)| these.add(athlete, date));
        these
    }
}

fn monday(date: Date) -> Date {
    let since = date.weekday().since(Weekday::Monday);
    date.saturating_sub(Span::new().days(since))
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    fn athlete(number: u128) -> AthleteId {
        uuid::Uuid::from_u128(number).into()
    }

    fn days(of: &[(u128, Date)]) -> DaySet {
        of.iter()
            .map(|(number, date)| (athlete(*number), *date))
            .collect()
    }

    #[test]
    fn what_lies_within_two_weeks_is_one_block() {
        let touched = days(&[(2, date(2026, 9, 7)), (1, date(2026, 9, 13))]);
        let block = Block {
            athletes: vec![athlete(1), athlete(2)],
            from: date(2026, 9, 7),
            to: date(2026, 9, 13),
        };
        assert_eq!(touched.blocks(), [block]);
        assert!(DaySet::default().blocks().is_empty());
    }

    #[test]
    fn what_lies_further_apart_is_a_block_a_week_of_its_own_athletes() {
        let touched = days(&[
            (1, date(2026, 9, 13)),
            (2, date(2026, 9, 14)),
            (1, date(2026, 9, 20)),
            (1, date(2027, 1, 1)),
        ]);
        let block = |athletes: &[u128], from, to| Block {
            athletes: athletes.iter().map(|number| athlete(*number)).collect(),
            from,
            to,
        };
        assert_eq!(
            touched.blocks(),
            [
                block(&[1], date(2026, 9, 13), date(2026, 9, 13)),
                block(&[1, 2], date(2026, 9, 14), date(2026, 9, 20)),
                block(&[1], date(2027, 1, 1), date(2027, 1, 1)),
            ]
        );
    }

    #[test]
    fn around_a_day_are_the_days_before_and_after_it_within_the_calendar() {
        let touched = days(&[(1, date(2026, 9, 1)), (1, date(2026, 9, 3))]);
        let around = touched.around(1);
        let expected =
            (0..5).map(|shift| (1, date(2026, 8, 31).saturating_add(Span::new().days(shift))));
        assert_eq!(around, days(&expected.collect::<Vec<_>>()));
        assert_eq!(days(&[(1, Date::MAX)]).around(1).iter().count(), 2);
    }

    #[test]
    fn reading_keeps_exactly_the_days_meant() {
        let touched = days(&[
            (1, date(2026, 9, 7)),
            (2, date(2026, 9, 9)),
            (2, date(2026, 12, 1)),
        ]);
        let every_day_of_each = |who: Who<'_>, from: Date, to: Date| {
            let Who::Athletes(athletes) = who else {
                panic!("athletes by name");
            };
            let dates: Vec<Date> = from
                .series(Span::new().days(1))
                .take_while(|date| *date <= to)
                .collect();
            let rows = athletes
                .iter()
                .flat_map(|one| dates.iter().map(|date| (*one, *date)));
            Ok(rows.collect())
        };
        let read: DaySet = touched
            .read(|row| *row, every_day_of_each)
            .unwrap()
            .into_iter()
            .collect();
        assert_eq!(read, touched);
    }
}
