//! Months of a year spent in one sport.
//!
//! A calendar month counts for a sport from [`SESSIONS_A_MONTH`] organised sessions of it on; a year is
//! twelve calendar months, from whichever month the club lets it begin. Over the line means more than
//! [`MONTHS_A_YEAR`] months: National Athletic Trainers' Association, official statement, 16 October
//! 2019, at most eight months a year in one sport. How many sessions make a month: common practice, no
//! source. What is not shared can only add months.

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::figure::Bounds;
use crate::judge::Outcome;
use crate::organised::OrganisedSettings;
use crate::reason::Reason;
use crate::session_time::SessionTime;

/// The fewest organised sessions of one sport that make a month of it.
pub const SESSIONS_A_MONTH: u32 = 4;
/// The most months a year in one sport.
pub const MONTHS_A_YEAR: u8 = 8;

/// A session and its sport, as the caller tells sports apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SportSession<S> {
    /// The sport.
    pub sport: S,
    /// The session.
    pub session: SessionTime,
}

/// A year in one sport.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SportMonths<S> {
    /// The sport.
    pub sport: S,
    /// Months with enough organised sessions of it; the most with every unlogged one.
    pub months: Bounds<u8>,
    /// Whether they are more than [`MONTHS_A_YEAR`]; not computable with
    /// [`Reason::FewerThan12Months`] where months before membership decide.
    pub outcome: Outcome,
}

/// The organised sessions of the twelve months.
type Months = [Bounds<u32>; 12];

/// The twelve months that begin with the month of `year_begins`, sport by sport in the order of `S`;
/// sports without an organised session in them are left out.
#[must_use]
pub fn sport_months<S: Copy + Ord>(
    sessions: &[SportSession<S>],
    organised: &OrganisedSettings,
    member_since: Date,
    year_begins: Date,
) -> Vec<SportMonths<S>> {
    let mut by_sport: BTreeMap<S, Months> = BTreeMap::new();
    for SportSession { sport, session } in sessions {
        let slot = session.slot;
        let counts = organised.has(slot.setting) && slot.date >= member_since;
        if let Some(month) = month_of_year(year_begins, slot.date).filter(|_| counts) {
            let months = by_sport.entry(*sport).or_default();
            months[month] = months[month] + session.attended.sessions();
        }
    }
    // Months that began before membership are known in part or not at all.
    let unknown = (0..12).filter(|month| begins_before(year_begins, *month, member_since));
    let unknown = unknown.count();
    by_sport
        .into_iter()
        .map(|(sport, months)| of_sport(sport, &months, unknown))
        .collect()
}

/// The first `unknown` months are known in part or not at all.
fn of_sport<S>(sport: S, months: &Months, unknown: usize) -> SportMonths<S> {
    let enough = |sessions: u32| sessions >= SESSIONS_A_MONTH;
    let of = |end: fn(&Bounds<u32>) -> u32| {
        let reached = months.iter().filter(|month| enough(end(month)));
        reached.fold(0_u8, |count, _| count + 1)
    };
    let months_reached = Bounds {
        low: of(|month| month.low),
        point: of(|month| month.point),
        high: of(|month| month.high),
    };
    let may_be = months.iter().take(unknown).filter(|it| !enough(it.high));
    let at_most = usize::from(months_reached.high) + may_be.count();
    let over = |count: u8| count > MONTHS_A_YEAR;
    let outcome = match Outcome::of(over(months_reached.low), over(months_reached.high)) {
        Outcome::NotRaised if at_most > usize::from(MONTHS_A_YEAR) => {
            Outcome::NotComputable(Reason::FewerThan12Months)
        }
        outcome => outcome,
    };
    SportMonths {
        sport,
        months: months_reached,
        outcome,
    }
}

/// The place of a date's month in the year, 0 to 11; `None` outside it.
fn month_of_year(year_begins: Date, date: Date) -> Option<usize> {
    let months = month_number(date) - month_number(year_begins);
    usize::try_from(months).ok().filter(|month| *month < 12)
}

fn begins_before(year_begins: Date, month: i32, member_since: Date) -> bool {
    let begins = month_number(year_begins) + month;
    begins < month_number(member_since)
        || begins == month_number(member_since) && member_since.day() > 1
}

fn month_number(date: Date) -> i32 {
    12 * i32::from(date.year()) + i32::from(date.month()) - 1
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::judge::Certainty;
    use crate::session::Setting;
    use crate::session_time::examples::{practice, run_by, unlogged};

    #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
    enum Sport {
        Handball,
        Swimming,
    }

    const YEAR: Date = date(2026, 8, 1);

    fn handball_on(date: Date) -> SportSession<Sport> {
        SportSession {
            sport: Sport::Handball,
            session: practice(date, 17, 90),
        }
    }

    /// So many handball sessions a month, from August on.
    fn handball(a_month: &[i8]) -> Vec<SportSession<Sport>> {
        let mut first = YEAR;
        let mut sessions = Vec::new();
        for number in a_month {
            let days = (1..=*number).map(|day| date(first.year(), first.month(), day));
            sessions.extend(days.map(handball_on));
            first = first.last_of_month().tomorrow().unwrap();
        }
        sessions
    }

    fn year(sessions: &[SportSession<Sport>], member_since: Date) -> Vec<SportMonths<Sport>> {
        let organised = [Setting::Club, Setting::SecondClub].into_iter().collect();
        sport_months(sessions, &organised, member_since, YEAR)
    }

    fn first(sessions: &[SportSession<Sport>], member_since: Date) -> (Bounds<u8>, Outcome) {
        let of_year = year(sessions, member_since)[0];
        (of_year.months, of_year.outcome)
    }

    #[test]
    fn eight_months_are_within_and_nine_are_over() {
        assert_eq!(
            first(&handball(&[4; 8]), YEAR),
            (Bounds::exact(8), Outcome::NotRaised)
        );
        assert_eq!(
            first(&handball(&[4; 9]), YEAR),
            (Bounds::exact(9), Outcome::Raised(Certainty::Certain))
        );
        let three_in_the_ninth = handball(&[4, 4, 4, 4, 4, 4, 4, 4, 3]);
        assert_eq!(first(&three_in_the_ninth, YEAR).0, Bounds::exact(8));
    }

    #[test]
    fn an_unlogged_session_may_make_a_month() {
        let mut sessions = handball(&[4, 4, 4, 4, 4, 4, 4, 4, 3]);
        let fourth = handball_on(date(2027, 4, 30));
        sessions.push(SportSession {
            session: unlogged(fourth.session),
            ..fourth
        });
        let (months, outcome) = first(&sessions, YEAR);
        assert_eq!((months.low, months.point, months.high), (8, 8, 9));
        assert_eq!(outcome, Outcome::Raised(Certainty::Possible));
    }

    #[test]
    fn sports_are_counted_apart_and_only_where_organised() {
        let mut sessions = handball(&[4]);
        for day in 1..=4 {
            let day = date(2027, 7, day);
            let by = |setting| run_by(setting, practice(day, 17, 90));
            sessions.push(SportSession {
                sport: Sport::Swimming,
                session: by(Setting::SecondClub),
            });
            sessions.push(SportSession {
                sport: Sport::Handball,
                session: by(Setting::Free),
            });
        }
        let found = year(&sessions, YEAR);
        let months: Vec<_> = found.iter().map(|it| (it.sport, it.months.point)).collect();
        assert_eq!(months, [(Sport::Handball, 1), (Sport::Swimming, 1)]);
    }

    #[test]
    fn dates_outside_the_year_do_not_count() {
        let before = date(2026, 7, 31);
        let after = date(2027, 8, 1);
        let sessions = [before, after].map(handball_on);
        assert_eq!(year(&sessions, before), []);
    }

    #[test]
    fn months_before_membership_are_never_taken_for_months_off() {
        let sessions = handball(&[0, 0, 4, 4, 4, 4, 4, 4, 4]);
        let since = |member_since| first(&sessions, member_since).1;
        let unknown = Outcome::NotComputable(Reason::FewerThan12Months);
        assert_eq!(since(date(2026, 10, 1)), unknown, "7 months and perhaps 2");
        assert_eq!(since(date(2026, 9, 1)), Outcome::NotRaised, "perhaps 1");
        assert_eq!(since(date(2026, 9, 2)), unknown, "a day of September");
        assert_eq!(since(YEAR), Outcome::NotRaised);
    }

    #[test]
    fn a_month_known_in_part_counts_with_what_is_known_of_it() {
        let from_the_second = |a_month: &[i8]| first(&handball(a_month), date(2026, 8, 2));
        let enough = from_the_second(&[5, 4, 4, 4, 4, 4, 4, 4]);
        assert_eq!(enough, (Bounds::exact(8), Outcome::NotRaised));
        let too_few = from_the_second(&[4, 4, 4, 4, 4, 4, 4, 4]);
        assert_eq!(too_few, (Bounds::exact(7), Outcome::NotRaised));
    }
}
