//! The weekly list: only the athletes about whom somebody has to decide something, in order, one
//! plain sentence each.

use std::cmp::Reverse;

use crate::entry::{AthleteWeek, Entry, Finding, entry};
use crate::exact::Fraction;
use crate::judge::{Certainty, Judgement};
use crate::policy::Policy;
use crate::sentence;

/// Athletes without any entry who are named one by one; more, where logging is poor, are one line.
pub const MOST_NAMED: usize = 3;

/// The list of one week.
#[derive(Clone, Debug)]
pub struct WeeklyList<K> {
    /// The entries, in order.
    pub entries: Vec<Entry<K>>,
    /// One line for all, where most of the sessions expected are not logged.
    pub mostly_unlogged: Option<MostlyUnlogged<K>>,
    /// How many athletes are not on it.
    pub not_listed: usize,
    /// How many logged nothing although sessions were expected.
    pub nothing_logged: usize,
    /// Without a policy there is nothing to judge by, and the list is empty for that reason.
    pub has_policy: bool,
}

/// More than half of the sessions expected of all the athletes are not logged: that is for the squad
/// as a whole to hear.
#[derive(Clone, Debug)]
pub struct MostlyUnlogged<K> {
    /// Sessions expected in the week, of all.
    pub expected: u32,
    /// Those of them that are not logged.
    pub unlogged: u32,
    /// Athletes who logged nothing and who, being more than a few, are not named one by one.
    pub athletes: Vec<K>,
    /// One plain sentence.
    pub sentence: String,
}

/// The weekly list of some athletes.
///
/// Order: certain, possible, nothing logged, not computable; within these by AU over the limit,
/// the most first; then by name and key.
#[must_use]
pub fn weekly_list<K: Ord>(
    policy: Option<&Policy>,
    athletes: Vec<AthleteWeek<K>>,
) -> WeeklyList<K> {
    let all = athletes.len();
    let weeks = || athletes.iter().map(|athlete| &athlete.figures);
    let nothing_logged = weeks().filter(|week| week.nothing_logged()).count();
    let expected: u32 = weeks().map(|week| week.expected).sum();
    let unlogged: u32 = weeks().map(|week| week.unlogged).sum();
    let mut entries: Vec<Entry<K>> = match policy {
        Some(_) => athletes.into_iter().filter_map(entry).collect(),
        None => Vec::new(),
    };
    entries.sort_by(|a, b| {
        rank(a)
            .cmp(&rank(b))
            .then_with(|| a.display_name.cmp(&b.display_name))
            .then_with(|| a.key.cmp(&b.key))
    });
    let mut mostly_unlogged = (2 * unlogged > expected).then(|| MostlyUnlogged {
        expected,
        unlogged,
        athletes: Vec::new(),
        sentence: sentence::mostly_unlogged(expected, unlogged, nothing_logged),
    });
    if let Some(line) = &mut mostly_unlogged {
        line.athletes = without_a_log(&mut entries);
    }
    let named = entries.len()
        + mostly_unlogged
            .as_ref()
            .map_or(0, |line| line.athletes.len());
    WeeklyList {
        not_listed: all - named,
        entries,
        mostly_unlogged,
        nothing_logged,
        has_policy: policy.is_some(),
    }
}

/// Takes the athletes who logged nothing out of the entries where they are more than a few.
fn without_a_log<K>(entries: &mut Vec<Entry<K>>) -> Vec<K> {
    let nothing = |entry: &Entry<K>| entry.finding == Finding::NothingLogged;
    if entries.iter().filter(|entry| nothing(entry)).count() <= MOST_NAMED {
        return Vec::new();
    }
    let taken = entries.extract_if(.., |entry| nothing(entry));
    taken.map(|entry| entry.key).collect()
}

fn rank<K>(entry: &Entry<K>) -> (u8, Reverse<Option<Fraction>>) {
    let group = match (entry.finding, entry.certainty) {
        (Finding::NothingLogged, _) => 2,
        (_, Some(Certainty::Certain)) => 0,
        (_, Some(Certainty::Possible)) => 1,
        (_, None) => 3,
    };
    (group, Reverse(entry.judgement.as_ref().and_then(most_over)))
}

/// How far over its limit a rule is at most: as logged where that is certain, at the high end
/// where it is possible. `None` for a rule whose limit is not a load.
fn most_over(judgement: &Judgement) -> Option<Fraction> {
    let over_by = judgement.over_by_au?;
    match judgement.certainty() {
        Some(Certainty::Certain) => Some(over_by.point),
        _ => Some(over_by.high),
    }
}
