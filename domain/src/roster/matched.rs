//! What is wanted of one person's links against what is known of them.

use std::collections::BTreeSet;

use jiff::Span;
use jiff::civil::Date;

use super::link::{Dated, Link, LinkChange};

/// What is wanted of one person's links, each beside the known one that it is about.
#[derive(Debug)]
pub(super) struct Matched<'a, T> {
    known: &'a [Dated<T>],
    /// The wanted ones with their days, by place among the wanted.
    pub(super) wanted: Vec<Option<(Option<usize>, Dated<T>)>>,
    today: Date,
}

impl<'a, T: Clone + Ord> Matched<'a, T> {
    /// Finds for each wanted link the known one that it is about: of the same key, with the same first day; else one that it
    /// meets and begins before. Without a first day it is the one with the same end, else the one that is open. The wanted ones
    /// are in their order and each once.
    pub(super) fn of(
        known: &'a [Dated<T>],
        wanted: &[&Link<T>],
        today: Date,
        first_day: Date,
    ) -> Self {
        let mut taken = BTreeSet::new();
        let mut found: Vec<Option<usize>> = vec![None; wanted.len()];
        for exactly in [true, false] {
            for (at, link) in wanted.iter().enumerate() {
                if found[at].is_none() && !link.is_over {
                    let free = known.iter().enumerate().filter(|(place, one)| {
                        !taken.contains(place) && one.key.as_deref() == Some(link.key.as_str())
                    });
                    found[at] = counterpart(free, link, exactly, today);
                    taken.extend(found[at]);
                }
            }
        }
        let dated = wanted.iter().zip(found).map(|(link, known_at)| {
            let begins = known_at.map_or(today.max(first_day), |at| known[at].from);
            let dated = Dated {
                key: Some(link.key.clone()),
                from: link.from.unwrap_or(begins),
                to: link.to,
                terms: link.terms.clone(),
            };
            (!link.is_over).then_some((known_at, dated))
        });
        let mut matched = Self {
            known,
            wanted: dated.collect(),
            today,
        };
        matched.end_over(wanted);
        matched
    }

    /// Links that are over end with the day before; those that had ended or never were say nothing.
    fn end_over(&mut self, wanted: &[&Link<T>]) {
        let over: Vec<&str> = wanted
            .iter()
            .filter(|link| link.is_over)
            .map(|link| link.key.as_str())
            .collect();
        for (place, one) in self.known.iter().enumerate() {
            let is_wanted = self
                .wanted
                .iter()
                .flatten()
                .any(|(known, _)| *known == Some(place));
            let named = one.key.as_deref().is_some_and(|key| over.contains(&key));
            if named && !is_wanted && one.is_open(self.today) {
                let ended = Dated {
                    to: Some(day_before(self.today)),
                    ..one.clone()
                };
                self.wanted.push(Some((Some(place), ended)));
            }
        }
    }

    /// The known links that nothing wanted is about.
    pub(super) fn rest(&self) -> impl Iterator<Item = (usize, &Dated<T>)> {
        let about: BTreeSet<usize> = self
            .wanted
            .iter()
            .flatten()
            .filter_map(|(known, _)| *known)
            .collect();
        self.known
            .iter()
            .enumerate()
            .filter(move |(place, _)| !about.contains(place))
    }

    /// The last day of a known link of the rest: the day before one that is wanted in its place, else, where the roster names
    /// all, the day before today.
    pub(super) fn last_day(&self, rest: &Dated<T>, names_all: bool) -> Option<Date> {
        let wanted = self.wanted.iter().flatten().map(|(_, wanted)| wanted);
        let in_its_place = wanted.filter(|wanted| {
            wanted.key == rest.key && rest.from < wanted.from && rest.meets(wanted)
        });
        let replaced = in_its_place.map(|wanted| day_before(wanted.from)).min();
        let gone = names_all && rest.key.is_some() && rest.is_open(self.today);
        let left = gone.then(|| day_before(self.today));
        replaced.into_iter().chain(left).min()
    }

    /// What is to be done.
    pub(super) fn changes(&self, names_all: bool) -> Vec<LinkChange<T>> {
        let wanted = self
            .wanted
            .iter()
            .flatten()
            .filter_map(|(known, wanted)| match known {
                None => Some(LinkChange::Begin(wanted.clone())),
                Some(at) => changed(*at, &self.known[*at], wanted.clone()),
            });
        let rest = self.rest().filter_map(|(at, one)| {
            let to = Some(self.last_day(one, names_all)?);
            changed(at, one, Dated { to, ..one.clone() })
        });
        wanted.chain(rest).collect()
    }
}

fn changed<T: PartialEq>(
    known: usize,
    before: &Dated<T>,
    after: Dated<T>,
) -> Option<LinkChange<T>> {
    if after.to.is_some_and(|to| to < after.from) {
        return Some(LinkChange::Withdraw { known });
    }
    (*before != after).then_some(LinkChange::Change { known, to: after })
}

fn counterpart<'a, T: 'a>(
    free: impl Iterator<Item = (usize, &'a Dated<T>)>,
    wanted: &Link<T>,
    exactly: bool,
    today: Date,
) -> Option<usize> {
    let fits = |one: &Dated<T>| match (wanted.from, exactly) {
        (Some(from), true) => one.from == from,
        (Some(from), false) => from < one.from && wanted.to.is_none_or(|to| one.from <= to),
        (None, true) => one.to == wanted.to && (wanted.to.is_some() || one.is_open(today)),
        (None, false) => one.is_open(today),
    };
    free.filter(|(_, one)| fits(one))
        .map(|(at, one)| (one.from, at))
        .max()
        .map(|(_, at)| at)
}

pub(super) fn day_before(date: Date) -> Date {
    date.saturating_sub(Span::new().days(1))
}
