//! Somebody new who is perhaps somebody known: the same birth date and a similar name under another key.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::people::PersonPlan;
use super::{Current, Outcome};

/// A new person and somebody she may be. A proposal: twins and namesakes are two people.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SecondCopy {
    /// The place of the new one among the people of the plan.
    pub person: usize,
    /// Whom she may be.
    pub of: CopyOf,
}

/// Whom a new person may be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum CopyOf {
    /// A known athlete, by her place among them.
    Known(usize),
    /// Another new person of the same roster, by place among the people of the plan.
    New(usize),
}

/// The first whom each new person may be, known people before new ones. Names are compared within a birth date: the forms of all
/// names of a large club would not fit into memory.
pub(super) fn second_copies(current: &Current, people: &[PersonPlan]) -> Vec<SecondCopy> {
    let mut by_date: BTreeMap<Date, SameDate<'_>> = BTreeMap::new();
    for (at, person) in people.iter().enumerate() {
        if let (Some(date), Outcome::Created) = (person.details.birth_date, &person.outcome) {
            let same = by_date.entry(date).or_default();
            same.created.push((at, person.name()));
        }
    }
    for (at, person) in current.people.iter().enumerate() {
        let same = person.birth_date.and_then(|date| by_date.get_mut(&date));
        if let Some(same) = same {
            same.known.push((at, &person.name));
        }
    }
    let mut found: Vec<SecondCopy> = by_date.values().flat_map(SameDate::copies).collect();
    found.sort_unstable_by_key(|copy| copy.person);
    found
}

/// People of one birth date, by place and name.
#[derive(Default)]
struct SameDate<'a> {
    created: Vec<(usize, &'a str)>,
    known: Vec<(usize, &'a str)>,
}

impl SameDate<'_> {
    fn copies(&self) -> Vec<SecondCopy> {
        let known = self
            .known
            .iter()
            .map(|(at, name)| (CopyOf::Known(*at), name));
        let created = self
            .created
            .iter()
            .map(|(at, name)| (CopyOf::New(*at), name));
        let mut first: BTreeMap<String, CopyOf> = BTreeMap::new();
        for (of, name) in known.chain(created) {
            for form in forms(name) {
                first.entry(form).or_insert(of);
            }
        }
        let copy = |(at, name): &(usize, &str)| {
            let forms = forms(name).into_iter();
            let alike = forms.filter_map(|form| first.get(&form).copied());
            let of = alike.filter(|of| *of != CopyOf::New(*at)).min()?;
            Some(SecondCopy { person: *at, of })
        };
        self.created.iter().filter_map(copy).collect()
    }
}

/// Forms of a name of which similar names share one: the words in any order, the given name alone (a surname may be new), and
/// the whole with each letter left out in turn (a slip of one letter).
fn forms(name: &str) -> Vec<String> {
    let mut words: Vec<String> = name.split_whitespace().map(str::to_lowercase).collect();
    let given = words.first().map(|word| format!("given {word}"));
    let whole: Vec<char> = words.concat().chars().collect();
    words.sort_unstable();
    let without = |at: usize| {
        let letters = whole
            .iter()
            .enumerate()
            .filter(|(place, _)| *place != at)
            .map(|(_, letter)| letter);
        format!("slip {}", letters.collect::<String>())
    };
    let slips = (0..=whole.len().min(LONGEST)).map(without);
    given
        .into_iter()
        .chain([format!("words {}", words.join(" "))])
        .chain(slips)
        .collect()
}

/// Letters of a name in which a slip is looked for.
const LONGEST: usize = 60;

#[cfg(test)]
mod tests {
    use super::*;

    fn alike(one: &str, other: &str) -> bool {
        let others = forms(other);
        forms(one).iter().any(|form| others.contains(form))
    }

    #[test]
    fn a_new_surname_a_slip_and_another_order_are_alike() {
        for (one, other) in [
            ("Runa Falk", "Runa Holm"),
            ("Runa Falk", "falk  RUNA"),
            ("Runa Falk", "Rune Falk"),
            ("Runa Falk", "Runna Falk"),
            ("Runa Falk", "Rua Falk"),
            ("Åse Lund", "åse lund"),
        ] {
            assert!(alike(one, other), "{one} and {other}");
            assert!(alike(other, one), "{other} and {one}");
        }
    }

    #[test]
    fn sisters_are_not_alike() {
        for (one, other) in [("Runa Falk", "Ida Falk"), ("Runa Falk", "Maja Lund")] {
            assert!(!alike(one, other), "{one} and {other}");
        }
    }
}
