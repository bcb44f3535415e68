//! What an instance stands for: the first rule of an ordered list that it meets.

use super::instance::{Instance, Text};

/// What a rule looks for, without regard to case.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Condition {
    /// The summary, the description or the place contains this text.
    TextContains(String),
    /// One of the categories is this.
    CategoryIs(String),
}

/// A text in lower case.
struct Lowered {
    places: Vec<String>,
    categories: Vec<String>,
}

impl Lowered {
    fn of(text: &Text) -> Self {
        let places = [&text.summary, &text.description, &text.location];
        let categories = text.categories.iter();
        Self {
            places: places
                .into_iter()
                .flatten()
                .map(|text| text.to_lowercase())
                .collect(),
            categories: categories
                .map(|category| category.trim().to_lowercase())
                .collect(),
        }
    }
}

impl Condition {
    /// Whether a text meets it. An empty condition is met by none.
    fn is_met_by(&self, text: &Lowered) -> bool {
        let (Self::TextContains(wanted) | Self::CategoryIs(wanted)) = self;
        let wanted = wanted.trim().to_lowercase();
        !wanted.is_empty()
            && match self {
                Self::TextContains(_) => text.places.iter().any(|text| text.contains(&wanted)),
                Self::CategoryIs(_) => text.categories.contains(&wanted),
            }
    }
}

/// A rule: whatever meets the condition stands for this, such as a setting, a kind, a squad, an
/// intended RPE and whether it is fixed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MappingRule<T> {
    /// What it looks for.
    pub when: Condition,
    /// What it gives.
    pub gives: T,
}

/// Rules in order: the first that is met wins.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Mapping<T>(pub Vec<MappingRule<T>>);

/// Instances sorted by whether a rule says what they stand for.
#[derive(Debug, Clone, PartialEq)]
pub struct Mapped<'m, T> {
    /// Those that meet a rule, with what it gives.
    pub mapped: Vec<(&'m Instance, &'m T)>,
    /// Those that meet none: for somebody to look at, never guessed.
    pub unmapped: Vec<&'m Instance>,
}

impl<T> Mapping<T> {
    /// What a text stands for.
    pub fn of(&self, text: &Text) -> Option<&T> {
        let text = Lowered::of(text);
        let mut rules = self.0.iter();
        let first = rules.find(|rule| rule.when.is_met_by(&text));
        first.map(|rule| &rule.gives)
    }

    /// What each instance stands for, in order.
    pub fn sort<'m>(&'m self, instances: &'m [Instance]) -> Mapped<'m, T> {
        let mut sorted = Mapped {
            mapped: Vec::new(),
            unmapped: Vec::new(),
        };
        for instance in instances {
            match self.of(&instance.text) {
                Some(gives) => sorted.mapped.push((instance, gives)),
                None => sorted.unmapped.push(instance),
            }
        }
        sorted
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(summary: &str, categories: &[&str]) -> Text {
        Text {
            summary: Some(summary.to_owned()),
            location: Some("Sports hall, court 2".to_owned()),
            categories: categories.iter().map(ToString::to_string).collect(),
            ..Text::default()
        }
    }

    fn mapping() -> Mapping<&'static str> {
        let rule = |when, gives| MappingRule { when, gives };
        Mapping(vec![
            rule(Condition::CategoryIs("Match".to_owned()), "game"),
            rule(Condition::TextContains("weights".to_owned()), "strength"),
            rule(Condition::TextContains("court".to_owned()), "practice"),
        ])
    }

    #[test]
    fn the_first_rule_that_is_met_wins() {
        let mapping = mapping();
        for (summary, categories, expected) in [
            ("WEIGHTS after practice", &["match"][..], "game"),
            ("Weights after practice", &["matches"], "strength"),
            ("Træning", &[], "practice"),
        ] {
            assert_eq!(mapping.of(&text(summary, categories)), Some(&expected));
        }
    }

    #[test]
    fn case_is_that_of_every_alphabet() {
        let rule = Condition::TextContains("TRÆNING".to_owned());
        assert!(rule.is_met_by(&Lowered::of(&text("Aftentræning", &[]))));
    }

    #[test]
    fn an_empty_condition_is_met_by_none() {
        for empty in ["", "  "] {
            let text = Lowered::of(&text("Practice", &[]));
            assert!(!Condition::TextContains(empty.to_owned()).is_met_by(&text));
            assert!(!Condition::CategoryIs(empty.to_owned()).is_met_by(&text));
        }
    }
}
