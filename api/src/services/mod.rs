//! What happens between a route and the store, where that is more than one call.

pub mod absences;
pub mod athletes;
pub mod audit;
pub mod clubs;
pub mod day_totals;
pub mod fields;
pub mod figures;
pub mod flags;
pub mod local_time;
pub mod members;
pub mod people;
pub mod policy;
pub mod reach;
pub mod rest_days;
pub mod revocations;
pub mod series;
pub mod sessions;
pub mod squads;
pub mod text;
pub mod weekly_close;
pub mod weekly_list;
pub mod write;
pub mod zones;
