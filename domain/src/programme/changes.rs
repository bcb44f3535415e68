//! What is different for one athlete: items of a programme left out or put otherwise.

use std::collections::BTreeMap;

use jiff::civil::Weekday;

use super::{Item, Placed, Programme};

/// Where an item stands in a programme.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    /// The number of the week, from 1.
    pub week: u8,
    /// The weekday, 0 for Monday.
    day: i8,
    /// The number of the session on that day, from 1.
    pub session: u8,
    /// The number of the item in it, from 1.
    pub item: u8,
}

impl Place {
    /// A place.
    #[must_use]
    pub fn new(week: u8, weekday: Weekday, session: u8, item: u8) -> Place {
        Place {
            week,
            day: weekday.to_monday_zero_offset(),
            session,
            item,
        }
    }

    /// The weekday.
    #[must_use]
    pub fn weekday(self) -> Weekday {
        Weekday::from_monday_zero_offset(self.day).unwrap_or(Weekday::Monday)
    }
}

/// What becomes of an item.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Change {
    /// It is left out.
    Omit,
    /// It is this instead.
    Put(Item),
}

/// The changes for one athlete, each of another item.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Changes(BTreeMap<Place, Change>);

/// Why changes do not fit a programme.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ChangesError {
    /// There is no such item.
    #[error("the programme has no such item")]
    NoSuchItem(usize),
    /// An item is changed twice, the second time here.
    #[error("this item is changed twice")]
    Twice(usize),
}

/// An item as it is for one athlete.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TheirItem<'a> {
    /// Where it stands in the programme.
    pub place: Place,
    /// What it is for her.
    pub item: &'a Item,
    /// Whether it is hers alone.
    pub changed: bool,
}

impl Changes {
    /// Changes of a programme.
    ///
    /// # Errors
    /// [`ChangesError`].
    pub fn of(
        programme: &Programme,
        changes: Vec<(Place, Change)>,
    ) -> Result<Changes, ChangesError> {
        let mut found = BTreeMap::new();
        for (at, (place, change)) in changes.into_iter().enumerate() {
            if programme.item(place).is_none() {
                return Err(ChangesError::NoSuchItem(at));
            }
            if found.insert(place, change).is_some() {
                return Err(ChangesError::Twice(at));
            }
        }
        Ok(Changes(found))
    }

    /// How many items they change.
    #[must_use]
    pub fn count(&self) -> usize {
        self.0.len()
    }

    /// The items of a session as they are with the changes; those left out are not among them.
    #[must_use]
    pub fn items<'a>(&'a self, placed: &Placed<'a>) -> Vec<TheirItem<'a>> {
        let items = (1..).zip(&placed.session.items);
        let with = items.filter_map(|(number, item)| {
            let place = Place::new(placed.week, placed.weekday, placed.number, number);
            match self.0.get(&place) {
                None => Some(TheirItem {
                    place,
                    item,
                    changed: false,
                }),
                Some(Change::Put(other)) => Some(TheirItem {
                    place,
                    item: other,
                    changed: true,
                }),
                Some(Change::Omit) => None,
            }
        });
        with.collect()
    }
}

impl Programme {
    /// The item at a place.
    #[must_use]
    pub fn item(&self, place: Place) -> Option<&Item> {
        let mut sessions = self.sessions();
        let session = sessions.find(|one| {
            (one.week, one.weekday, one.number) == (place.week, place.weekday(), place.session)
        })?;
        session
            .session
            .items
            .get(usize::from(place.item.checked_sub(1)?))
    }
}
