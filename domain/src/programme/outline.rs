//! How a programme is laid out: blocks, weeks, days, sessions.

use std::collections::BTreeSet;

use jiff::civil::{Time, Weekday};

use super::{Item, SessionWarmUp};
use crate::load::Load;
use crate::plan::Plan;
use crate::session::{Kind, Setting};
use crate::units::{Minutes, Rpe};

/// A programme: its name and its blocks, of 1 to 60 weeks together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Programme {
    name: String,
    blocks: Vec<Block>,
}

/// Weeks that follow each other under one name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Block {
    name: String,
    weeks: Vec<Week>,
}

/// A week: its days with sessions, in order; none in a week off.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Week {
    days: Vec<Day>,
}

/// A day with its sessions in order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Day {
    weekday: Weekday,
    sessions: Vec<Session>,
}

/// A session. What nobody said is `None`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Session {
    /// What it is called.
    pub name: Option<String>,
    /// Who runs it.
    pub setting: Setting,
    /// What is done.
    pub kind: Kind,
    /// When it starts.
    pub start: Option<Time>,
    /// How long it is meant to last.
    pub minutes: Option<Minutes>,
    /// How hard the whole of it is meant to be.
    pub intended: Option<Rpe>,
    /// Its neuromuscular warm-up; `None` where it is not said whether it has one.
    pub warm_up: Option<SessionWarmUp>,
    /// Its items in order; none where it is a session without a list.
    pub items: Vec<Item>,
}

/// Why a programme cannot be laid out so.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum OutlineError {
    /// No blocks or weeks, or too many weeks.
    #[error("a programme has 1 to 60 weeks")]
    Weeks(usize),
    /// A block without a week.
    #[error("a block has a week")]
    NoWeek,
    /// Two of the same name or weekday, the second of them here.
    #[error("this is there twice")]
    Twice(usize),
    /// No sessions on a day, or too many.
    #[error("a day of a programme has 1 to 3 sessions")]
    Sessions(usize),
    /// Too many items in a session.
    #[error("a session has at most 30 items")]
    Items(usize),
}

impl Session {
    /// The most items.
    pub const MOST_ITEMS: usize = 30;

    /// What it weighs if it is as hard and as long as meant; `None` where that is not said.
    #[must_use]
    pub fn load(&self) -> Option<Load> {
        Some(Load::of(self.intended?, self.minutes?))
    }
}

impl Day {
    /// The most sessions.
    pub const MOST_SESSIONS: usize = 3;

    /// A day.
    ///
    /// # Errors
    /// [`OutlineError::Sessions`], [`OutlineError::Items`].
    pub fn new(weekday: Weekday, sessions: Vec<Session>) -> Result<Day, OutlineError> {
        if !(1..=Self::MOST_SESSIONS).contains(&sessions.len()) {
            return Err(OutlineError::Sessions(sessions.len()));
        }
        let longest = sessions.iter().map(|session| session.items.len()).max();
        match longest {
            Some(items) if items > Session::MOST_ITEMS => Err(OutlineError::Items(items)),
            _ => Ok(Day { weekday, sessions }),
        }
    }

    /// Which day of the week.
    #[must_use]
    pub const fn weekday(&self) -> Weekday {
        self.weekday
    }

    /// Its sessions.
    #[must_use]
    pub fn sessions(&self) -> &[Session] {
        &self.sessions
    }
}

impl Week {
    /// A week. Its days are put in order.
    ///
    /// # Errors
    /// [`OutlineError::Twice`] where a weekday is there twice.
    pub fn new(mut days: Vec<Day>) -> Result<Week, OutlineError> {
        let mut seen = BTreeSet::new();
        let twice = |day: &Day| !seen.insert(day.weekday.to_monday_zero_offset());
        if let Some(at) = days.iter().position(twice) {
            return Err(OutlineError::Twice(at));
        }
        days.sort_by_key(|day| day.weekday.to_monday_zero_offset());
        Ok(Week { days })
    }

    /// Its days with sessions.
    #[must_use]
    pub fn days(&self) -> &[Day] {
        &self.days
    }
}

impl Block {
    /// A block.
    ///
    /// # Errors
    /// [`OutlineError::NoWeek`].
    pub fn new(name: String, weeks: Vec<Week>) -> Result<Block, OutlineError> {
        if weeks.is_empty() {
            return Err(OutlineError::NoWeek);
        }
        Ok(Block { name, weeks })
    }

    /// Its name.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Its weeks.
    #[must_use]
    pub fn weeks(&self) -> &[Week] {
        &self.weeks
    }
}

/// A session and where it stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Placed<'a> {
    /// The number of its week, from 1 on through all blocks.
    pub week: u8,
    /// Its day.
    pub weekday: Weekday,
    /// Its number on that day, from 1.
    pub number: u8,
    /// The session.
    pub session: &'a Session,
}

impl Programme {
    /// The most weeks: those of a plan.
    pub const MOST_WEEKS: u8 = Plan::MAX_WEEKS;

    /// A programme.
    ///
    /// # Errors
    /// [`OutlineError::Weeks`]; [`OutlineError::Twice`] where two blocks have one name.
    pub fn new(name: String, blocks: Vec<Block>) -> Result<Programme, OutlineError> {
        let weeks: usize = blocks.iter().map(|block| block.weeks.len()).sum();
        if !(1..=usize::from(Self::MOST_WEEKS)).contains(&weeks) {
            return Err(OutlineError::Weeks(weeks));
        }
        let mut seen = BTreeSet::new();
        let twice = |block: &Block| !seen.insert(block.name.clone());
        if let Some(at) = blocks.iter().position(twice) {
            return Err(OutlineError::Twice(at));
        }
        Ok(Programme { name, blocks })
    }

    /// Its name.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Its blocks.
    #[must_use]
    pub fn blocks(&self) -> &[Block] {
        &self.blocks
    }

    /// Its weeks with their numbers, from 1.
    pub fn weeks(&self) -> impl Iterator<Item = (u8, &Week)> {
        (1..).zip(self.blocks.iter().flat_map(|block| &block.weeks))
    }

    /// How many weeks it has.
    #[must_use]
    pub fn length(&self) -> u8 {
        self.weeks().map(|(number, _)| number).last().unwrap_or(0)
    }

    /// How many days it takes, from the first Monday to the last Sunday.
    #[must_use]
    pub fn length_in_days(&self) -> u16 {
        7 * u16::from(self.length())
    }

    /// Its sessions in order.
    pub fn sessions(&self) -> impl Iterator<Item = Placed<'_>> {
        self.weeks().flat_map(|(week, of)| {
            of.days.iter().flat_map(move |day| {
                (1..)
                    .zip(&day.sessions)
                    .map(move |(number, session)| Placed {
                        week,
                        weekday: day.weekday,
                        number,
                        session,
                    })
            })
        })
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// A session of 45 minutes at RPE 5 with these items.
    pub(in crate::programme) fn session(items: Vec<Item>) -> Session {
        Session {
            name: None,
            setting: Setting::PrescribedHome,
            kind: Kind::Strength,
            start: None,
            minutes: Minutes::new(45).ok(),
            intended: Rpe::from_half_steps(10).ok(),
            warm_up: None,
            items,
        }
    }

    fn day(weekday: Weekday) -> Day {
        Day::new(weekday, vec![session(Vec::new())]).unwrap()
    }

    fn block(name: &str, weeks: usize) -> Block {
        let week = Week::new(vec![day(Weekday::Thursday), day(Weekday::Tuesday)]).unwrap();
        Block::new(name.to_owned(), vec![week; weeks]).unwrap()
    }

    /// Common practice, no source.
    #[test]
    fn weeks_and_days_are_counted_through_all_blocks() {
        let blocks = ["learning", "building", "keeping"].map(|name| block(name, 8));
        let blocks = blocks
            .into_iter()
            .chain([block("handing over", 2)])
            .collect();
        let programme = Programme::new("half a year".to_owned(), blocks).unwrap();
        assert_eq!((programme.length(), programme.length_in_days()), (26, 182));
        let sessions: Vec<Placed<'_>> = programme.sessions().collect();
        assert_eq!(sessions.len(), 52);
        let last = sessions[51];
        assert_eq!(
            (last.week, last.weekday, last.number),
            (26, Weekday::Thursday, 1)
        );
        assert_eq!(last.session.load(), Some(Load::from_au(225)));
        let open = Session {
            minutes: None,
            ..session(Vec::new())
        };
        assert_eq!(open.load(), None);
    }

    #[test]
    fn what_cannot_be_laid_out_is_refused() {
        let of = |blocks| Programme::new("p".to_owned(), blocks);
        assert_eq!(of(Vec::new()), Err(OutlineError::Weeks(0)));
        assert!(of(vec![block("a", 30), block("b", 30)]).is_ok());
        assert_eq!(
            of(vec![block("a", 30), block("b", 31)]),
            Err(OutlineError::Weeks(61))
        );
        assert_eq!(
            of(vec![block("a", 1), block("a", 1)]),
            Err(OutlineError::Twice(1))
        );
        assert_eq!(
            Block::new("a".to_owned(), Vec::new()),
            Err(OutlineError::NoWeek)
        );
        let monday = || day(Weekday::Monday);
        assert_eq!(
            Week::new(vec![monday(), monday()]),
            Err(OutlineError::Twice(1))
        );
        let day = |sessions| Day::new(Weekday::Monday, sessions);
        assert_eq!(day(Vec::new()), Err(OutlineError::Sessions(0)));
        assert_eq!(
            day(vec![session(Vec::new()); 4]),
            Err(OutlineError::Sessions(4))
        );
    }
}
