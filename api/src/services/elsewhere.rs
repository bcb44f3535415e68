//! What an athlete does in organisations that are not this club: the totals that some share, and how many do not.
//!
//! Shared totals count as a second club. What she reports herself of a second club counts too, and may be the same sessions: of a
//! date that has both, the lower bound takes the larger only, as with sessions that overlap.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::Date;
use plimsoll_domain::Setting;

use crate::error::Problem;
use crate::ids::AthleteId;
use crate::store::day_totals::{DayTotal, Totals};
use crate::store::shared_day_totals::{self, SharedTotal};
use crate::store::sharing_links::{self, SharingLink};
use crate::store::{Conn, Known, Tenant, Who};

/// What is known of one athlete's other organisations.
#[derive(Debug, Clone, Default)]
pub struct Elsewhere {
    /// What is shared of her days, by date.
    pub shared: Vec<SharedTotal>,
    /// The organisations that share nothing, as her family calls them.
    pub not_shared: Vec<String>,
}

/// Reads it for athletes, for the shared totals of `dates`.
pub fn read(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    dates: (Date, Date),
    (known, now): (Known, Timestamp),
) -> Result<BTreeMap<AthleteId, Elsewhere>, Problem> {
    let mut elsewhere: BTreeMap<AthleteId, Elsewhere> = BTreeMap::new();
    let links = sharing_links::of(conn, tenant, who)?;
    // So it is in most clubs.
    if links.is_empty() {
        return Ok(elsewhere);
    }
    let at = match known {
        Known::Now => now,
        Known::AsOf(at) => at,
    };
    for link in links.into_iter().filter(|link| is_silent(link, at)) {
        let of_athlete = elsewhere.entry(link.athlete_id).or_default();
        of_athlete.not_shared.push(link.organisation.into_inner());
    }
    for shared in shared_day_totals::in_dates(conn, tenant, who, dates, known)? {
        let of_athlete = elsewhere.entry(shared.athlete_id).or_default();
        of_athlete.shared.push(shared);
    }
    Ok(elsewhere)
}

/// Whether an organisation that was known of then shared nothing, or shares nothing of then any more.
fn is_silent(link: &SharingLink, at: Timestamp) -> bool {
    let was_known = link.made_at <= at && link.left_at.is_none_or(|left| at < left);
    let shares = link.linked_at.is_some_and(|linked| linked <= at) && link.ended_at.is_none();
    was_known && !shares
}

/// An athlete's totals with what is shared, by date and setting.
pub fn with_shared(
    totals: Vec<DayTotal>,
    athlete_id: AthleteId,
    shared: &[SharedTotal],
) -> Vec<DayTotal> {
    if shared.is_empty() {
        return totals;
    }
    let own = totals
        .into_iter()
        .map(|row| ((row.date, row.setting), row.totals));
    let mut all: BTreeMap<(Date, Setting), Totals> = own.collect();
    let mut added: BTreeMap<Date, (i64, i32)> = BTreeMap::new();
    for one in shared {
        let (load_half, minutes) = added.entry(one.date).or_default();
        *load_half += one.load_half;
        *minutes += one.minutes;
    }
    for (date, (load_half, minutes)) in added {
        let totals = all.entry((date, Setting::SecondClub)).or_default();
        totals.low_half = totals.low_half.max(load_half);
        totals.logged_half += load_half;
        totals.high_half += load_half;
        totals.minutes += minutes;
        totals.sessions += 1;
    }
    let row = |((date, setting), totals)| DayTotal {
        athlete_id,
        date,
        setting,
        totals,
    };
    all.into_iter().map(row).collect()
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    fn nobody() -> AthleteId {
        uuid::Uuid::nil().into()
    }

    fn row(day: i8, setting: Setting, half_au: i64) -> DayTotal {
        DayTotal {
            athlete_id: nobody(),
            date: date(2026, 11, day),
            setting,
            totals: Totals {
                logged_half: half_au,
                low_half: half_au,
                high_half: half_au,
                minutes: 60,
                sessions: 1,
                ..Totals::default()
            },
        }
    }

    fn shared(day: i8, half_au: i64) -> SharedTotal {
        SharedTotal {
            link_id: uuid::Uuid::nil().into(),
            athlete_id: nobody(),
            date: date(2026, 11, day),
            load_half: half_au,
            minutes: 90,
        }
    }

    #[test]
    fn shared_totals_count_as_a_second_club() {
        let own = vec![row(9, Setting::Club, 600), row(11, Setting::Club, 400)];
        let all = with_shared(own.clone(), nobody(), &[shared(9, 500), shared(10, 700)]);
        let seen: Vec<_> = all
            .iter()
            .map(|row| (row.date.day(), row.setting, row.totals.logged_half))
            .collect();
        let expected = [
            (9, Setting::Club, 600),
            (9, Setting::SecondClub, 500),
            (10, Setting::SecondClub, 700),
            (11, Setting::Club, 400),
        ];
        assert_eq!(seen, expected);
        assert_eq!(with_shared(own.clone(), nobody(), &[]), own);
    }

    #[test]
    fn what_she_reports_too_is_in_the_lower_bound_once() {
        let all = with_shared(
            vec![row(9, Setting::SecondClub, 600)],
            nobody(),
            &[shared(9, 500)],
        );
        let totals = all[0].totals;
        assert_eq!(
            (totals.low_half, totals.logged_half, totals.high_half),
            (600, 1_100, 1_100)
        );
        assert_eq!((totals.minutes, totals.sessions), (150, 2));
    }

    #[test]
    fn an_organisation_is_silent_from_when_it_is_known_till_it_shares_or_she_leaves() {
        let at = |second: i64| Timestamp::from_second(second).unwrap();
        let link = SharingLink {
            link_id: uuid::Uuid::nil().into(),
            athlete_id: nobody(),
            organisation: "Fjordby Gymnastics".to_owned().into(),
            code_hash: vec![],
            code_until: at(99),
            made_at: at(1),
            linked_at: Some(at(3)),
            linked_seq: Some(1),
            ended_at: None,
            left_at: Some(at(9)),
            version: 2,
        };
        let silent =
            |link: &SharingLink| [0, 1, 2, 3, 8, 9].map(|second| is_silent(link, at(second)));
        assert_eq!(silent(&link), [false, true, true, false, false, false]);
        // Withdrawn, it is silent about the past too.
        let ended = SharingLink {
            ended_at: Some(at(5)),
            ..link
        };
        assert_eq!(silent(&ended), [false, true, true, true, true, false]);
    }
}
