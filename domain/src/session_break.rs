//! Time from the end of one session to the start of the next.
//!
//! In hours, exactly: start of the next less the latest end of those that started before it, over 3600
//! seconds. As logged, an unlogged session was not held; if it was, the break is shorter. A break below
//! zero means that the two overlap, which is for a person to look at.
//!
//! A second session on the same date is near where less than [`NEAR_HOURS`] hours lie between. Two
//! practices on one day at least three hours apart: Casa DJ, Csillan D, et al. (2009) J Athl Train
//! 44(3):332-333, about the first 14 days of practice in the heat; taken for other days by common
//! practice, no source.

use jiff::civil::Date;

use crate::exact::Fraction;
use crate::figure::Figure;
use crate::game_density::games;
use crate::judge::{Certainty, Outcome};
use crate::reason::Reason;
use crate::session_time::SessionTime;

/// A second session on one date is near below so many hours.
pub const NEAR_HOURS: i64 = 3;

/// A session and the break before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BreakBefore {
    /// The session after the break.
    pub session: SessionTime,
    /// Its length in hours. Low: every unlogged session was held.
    pub hours: Figure<Fraction>,
}

/// Hours from the end of the last game to `start`, in seconds of the scale of the sessions. Sessions of
/// other kinds are passed over.
///
/// Missing with [`Reason::NothingBefore`] where no game that is known started earlier; its lower end
/// exists where one is unlogged.
#[must_use]
pub fn hours_since_game(sessions: &[SessionTime], start: i64) -> Figure<Fraction> {
    hours_since(games(sessions).iter(), start)
}

/// Each game with the hours since the one before, in the order of their starts.
#[must_use]
pub fn breaks_between_games(sessions: &[SessionTime]) -> Vec<BreakBefore> {
    let games = games(sessions);
    let before = |game: &SessionTime| BreakBefore {
        session: *game,
        hours: hours_since(games.iter(), game.slot.start),
    };
    games.iter().map(before).collect()
}

/// A second session near the one before it on the same date.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NearSession {
    /// The load date.
    pub date: Date,
    /// The second session with the break before it.
    pub second: BreakBefore,
    /// Certain where both sessions are known.
    pub certainty: Certainty,
}

/// The sessions less than [`NEAR_HOURS`] hours after another one of the same date, of any kind and
/// setting given, in the order of their starts.
#[must_use]
pub fn near_sessions(sessions: &[SessionTime]) -> Vec<NearSession> {
    let mut by_start = sessions.to_vec();
    by_start.sort_by_key(|session| session.slot.start);
    by_start
        .iter()
        .filter_map(|second| near(&by_start, second))
        .collect()
}

fn near(sessions: &[SessionTime], second: &SessionTime) -> Option<NearSession> {
    let date = second.slot.date;
    let same_date = sessions.iter().filter(|session| session.slot.date == date);
    let hours = hours_since(same_date, second.slot.start);
    let is_near =
        |hours: Option<Fraction>| hours.is_some_and(|it| it < Fraction::whole(NEAR_HOURS));
    let certain = second.is_known() && is_near(hours.high);
    let Outcome::Raised(certainty) = Outcome::of(certain, is_near(hours.low)) else {
        return None;
    };
    Some(NearSession {
        date,
        second: BreakBefore {
            session: *second,
            hours,
        },
        certainty,
    })
}

fn hours_since<'a>(
    sessions: impl Iterator<Item = &'a SessionTime> + Clone,
    start: i64,
) -> Figure<Fraction> {
    let earlier = sessions.filter(|session| session.slot.start < start);
    let known = earlier.clone().filter(|session| session.is_known());
    let since_last = |end: Option<i64>| end.map(|end| Fraction::over::<3600>(start - end));
    let held = since_last(known.map(|session| session.slot.end).max());
    Figure {
        low: since_last(earlier.map(|session| session.slot.end).max()),
        point: held,
        high: held,
        reason: held.is_none().then_some(Reason::NothingBefore),
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::session::Kind;
    use crate::session_time::examples::{self, practice, unlogged};

    const DAY: Date = date(2026, 11, 7);
    const NEXT: Date = date(2026, 11, 8);

    /// A game of an hour.
    fn game(on: Date, hour: i64) -> SessionTime {
        examples::game(on, hour, 60)
    }

    fn hours(hours: i64) -> Figure<Fraction> {
        Figure::exact(Fraction::whole(hours))
    }

    #[test]
    fn breaks_run_from_the_last_end() {
        let games = [
            game(NEXT, 10),
            practice(DAY, 17, 60),
            game(DAY, 10),
            game(DAY, 15),
        ];
        let found = breaks_between_games(&games);
        let found: Vec<_> = found.iter().map(|game| game.hours).collect();
        let first = Figure::none(Reason::NothingBefore);
        assert_eq!(found, [first, hours(4), hours(18)]);
        let long_one_before = [examples::game(DAY, 10, 360), game(DAY, 11)];
        let start = game(DAY, 20).slot.start;
        assert_eq!(hours_since_game(&long_one_before, start), hours(4));
    }

    #[test]
    fn an_unlogged_game_in_between_shortens_the_least_break() {
        let open = unlogged(game(DAY, 15));
        let since = |games: &[SessionTime]| hours_since_game(games, game(DAY, 20).slot.start);
        let both = since(&[game(DAY, 10), open]);
        assert_eq!(both.low, hours(4).low);
        assert_eq!((both.point, both.high), (hours(9).point, hours(9).high));
        let alone = since(&[open]);
        assert_eq!((alone.low, alone.point), (hours(4).low, None));
        assert_eq!(alone.reason, Some(Reason::NothingBefore));
    }

    #[test]
    fn three_hours_between_are_enough() {
        let with = |second| near_sessions(&[game(DAY, 10), game(DAY, second)]);
        assert_eq!(with(14), []);
        let found = with(13);
        assert_eq!(found[0].certainty, Certainty::Certain);
        assert_eq!(found[0].second.hours, hours(2));
        assert_eq!(found.len(), 1);
    }

    #[test]
    fn sessions_of_two_dates_are_not_near() {
        assert_eq!(near_sessions(&[game(DAY, 23), game(NEXT, 1)]), []);
    }

    #[test]
    fn any_kind_counts_and_overlapping_sessions_show_a_break_below_zero() {
        let strength = SessionTime {
            kind: Kind::Strength,
            ..practice(DAY, 11, 60)
        };
        let found = near_sessions(&[practice(DAY, 10, 120), strength]);
        assert_eq!(found[0].second.hours, hours(-1));
    }

    #[test]
    fn a_near_session_is_certain_only_where_both_are_known() {
        let open = unlogged(practice(DAY, 12, 60));
        let certainty = |sessions: &[SessionTime]| {
            let found = near_sessions(sessions);
            found.iter().map(|near| near.certainty).collect::<Vec<_>>()
        };
        assert_eq!(certainty(&[game(DAY, 10), open]), [Certainty::Possible]);
        assert_eq!(certainty(&[open, game(DAY, 14)]), [Certainty::Possible]);
        assert_eq!(
            certainty(&[game(DAY, 13), open, game(DAY, 10)]),
            [Certainty::Possible, Certainty::Certain],
            "two hours after the known one, whether or not the open one was held"
        );
    }
}
