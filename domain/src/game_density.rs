//! How close together games lie: games and game minutes in any rolling window.
//!
//! A game belongs wholly to its start, as a session belongs wholly to the date of its start: a window
//! of h hours holds the games that start within it, its own end excluded, so two games that start
//! exactly 24 hours apart lie in no window of 24 hours. As logged, an unlogged game was not played; the
//! most is with every one of them at its planned minutes. Common practice, no source.
//! No published limit on games in these windows is known to this page, so none is judged.

use jiff::civil::Date;

use crate::coded::coded_enum;
use crate::figure::Bounds;
use crate::session::Kind;
use crate::session_time::{SessionTime, total_minutes};

coded_enum! {
    /// A rolling window of time.
    RollingWindow {
        /// 24 hours.
        Hours24 = "24_hours",
        /// 48 hours.
        Hours48 = "48_hours",
        /// 72 hours.
        Hours72 = "72_hours",
        /// 7 days of 24 hours.
        Days7 = "7_days",
    }
}

impl RollingWindow {
    /// Its length in hours.
    #[must_use]
    pub const fn hours(self) -> i64 {
        match self {
            RollingWindow::Hours24 => 24,
            RollingWindow::Hours48 => 48,
            RollingWindow::Hours72 => 72,
            RollingWindow::Days7 => 7 * 24,
        }
    }
}

/// Games and their minutes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Games {
    /// How many.
    pub games: Bounds<u32>,
    /// Minutes attended, warm-up included where the club counts it.
    pub minutes: Bounds<u32>,
}

impl Games {
    pub(crate) fn of(games: &[SessionTime]) -> Games {
        let number = games.iter().map(|game| game.attended.sessions());
        Games {
            games: number.fold(Bounds::default(), |sum, game| sum + game),
            minutes: total_minutes(games.iter()),
        }
    }

    /// The larger of each end of each count.
    fn max(self, other: Games) -> Games {
        let max = |one: Bounds<u32>, other: Bounds<u32>| Bounds {
            low: one.low.max(other.low),
            point: one.point.max(other.point),
            high: one.high.max(other.high),
        };
        Games {
            games: max(self.games, other.games),
            minutes: max(self.minutes, other.minutes),
        }
    }
}

/// The most games, and the most game minutes, in any window of this length. The two may be those of
/// different windows. Sessions of other kinds are passed over.
///
/// ```
/// use jiff::civil::date;
/// use plimsoll_domain::game_density::{RollingWindow, densest};
/// use plimsoll_domain::{Attended, Kind, Minutes, SessionTime, Setting, Slot};
/// let game = |day: i8, hour: i64| SessionTime {
///     slot: Slot {
///         date: date(2026, 11, day),
///         start: (24 * i64::from(day) + hour) * 3600,
///         end: (24 * i64::from(day) + hour + 1) * 3600,
///         setting: Setting::Club,
///     },
///     kind: Kind::Game,
///     attended: Attended::Known(Minutes::new(60).unwrap()),
/// };
/// let weekend = [game(7, 16), game(8, 11)];
/// let most = densest(&weekend, RollingWindow::Hours24);
/// assert_eq!((most.games.point, most.minutes.point), (2, 120));
/// ```
#[must_use]
pub fn densest(sessions: &[SessionTime], window: RollingWindow) -> Games {
    let games = games(sessions);
    let length = window.hours() * 3600;
    // The fullest window can always be moved so that it begins with a game.
    let windows = games.iter().enumerate().map(|(at, first)| {
        let from_first = &games[at..];
        let end = first.slot.start + length;
        &from_first[..from_first.partition_point(|game| game.slot.start < end)]
    });
    windows
        .map(Games::of)
        .fold(Games::default(), |most, window| most.max(window))
}

/// The most games, and the most game minutes, in any window of this length that ends with a game on `from` or later: what a week
/// made fuller, without what the week before was by itself.
#[must_use]
pub fn densest_ending(sessions: &[SessionTime], window: RollingWindow, from: Date) -> Games {
    let games = games(sessions);
    let length = window.hours() * 3600;
    let ends = (0..games.len()).filter(|at| games[*at].slot.date >= from);
    let windows = ends.map(|at| {
        let until = &games[..=at];
        let after = games[at].slot.start - length;
        &until[until.partition_point(|game| game.slot.start <= after)..]
    });
    windows
        .map(Games::of)
        .fold(Games::default(), |most, window| most.max(window))
}

/// The games in the order of their starts.
pub(crate) fn games(sessions: &[SessionTime]) -> Vec<SessionTime> {
    let games = sessions.iter().filter(|session| session.kind == Kind::Game);
    let mut games: Vec<SessionTime> = games.copied().collect();
    games.sort_by_key(|game| game.slot.start);
    games
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::session_time::examples::{self, practice, unlogged};

    /// A game at an hour of a November day.
    fn game(day: i8, hour: i64, minutes: i64) -> SessionTime {
        examples::game(date(2026, 11, day), hour, minutes)
    }

    fn counts(sessions: &[SessionTime]) -> Vec<(u32, u32)> {
        let windows = RollingWindow::ALL.iter();
        let most = windows.map(|window| densest(sessions, *window));
        most.map(|most| (most.games.point, most.minutes.point))
            .collect()
    }

    #[test]
    fn a_window_that_ends_before_the_date_does_not_count() {
        // Two games on a weekend, one on the Tuesday after it.
        let sessions = [game(7, 12, 60), game(7, 18, 40), game(10, 18, 60)];
        let of = |from| {
            let windows = RollingWindow::ALL.iter();
            let most = windows.map(|window| densest_ending(&sessions, *window, from));
            let counts = most.map(|most| (most.games.point, most.minutes.point));
            counts.collect::<Vec<_>>()
        };
        let monday = date(2026, 11, 9);
        assert_eq!(of(monday), [(1, 60), (1, 60), (1, 60), (3, 160)]);
        assert_eq!(of(date(2026, 11, 1)), counts(&sessions));
        assert_eq!(of(date(2026, 11, 11)), [(0, 0); 4]);
    }

    #[test]
    fn a_window_ends_before_its_last_instant() {
        let day_apart = [game(7, 12, 60), game(8, 12, 60)];
        assert_eq!(counts(&day_apart), [(1, 60), (2, 120), (2, 120), (2, 120)]);
        let week_apart = [game(7, 12, 60), game(14, 12, 60)];
        assert_eq!(counts(&week_apart), [(1, 60); 4]);
        let nearly = [game(7, 12, 60), game(14, 11, 60)];
        assert_eq!(counts(&nearly)[3], (2, 120));
    }

    #[test]
    fn the_most_games_and_the_most_minutes_may_lie_apart() {
        let short = [game(2, 10, 20), game(2, 12, 20), game(2, 14, 20)];
        let long = game(20, 10, 80);
        assert_eq!(counts(&[&short[..], &[long]].concat())[0], (3, 80));
    }

    #[test]
    fn other_kinds_are_passed_over_and_order_does_not_matter() {
        let practice = practice(date(2026, 11, 7), 10, 90);
        let sessions = [game(8, 11, 60), practice, game(7, 16, 60)];
        assert_eq!(counts(&sessions)[0], (2, 120));
        assert_eq!(counts(&[practice]), [(0, 0); 4]);
    }

    #[test]
    fn unlogged_games_count_at_the_upper_end_alone() {
        let open = unlogged(game(7, 16, 60));
        let most = densest(&[game(7, 12, 40), open], RollingWindow::Hours24);
        assert_eq!(
            (most.games.low, most.games.point, most.games.high),
            (1, 1, 2)
        );
        let minutes = most.minutes;
        assert_eq!((minutes.low, minutes.point, minutes.high), (40, 40, 100));
    }
}
