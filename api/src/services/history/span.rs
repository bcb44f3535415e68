//! Which days a history shows: those around the absence it is about.

use jiff::Span;
use jiff::civil::Date;
use plimsoll_domain::ramp::LEAST_DAYS;

use super::Wanted;
use crate::error::{Code, FieldProblem, Problem};
use crate::services::fields;
use crate::store::absences::Absence;
use crate::web::query::bad;
use crate::web::range::{MOST_DAYS, length};

/// Weeks shown before an absence, and at most after it.
const AROUND_WEEKS: i64 = 26;
/// Weeks read before an absence: what a ramp rests on, also where another one was not done when it began.
const RESTS_ON_WEEKS: i64 = 27;

/// The days of a history.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HistorySpan {
    /// First day.
    pub from: Date,
    /// Last day.
    pub to: Date,
    /// First and last day of the absence it is about; days of two absences that touch are one.
    pub absence: Option<(Date, Date)>,
}

impl HistorySpan {
    /// The span asked for; else from 26 weeks before the newest absence of seven days or more to 26 after it, and no day that is not
    /// over; without an absence the last 26 weeks.
    pub(super) fn of(wanted: &Wanted, absences: &[Absence], today: Date) -> Result<Self, Problem> {
        let over = today.yesterday().unwrap_or(today);
        let latest = wanted.to.unwrap_or(over);
        if latest > today {
            let fault = FieldProblem::new("?to", Code::InFuture, latest.to_string());
            return Err(Problem::field(fault.allowed(format!("{today} or earlier"))));
        }
        let shown = |span: &&(Date, Date)| {
            span.0 <= latest && wanted.from.is_none_or(|from| from <= span.1)
        };
        let spans = spans(absences);
        let long = spans.iter().filter(|span| days(span) >= LEAST_DAYS);
        let absence = long.copied().rfind(|span| shown(&span));
        let (from, to) = match absence {
            Some((from, to)) => (
                weeks(from, -AROUND_WEEKS),
                weeks(to, AROUND_WEEKS).min(over),
            ),
            None => (weeks(latest, -AROUND_WEEKS), over),
        };
        let (from, to) = (wanted.from.unwrap_or(from), wanted.to.unwrap_or(to));
        fields::in_order("?to", from, to).map_err(bad)?;
        if length(from, to) > MOST_DAYS {
            let fault = FieldProblem::new("?from", Code::RangeTooLong, from.to_string());
            return Err(bad(fault.allowed(format!("at most {MOST_DAYS} days"))));
        }
        Ok(Self { from, to, absence })
    }

    /// The first day to read: a ramp and the last 28 days rest on days before.
    pub(super) fn reads_from(&self) -> Date {
        let before_absence = self.absence.map(|(from, _)| weeks(from, -RESTS_ON_WEEKS));
        let before = weeks(self.to, -4).min(self.from);
        before_absence.map_or(before, |earlier| earlier.min(before))
    }

    /// Whether a day is shown.
    pub(super) fn holds(&self, date: Date) -> bool {
        (self.from..=self.to).contains(&date)
    }
}

/// Absences, by their first day, with those that touch or overlap as one.
fn spans(absences: &[Absence]) -> Vec<(Date, Date)> {
    let mut spans: Vec<(Date, Date)> = Vec::new();
    for one in absences {
        match spans.last_mut() {
            Some(last) if one.from_date <= last.1.tomorrow().unwrap_or(last.1) => {
                last.1 = last.1.max(one.to_date);
            }
            _ => spans.push((one.from_date, one.to_date)),
        }
    }
    spans
}

fn days((from, to): &(Date, Date)) -> i64 {
    to.duration_since(*from).as_hours() / 24 + 1
}

fn weeks(date: Date, weeks: i64) -> Date {
    date.saturating_add(Span::new().weeks(weeks))
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use plimsoll_domain::{GivenBy, TrialsBy};
    use uuid::Uuid;

    use super::*;
    use crate::store::AbsenceCategory;

    const TODAY: Date = date(2026, 12, 7);

    fn away(from: Date, to: Date) -> Absence {
        Absence {
            absence_id: Uuid::nil().into(),
            athlete_id: Uuid::nil().into(),
            from_date: from,
            to_date: to,
            category: AbsenceCategory::NotAvailable,
            given_by: GivenBy::Guardian,
        }
    }

    fn span(
        from: Option<Date>,
        to: Option<Date>,
        absences: &[Absence],
    ) -> Result<HistorySpan, Code> {
        let wanted = Wanted {
            athlete_id: Uuid::nil().into(),
            from,
            to,
            trials_by: TrialsBy::Mean,
            explain: false,
        };
        HistorySpan::of(&wanted, absences, TODAY).map_err(|problem| problem.errors[0].code)
    }

    #[test]
    fn it_lies_around_the_newest_absence_that_is_long_enough() {
        let absences = [
            away(date(2026, 10, 5), date(2026, 10, 20)),
            away(date(2026, 10, 21), date(2026, 11, 8)),
            away(date(2026, 12, 1), date(2026, 12, 3)),
        ];
        let found = span(None, None, &absences).unwrap();
        assert_eq!(found.absence, Some((date(2026, 10, 5), date(2026, 11, 8))));
        assert_eq!(
            (found.from, found.to),
            (date(2026, 4, 6), date(2026, 12, 6))
        );
        assert_eq!(found.reads_from(), date(2026, 3, 30));
        let earlier = span(None, Some(date(2026, 10, 4)), &absences).unwrap();
        assert_eq!((earlier.absence, earlier.from), (None, date(2026, 4, 5)));
    }

    #[test]
    fn long_after_an_absence_it_ends_half_a_year_later() {
        let absences = [away(date(2025, 10, 6), date(2025, 11, 9))];
        let found = span(None, None, &absences).unwrap();
        assert_eq!(
            (found.from, found.to),
            (date(2025, 4, 7), date(2026, 5, 10))
        );
    }

    #[test]
    fn it_has_an_order_an_end_and_a_length() {
        let day = |days: i64| Some(TODAY.saturating_sub(Span::new().days(days)));
        assert_eq!(span(None, day(-1), &[]), Err(Code::InFuture));
        assert_eq!(span(day(1), day(2), &[]), Err(Code::RangeReversed));
        assert_eq!(span(day(1_101), day(1), &[]), Err(Code::RangeTooLong));
        assert!(span(day(1_100), day(1), &[]).is_ok());
    }
}
