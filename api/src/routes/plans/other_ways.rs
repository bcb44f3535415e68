//! Ways out other than cuts, as they are sent.

use jiff::civil::Date;
use serde::Serialize;
use utoipa::ToSchema;

use super::numbers::{four, wide};
use crate::services::plans::changes::{BuildUpAnswer, FewerGames, FoundMove};

/// More load in the three weeks before one that is short, or why that is not offered.
#[derive(Debug, Serialize, ToSchema)]
pub struct BuildUpOffer {
    /// The week that is short.
    pub week: String,
    /// Why it is not offered: weeks_before_are_done, restricted, returning, age_not_known, under_policy_age,
    /// over_hours or hours_not_known.
    #[schema(value_type = Option<String>)]
    pub not_offered: Option<&'static str>,
    /// The least that the three weeks before would need more, all together.
    pub extra_au: Option<f64>,
    /// That and what is cut of the week.
    pub total_change_au: Option<f64>,
    /// The most they can have more, each within its own limit; null where that cannot be checked.
    pub room_au: Option<f64>,
    /// Whether the extra load fits into that; null where it cannot be checked.
    pub fits: Option<bool>,
}

/// A move of one session.
#[derive(Debug, Serialize, ToSchema)]
pub struct BestMove {
    /// Where it stands in what was sent, an RFC 6901 pointer.
    pub place: String,
    /// What it is called.
    pub name: Option<String>,
    /// Its date as planned.
    #[schema(value_type = String, format = Date)]
    pub date: Date,
    /// How many days later; negative for earlier.
    pub days: i8,
    /// AU above the limit in all weeks as planned.
    pub over_before_au: f64,
    /// The same after the move.
    pub over_after_au: f64,
}

/// How many games of a week fit.
#[derive(Debug, Serialize, ToSchema)]
pub struct FewerGamesOffer {
    /// The week.
    pub week: String,
    /// What the limit leaves for games after what else is fixed.
    pub left_au: f64,
    /// Games that are fixed.
    pub games: u32,
    /// The load of the heaviest.
    pub heaviest_game_au: f64,
    /// How many fit, each being taken as heavy as that.
    pub games_that_fit: u32,
}

impl BuildUpOffer {
    /// What was found for one week.
    pub fn of(offer: &BuildUpAnswer) -> Self {
        let found = offer.found.as_ref().ok();
        let room = found.and_then(|found| found.room.as_ref());
        let extra = found.map(|found| wide(&found.extra));
        Self {
            week: offer.week.to_string(),
            not_offered: offer.found.as_ref().err().copied(),
            extra_au: extra,
            total_change_au: found.map(|found| wide(&found.extra.plus(&offer.cut))),
            room_au: room.map(wide),
            fits: room.and(found).map(|found| found.fits()),
        }
    }
}

impl BestMove {
    /// What was found.
    pub fn of(moved: &FoundMove) -> Self {
        Self {
            place: moved.session.place.clone(),
            name: moved.session.name.clone(),
            date: moved.session.session.date,
            days: moved.found.days,
            over_before_au: four(moved.found.excess_before),
            over_after_au: four(moved.found.excess_after),
        }
    }
}

impl FewerGamesOffer {
    /// What was found for one week.
    pub fn of(offer: &FewerGames) -> Self {
        Self {
            week: offer.week.to_string(),
            left_au: wide(&offer.left),
            games: offer.games,
            heaviest_game_au: offer.heaviest.to_au(),
            games_that_fit: offer.fitting,
        }
    }
}
