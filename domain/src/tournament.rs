//! The games of a tournament or a weekend, by the day and in all.
//!
//! As logged, an unlogged game was not played; the most is with every one of them at its planned
//! minutes. Two games a day are the most in youth basketball (DiFiori JP, et al. 2018, Sports Med
//! 48(9):2053-2065, Table 4); tournaments of short games are played otherwise, so the minutes stand
//! beside them.

use jiff::ToSpan;
use jiff::civil::Date;

use crate::game_density::{Games, games};
use crate::judge::Outcome;
use crate::session_time::SessionTime;

/// The most games a day in youth basketball.
pub const GAMES_A_DAY: u32 = 2;

/// One day of a tournament.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct GameDay {
    /// The load date.
    pub date: Date,
    /// Its games.
    pub played: Games,
}

impl GameDay {
    /// Whether there are more than [`GAMES_A_DAY`].
    #[must_use]
    pub fn over_games_a_day(self) -> Outcome {
        let games = self.played.games;
        Outcome::of(games.low > GAMES_A_DAY, games.high > GAMES_A_DAY)
    }
}

/// The games of consecutive days.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tournament {
    /// Every date from the first to the last, those without a game included.
    pub days: Vec<GameDay>,
    /// All of them.
    pub total: Games,
}

/// The games of the dates from `first` to `last`. Sessions of other kinds are passed over.
#[must_use]
pub fn tournament(sessions: &[SessionTime], first: Date, last: Date) -> Tournament {
    let on = |dates: std::ops::RangeInclusive<Date>| {
        let mut games = games(sessions);
        games.retain(|game| dates.contains(&game.slot.date));
        Games::of(&games)
    };
    let dates = first.series(1.day()).take_while(|date| *date <= last);
    let days = dates.map(|date| GameDay {
        date,
        played: on(date..=date),
    });
    Tournament {
        days: days.collect(),
        total: on(first..=last),
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::figure::Bounds;
    use crate::judge::Certainty;
    use crate::session::Kind;
    use crate::session_time::examples::{self, unlogged};

    /// A game of half an hour on a November day, the first of its day at 10.
    fn game(day: i8, place: i64) -> SessionTime {
        examples::game(date(2026, 11, day), 9 + place, 30)
    }

    fn from_7_to_9(games: &[SessionTime]) -> Tournament {
        tournament(games, date(2026, 11, 7), date(2026, 11, 9))
    }

    #[test]
    fn every_day_is_listed_with_its_games() {
        let games = [game(7, 1), game(9, 1), game(9, 2), game(10, 1)];
        let found = from_7_to_9(&games);
        let days = found.days.iter().map(|day| day.played.games);
        assert!(days.eq([1, 0, 2].map(Bounds::exact)));
        assert_eq!(found.total.games, Bounds::exact(3));
        assert_eq!(found.total.minutes, Bounds::exact(90));
        let backwards = tournament(&games, date(2026, 11, 9), date(2026, 11, 7));
        assert_eq!(
            (backwards.days, backwards.total),
            (vec![], Games::default())
        );
    }

    #[test]
    fn more_than_two_a_day_are_over() {
        let over = |third: Option<SessionTime>| {
            let games: Vec<_> = [game(8, 1), game(8, 2)].into_iter().chain(third).collect();
            from_7_to_9(&games).days[1].over_games_a_day()
        };
        assert_eq!(over(None), Outcome::NotRaised);
        let third = game(8, 3);
        assert_eq!(over(Some(third)), Outcome::Raised(Certainty::Certain));
        let open = unlogged(third);
        assert_eq!(over(Some(open)), Outcome::Raised(Certainty::Possible));
    }

    #[test]
    fn practice_is_no_game() {
        let practice = SessionTime {
            kind: Kind::Practice,
            ..game(8, 1)
        };
        assert_eq!(from_7_to_9(&[practice]).total, Games::default());
    }
}
