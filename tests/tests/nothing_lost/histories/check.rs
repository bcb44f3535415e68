//! What must hold of every history: no update is lost, ids are unique, versions grow by one, and what was seen once is
//! never unseen, neither by the one who wrote or read it nor by anyone who asks later.

use std::collections::BTreeMap;

use super::record::{Event, Saw};

/// Everything in a history that should not be possible.
pub(crate) fn anomalies(events: &[Event]) -> Vec<String> {
    let mut sessions: BTreeMap<&str, Vec<&Event>> = BTreeMap::new();
    for event in events {
        sessions.entry(&event.session).or_default().push(event);
    }
    let checked = sessions.into_values().flat_map(|events| {
        let writes = writes(&events);
        [
            of_versions(&writes),
            of_contents(&events, &writes),
            of_order(&events, &writes),
        ]
        .concat()
    });
    checked.collect()
}

/// The operations that made a version.
type Writes<'a> = BTreeMap<i64, Vec<&'a Event>>;

fn writes<'a>(events: &[&'a Event]) -> Writes<'a> {
    let mut writes = Writes::new();
    for event in events {
        if let Saw::Wrote { version, .. } | Saw::Removed { version } = event.saw {
            writes.entry(version).or_default().push(event);
        }
    }
    writes
}

/// Each version was made once: two of one id would be a double id, two of another version a lost update. None is missing.
fn of_versions(writes: &Writes<'_>) -> Vec<String> {
    let twice = writes.values().filter(|events| events.len() > 1);
    let missing = (1_i64..)
        .zip(writes.keys())
        .filter(|(wanted, made)| wanted != *made);
    let twice = twice.map(|events| format!("made twice: {events:?}"));
    twice
        .chain(
            missing.map(|(wanted, _)| format!("version {wanted} was made by nobody: {writes:?}")),
        )
        .collect()
}

/// A version that was read holds what its writer wrote, and was not read before it was written.
fn of_contents(events: &[&Event], writes: &Writes<'_>) -> Vec<String> {
    let wrong = events.iter().filter(|event| {
        let Saw::Read { version, mark } = &event.saw else {
            return false;
        };
        let written = writes.get(version).and_then(|events| events.first());
        !written.is_some_and(|write| {
            write.began < event.ended
                && matches!(&write.saw, Saw::Wrote { mark: written, .. } if written == mark)
        })
    });
    wrong
        .map(|event| format!("read what was not written: {event:?}"))
        .collect()
}

/// No answer is older than one that had come before the question was asked.
fn of_order(events: &[&Event], writes: &Writes<'_>) -> Vec<String> {
    let removed = writes.iter().find_map(|(version, events)| {
        matches!(events[0].saw, Saw::Removed { .. }).then_some(*version)
    });
    // The least version that must have been current when the answer was given.
    let at_least = |event: &Event| match event.saw {
        Saw::Wrote { version, .. } | Saw::Removed { version } | Saw::Read { version, .. } => {
            Some(version)
        }
        Saw::Stale { version } => Some(version + 1),
        Saw::Gone => removed,
    };
    // The greatest version that may have been current when the question was asked.
    let at_most = |event: &Event| match event.saw {
        Saw::Wrote { version, .. } | Saw::Removed { version } => Some(version - 1),
        Saw::Read { version, .. } => Some(version),
        Saw::Stale { .. } | Saw::Gone => None,
    };
    let (mut by_start, mut by_end) = (events.to_vec(), events.to_vec());
    by_start.sort_by_key(|event| event.began);
    by_end.sort_by_key(|event| event.ended);
    let (mut found, mut known, mut ended) = (Vec::new(), 0, by_end.into_iter().peekable());
    for event in by_start {
        while let Some(before) = ended.next_if(|before| before.ended < event.began) {
            known = known.max(at_least(before).unwrap_or(0));
        }
        if at_most(event).is_some_and(|most| most < known) {
            found.push(format!("version {known} was known before: {event:?}"));
        }
        // A refusal needs a write that had begun by then.
        let cause = at_least(event)
            .and_then(|version| writes.get(&version))
            .and_then(|events| events.first());
        if cause.is_none_or(|write| write.began >= event.ended) {
            found.push(format!(
                "nothing had been written that explains this: {event:?}"
            ));
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use std::time::{Duration, Instant};

    use super::*;

    /// A history of one report, one event a second, each over before the next begins.
    fn history(saw: &[Saw]) -> Vec<Event> {
        let start = Instant::now();
        let event = |(second, saw): (u64, &Saw)| Event {
            began: start + Duration::from_millis(1_000 * second),
            ended: start + Duration::from_millis(1_000 * second + 500),
            session: "s".to_owned(),
            saw: saw.clone(),
        };
        (0..).zip(saw).map(event).collect()
    }

    fn wrote(version: i64, mark: &str) -> Saw {
        let mark = mark.to_owned();
        Saw::Wrote { version, mark }
    }

    fn read(version: i64, mark: &str) -> Saw {
        let mark = mark.to_owned();
        Saw::Read { version, mark }
    }

    #[test]
    fn an_orderly_history_has_none() {
        let stale = Saw::Stale { version: 1 };
        let saw = [
            wrote(1, "a"),
            read(1, "a"),
            wrote(2, "b"),
            stale,
            read(2, "b"),
            Saw::Removed { version: 3 },
            Saw::Gone,
        ];
        assert_eq!(anomalies(&history(&saw)), Vec::<String>::new());
    }

    #[test]
    fn each_anomaly_is_found() {
        let cases: [(&str, &[Saw]); 9] = [
            (
                "a lost update",
                &[wrote(1, "a"), wrote(2, "b"), wrote(2, "c")],
            ),
            ("a double id", &[wrote(1, "a"), wrote(1, "b")]),
            ("a missing version", &[wrote(1, "a"), wrote(3, "b")]),
            (
                "an own write that is not read",
                &[wrote(1, "a"), wrote(2, "b"), read(1, "a")],
            ),
            (
                "a read that goes back",
                &[wrote(1, "a"), wrote(2, "b"), read(2, "b"), read(1, "a")],
            ),
            ("content of nobody", &[wrote(1, "a"), read(1, "b")]),
            (
                "a refusal without a cause",
                &[wrote(1, "a"), Saw::Stale { version: 1 }],
            ),
            ("gone without a removal", &[wrote(1, "a"), Saw::Gone]),
            (
                "back after the removal",
                &[wrote(1, "a"), Saw::Removed { version: 2 }, read(1, "a")],
            ),
        ];
        for (name, saw) in cases {
            assert_ne!(anomalies(&history(saw)), Vec::<String>::new(), "{name}");
        }
    }

    #[test]
    fn what_happens_at_once_may_be_seen_in_either_order() {
        let mut events = history(&[wrote(1, "a"), wrote(2, "b"), read(1, "a")]);
        events[2].began = events[1].began;
        assert_eq!(anomalies(&events), Vec::<String>::new());
    }
}
