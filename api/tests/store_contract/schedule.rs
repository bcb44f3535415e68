//! Planned sessions, attendance, declared history, and who is expected.

use plimsoll_api::ids::{AthleteId, EventId};
use plimsoll_api::store::attendance::{self, Attendance};
use plimsoll_api::store::events::{self, Event, EventFilter};
use plimsoll_api::store::expected::{self, ExpectedDays, ExpectedSession};
use plimsoll_api::store::{AttendanceStatus, Change, ExpectedState, Known, StoreError, Who};
use plimsoll_domain::GivenBy;

use crate::support::{AUTHOR, Fixture, later, now, on_both_databases, september};

on_both_databases!(
    an_event_keeps_what_was_known_when,
    events_are_found_by_whom_they_invite,
    a_pair_has_one_attendance,
    expected_sessions_replace_whole_days,
);

/// An event of its own external id.
fn event(on: &Fixture, day: i8, name: &str, squads: &[plimsoll_api::ids::SquadId]) -> Event {
    Event {
        natural_key: format!("id:{name}"),
        external_id: Some(name.to_owned()),
        ..on.event(september(day), squads)
    }
}

async fn store(on: &Fixture, event: &Event) {
    let event = event.clone();
    on.write(now(), move |conn, tenant, moment| {
        let (id, squads) = (event.event_id, event.squads.clone());
        events::insert(conn, tenant, moment, AUTHOR, &[event])?;
        events::set_squads(conn, tenant, &[(id, &squads)])
    })
    .await
    .unwrap();
}

async fn an_event_keeps_what_was_known_when(on: Fixture) {
    let girls = on.add_squad("U17 girls").await;
    let mara = on.add_athlete("Mara").await;
    let first = Event {
        athletes: vec![mara],
        ..event(&on, 7, "hall-1", &[girls])
    };
    store(&on, &first).await;
    let moved = Event {
        load_date: september(9),
        ..first.clone()
    };
    let change = Change {
        replaces: 1,
        content: moved.clone(),
        deleted: false,
    };
    on.write(later(5), move |conn, tenant, moment| {
        events::supersede(conn, tenant, moment, AUTHOR, &[change])
    })
    .await
    .unwrap();
    let known = |state| {
        on.read(move |conn, tenant| {
            let found = events::in_dates(conn, tenant, september(1), september(30), state)?;
            Ok(found.into_iter().map(|one| one.content).collect::<Vec<_>>())
        })
    };
    assert_eq!(known(Known::Now).await, [moved]);
    assert_eq!(
        known(Known::AsOf(later(4))).await,
        std::slice::from_ref(&first)
    );
    assert!(known(Known::AsOf(later(-1))).await.is_empty());

    let again = Event {
        event_id: on.id(),
        ..first
    };
    let twice = on
        .write(later(6), move |conn, tenant, moment| {
            events::insert(conn, tenant, moment, AUTHOR, &[again])
        })
        .await;
    assert!(matches!(twice, Err(StoreError::Conflict)), "{twice:?}");
}

async fn events_are_found_by_whom_they_invite(on: Fixture) {
    let (girls, women) = (on.add_squad("U17 girls").await, on.add_squad("Women").await);
    let mara = on.add_athlete("Mara").await;
    let practice = event(&on, 7, "practice", &[girls]);
    let both = event(&on, 8, "both", &[girls, women]);
    let game = event(&on, 9, "game", &[women]);
    for one in [&practice, &both, &game] {
        store(&on, one).await;
    }
    let day = ExpectedDays::from([(
        (mara, september(9)),
        vec![expected(mara, &game, ExpectedState::Open)],
    )]);
    on.write(now(), move |conn, tenant, _| {
        expected::replace(conn, tenant, &day)
    })
    .await
    .unwrap();
    let all = EventFilter {
        from: september(1),
        to: september(30),
        squad: None,
        invited: None,
        reach: None,
    };
    let ids = |found: Vec<plimsoll_api::store::Versioned<Event>>| {
        found
            .into_iter()
            .map(|one| one.content.event_id)
            .collect::<Vec<EventId>>()
    };
    let found = on
        .read(move |conn, tenant| {
            let girls_only = EventFilter {
                squad: Some(girls),
                ..all
            };
            let maras = EventFilter {
                invited: Some(&[mara]),
                ..all
            };
            let reached = EventFilter {
                reach: Some((&[girls], &[mara])),
                ..all
            };
            let nobody = EventFilter {
                reach: Some((&[], &[])),
                ..all
            };
            let filters = [all, girls_only, maras, reached, nobody];
            let pages = filters.map(|filter| events::page(conn, tenant, filter, None, 9));
            let dates =
                events::dates_of_squads(conn, tenant, &[women], september(1), september(30))?;
            Ok((pages, dates))
        })
        .await;
    let pages = found.0.map(|page| ids(page.unwrap()));
    let (practice, both, game) = (practice.event_id, both.event_id, game.event_id);
    assert_eq!(
        pages,
        [
            vec![practice, both, game],
            vec![practice, both],
            vec![game],
            vec![practice, both, game],
            vec![]
        ]
    );
    assert_eq!(found.1, [8, 9].map(|day| (women, september(day))));
    let after = on
        .read(move |conn, tenant| {
            let first = events::page(conn, tenant, all, None, 1)?.remove(0).content;
            let key = (first.starts_at, first.event_id);
            events::page(conn, tenant, all, Some(key), 1)
        })
        .await;
    assert_eq!(ids(after), [both]);
}

async fn a_pair_has_one_attendance(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let event_id: EventId = on.id();
    let entry = |status| Attendance {
        attendance_id: on.id(),
        event_id,
        athlete_id: mara,
        status,
        minutes: None,
        confirmed: false,
        given_by: GivenBy::Coach,
    };
    let insert = |row: Attendance, at| {
        on.write(at, move |conn, tenant, moment| {
            attendance::insert(conn, tenant, moment, AUTHOR, &[row])
        })
    };
    let present = entry(AttendanceStatus::Present);
    insert(present.clone(), now()).await.unwrap();
    let twice = insert(entry(AttendanceStatus::Absent), now()).await;
    assert!(matches!(twice, Err(StoreError::Conflict)), "{twice:?}");
    let absent = Attendance {
        status: AttendanceStatus::Absent,
        ..present.clone()
    };
    let change = Change {
        replaces: 1,
        content: absent.clone(),
        deleted: false,
    };
    on.write(later(3), move |conn, tenant, moment| {
        attendance::supersede(conn, tenant, moment, AUTHOR, &[change])
    })
    .await
    .unwrap();
    let (found, before, listed) = on
        .read(move |conn, tenant| {
            let (who, events) = (Who::Athletes(&[mara]), [event_id]);
            let as_of = Known::AsOf(later(1));
            Ok((
                attendance::find(conn, tenant, event_id, mara)?,
                attendance::of_events(conn, tenant, who, &events, as_of)?,
                attendance::of_events(conn, tenant, who, &events, Known::Now)?,
            ))
        })
        .await;
    assert_eq!(found.unwrap().content, absent);
    assert_eq!(before[0].content, present);
    assert_eq!(listed[0].content, absent);
}

fn expected(athlete_id: AthleteId, event: &Event, state: ExpectedState) -> ExpectedSession {
    ExpectedSession {
        athlete_id,
        event_id: event.event_id,
        load_date: event.load_date,
        setting: event.setting,
        kind: event.kind,
        minutes: event.minutes,
        starts_at: event.starts_at,
        ends_at: event.ends_at(),
        state,
    }
}

async fn expected_sessions_replace_whole_days(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let (first, second) = (event(&on, 7, "a", &[]), event(&on, 7, "b", &[]));
    let replace = |days: ExpectedDays| {
        on.write(now(), move |conn, tenant, _| {
            expected::replace(conn, tenant, &days)
        })
    };
    let open = || {
        on.read(move |conn, tenant| {
            let who = Who::Athletes(&[mara]);
            expected::open_in_dates(conn, tenant, who, september(1), september(30))
        })
    };
    let both = [&first, &second].map(|one| expected(mara, one, ExpectedState::Open));
    let monday = (mara, september(7));
    replace(ExpectedDays::from([(monday, both.to_vec())]))
        .await
        .unwrap();
    assert_eq!(open().await.len(), 2);

    // One answered, one moved to another day.
    let answered = expected(mara, &first, ExpectedState::Answered);
    let moved = Event {
        load_date: september(9),
        ..second.clone()
    };
    let moved = expected(mara, &moved, ExpectedState::Open);
    let wednesday = (mara, september(9));
    let days = [
        (monday, vec![answered.clone()]),
        (wednesday, vec![moved.clone()]),
    ];
    replace(ExpectedDays::from(days)).await.unwrap();
    assert_eq!(open().await, [moved]);
    let day = on
        .read(move |conn, tenant| expected::on_date(conn, tenant, &[mara], september(7)))
        .await;
    assert_eq!(day, [answered]);

    replace(ExpectedDays::from([(monday, vec![]), (wednesday, vec![])]))
        .await
        .unwrap();
    assert!(open().await.is_empty());
}
