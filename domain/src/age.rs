//! Completed years of age.

use jiff::civil::Date;

/// From how many years on ratings are taken as dependable. Common practice, no source: "about 12 years".
pub const RATES_DEPENDABLY_FROM: u8 = 12;

/// The date on which somebody completes so many years; `None` beyond the calendar. Born on 29 February
/// she completes a year on 1 March where there is no 29 February; some laws say 28 February.
#[must_use]
pub fn birthday(born: Date, years: u8) -> Option<Date> {
    let year = born.year().checked_add(i16::from(years))?;
    let same = Date::new(year, born.month(), born.day());
    same.or_else(|_| Date::new(year, 3, 1)).ok()
}

/// Completed years of age on a date; `None` before the day of birth, or beyond 255 years.
///
/// ```
/// use jiff::civil::date;
/// use plimsoll_domain::age::completed_years;
/// let born = date(2012, 2, 29);
/// assert_eq!(completed_years(born, date(2027, 2, 28)), Some(14));
/// assert_eq!(completed_years(born, date(2027, 3, 1)), Some(15));
/// assert_eq!(completed_years(born, date(2012, 2, 28)), None);
/// ```
#[must_use]
pub fn completed_years(born: Date, on: Date) -> Option<u8> {
    let years = u8::try_from(on.year() - born.year()).ok()?;
    if birthday(born, years)? <= on {
        Some(years)
    } else {
        years.checked_sub(1)
    }
}

/// Whether she is too young on a date for her ratings to be relied on by themselves. Nobody's birth date
/// being known, nothing is said.
///
/// ```
/// use jiff::civil::date;
/// use plimsoll_domain::age::rates_less_dependably;
/// let born = Some(date(2014, 11, 9));
/// assert!(rates_less_dependably(born, date(2026, 11, 8)));
/// assert!(!rates_less_dependably(born, date(2026, 11, 9)));
/// assert!(!rates_less_dependably(None, date(2026, 11, 8)));
/// ```
#[must_use]
pub fn rates_less_dependably(born: Option<Date>, on: Date) -> bool {
    let from = born.and_then(|born| birthday(born, RATES_DEPENDABLY_FROM));
    from.is_some_and(|from| on < from)
}
