//! The landings of a programme, by session and by week, and the time between sessions with jumps.

use std::collections::BTreeMap;
use std::ops::Add;

use super::{Placed, Programme, Session};
use crate::contacts::{Contacts, Exercise, contacts, distance};
use crate::exercises::Catalogue;
use crate::figure::Bounds;
use crate::jump_times::{DAY, JumpTimes};
use crate::measure::Length;

/// What a session comes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SessionJumps<'a> {
    /// The session and where it stands.
    pub placed: Placed<'a>,
    /// Its landings.
    pub contacts: Contacts,
    /// How far its items with a way go.
    pub length: Length,
    /// Seconds from the end of the session with jumps before it; what follows where a start or a length is not said is in the bounds,
    /// with the shortest as the point. `None` without jumps, and for the first with jumps.
    pub since_jumps: Option<Bounds<i64>>,
}

/// The sessions of a programme in order.
#[must_use]
pub fn session_jumps<'a>(programme: &'a Programme, catalogue: &Catalogue) -> Vec<SessionJumps<'a>> {
    let mut last: Option<Bounds<i64>> = None;
    let each = programme.sessions().map(|placed| {
        let items = placed.session.items.iter();
        let items: Vec<Exercise> = items
            .map(|item| item.planned(catalogue.get(&item.exercise)))
            .collect();
        let found = contacts(&items);
        let (jumps, when) = (found.has_jumps(), times(&placed));
        let since = last.filter(|_| jumps).map(|last| when.since(last));
        if jumps {
            last = Some(when.last_end(last));
        }
        SessionJumps {
            placed,
            contacts: found,
            length: distance(&items).0,
            since_jumps: since,
        }
    });
    each.collect()
}

/// The landings of each week that has any session.
#[must_use]
pub fn week_jumps(sessions: &[SessionJumps<'_>]) -> BTreeMap<u8, Contacts> {
    let mut weeks: BTreeMap<u8, Contacts> = BTreeMap::new();
    for session in sessions {
        let week = weeks.entry(session.placed.week).or_default();
        *week = week.add(session.contacts);
    }
    weeks
}

/// When a session may be, in seconds from the programme's first Monday.
fn times(placed: &Placed<'_>) -> JumpTimes {
    let Session { start, minutes, .. } = placed.session;
    let days = 7 * (i64::from(placed.week) - 1) + i64::from(placed.weekday.to_monday_zero_offset());
    JumpTimes::of(days * DAY, *start, *minutes)
}

#[cfg(test)]
mod tests {
    use jiff::civil::{Time, Weekday, time};

    use super::*;
    use crate::contacts::{Reps, Sets};
    use crate::exercises::ExerciseCode;
    use crate::programme::outline::tests::session;
    use crate::programme::{Block, Day, Dose, Item, Week};

    fn jumps(start: Option<Time>, exercise: &str, sets: i64) -> Session {
        let item = Item {
            exercise: ExerciseCode::parse(exercise).unwrap(),
            sets: Sets::new(sets).unwrap(),
            dose: Dose::Reps(Reps::new(5).unwrap(), None),
            side: None,
            against: None,
            rest: None,
            set_up: None,
            height: None,
            note: None,
        };
        Session {
            start,
            ..session(vec![item])
        }
    }

    fn of(days: Vec<(Weekday, Session)>) -> Programme {
        let days = days
            .into_iter()
            .map(|(weekday, one)| Day::new(weekday, vec![one]).unwrap());
        let week = Week::new(days.collect()).unwrap();
        let block = Block::new("one".to_owned(), vec![week.clone(), week]).unwrap();
        Programme::new("p".to_owned(), vec![block]).unwrap()
    }

    #[test]
    fn landings_add_up_by_session_and_week() {
        let programme = of(vec![
            (Weekday::Tuesday, jumps(None, "block_jump", 4)),
            (Weekday::Thursday, jumps(None, "hurdle_hop_one_leg", 2)),
        ]);
        let sessions = session_jumps(&programme, &Catalogue::of([]));
        let events: Vec<u32> = sessions.iter().map(|one| one.contacts.events()).collect();
        assert_eq!(events, [20, 20, 20, 20]);
        let weeks = week_jumps(&sessions);
        assert_eq!(weeks.len(), 2);
        assert_eq!((weeks[&2].events(), weeks[&2].left_leg()), (40, 30));
    }

    #[test]
    fn the_time_between_jumps_is_as_sure_as_what_was_said() {
        let exact = of(vec![
            (
                Weekday::Tuesday,
                jumps(Some(time(18, 15, 0, 0)), "block_jump", 1),
            ),
            (Weekday::Wednesday, jumps(None, "squat", 1)),
            (
                Weekday::Thursday,
                jumps(Some(time(17, 30, 0, 0)), "block_jump", 1),
            ),
        ]);
        let since = |programme: &Programme| -> Vec<Option<(i64, i64)>> {
            let all = session_jumps(programme, &Catalogue::of([])).into_iter();
            all.map(|one| one.since_jumps.map(|since| (since.low, since.high)))
                .collect()
        };
        // From 19:00 to 17:30 two days on.
        let found = since(&exact);
        assert_eq!(found[..3], [None, None, Some((167_400, 167_400))]);
        let open = of(vec![
            (Weekday::Tuesday, jumps(None, "block_jump", 1)),
            (Weekday::Thursday, jumps(None, "block_jump", 1)),
        ]);
        // Any time of two days with one between them: 24 h at the least, and 72 h without the 45 minutes at the most.
        assert_eq!(since(&open)[1], Some((24 * 3600, 72 * 3600 - 45 * 60)));
    }
}
