//! Session reports: look-ups, ranges and lists.

use jiff::SignedDuration;
use plimsoll_api::store::sessions::{self, Session, SessionFilter};
use plimsoll_api::store::{Change, DaySet, Known, StoreError, Versioned, Who};
use plimsoll_domain::{Basis, GivenBy, Kind, Setting};

use crate::support::{AUTHOR, Fixture, later, now, on_both_databases, september};

on_both_databases!(
    a_row_reads_back_as_it_was_stored,
    every_code_reads_back,
    a_natural_key_finds_its_report_even_deleted,
    a_range_holds_both_its_ends,
    single_days_are_read_without_the_days_between,
    a_list_is_ordered_by_start_and_stable_under_inserts,
    a_list_keeps_to_its_filter,
    a_list_by_date_holds_the_ends_of_the_earth,
    days_crossed_at_midnight_are_found_once_each,
);

fn ids(found: &[Versioned<Session>]) -> Vec<plimsoll_api::ids::SessionId> {
    found
        .iter()
        .map(|session| session.content.session_id)
        .collect()
}

async fn a_row_reads_back_as_it_was_stored(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let mut session = on.session(mara, september(7));
    session.event_external_id = Some("series-4#2026-09-07".to_owned());
    session.minutes_before_midnight = Some(45);
    session.note = Some("Halle kalt, 50 % im Tor".to_owned().into());
    session.reason = Some("sent late".to_owned().into());
    session.rpe_half = 0;
    on.add_session(session.clone(), later(4)).await;
    let id = session.session_id;
    let found = on
        .read(move |conn, tenant| sessions::current(conn, tenant, id))
        .await
        .unwrap();
    assert_eq!(found.content, session);
    let version = found.version;
    assert_eq!(
        (version.number, version.received_at, version.superseded_at),
        (1, later(4), None)
    );
    assert_eq!(
        (version.author.as_str(), version.acting_role.as_str()),
        ("suite", "integration")
    );
    assert_eq!((version.seq, version.deleted), (2, false));
}

async fn every_code_reads_back(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let mut stored = Vec::new();
    let most = Setting::ALL.len().max(Kind::ALL.len());
    for place in 0..most {
        let mut session = on.session(mara, september(1 + i8::try_from(place).unwrap()));
        session.setting = Setting::ALL[place % Setting::ALL.len()];
        session.kind = Kind::ALL[place % Kind::ALL.len()];
        session.basis = Basis::ALL[place % Basis::ALL.len()];
        session.given_by = GivenBy::ALL[place % GivenBy::ALL.len()];
        stored.push(session);
    }
    let rows = stored.clone();
    on.write(now(), move |conn, tenant, moment| {
        sessions::insert(conn, tenant, moment, AUTHOR, &rows)
    })
    .await
    .unwrap();
    let found = on
        .read(|conn, tenant| {
            sessions::in_dates(
                conn,
                tenant,
                Who::WholeClub,
                september(1),
                september(30),
                Known::Now,
            )
        })
        .await;
    assert_eq!(
        found
            .into_iter()
            .map(|session| session.content)
            .collect::<Vec<_>>(),
        stored
    );
}

async fn a_natural_key_finds_its_report_even_deleted(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let session = on.session(mara, september(7));
    on.add_session(session.clone(), now()).await;
    let change = Change {
        replaces: 1,
        content: session.clone(),
        deleted: true,
    };
    on.write(later(1), move |conn, tenant, moment| {
        sessions::supersede(conn, tenant, moment, AUTHOR, &[change])
    })
    .await
    .unwrap();
    let keys = [session.natural_key.clone(), "app-unknown".to_owned()];
    let look_up = |source: &'static str| {
        let keys = keys.clone();
        on.read(move |conn, tenant| sessions::by_natural_keys(conn, tenant, source, &keys))
    };
    let found = look_up("app").await;
    assert_eq!(ids(&found), [session.session_id]);
    assert!(found[0].version.deleted);
    assert!(look_up("another client").await.is_empty());

    // Deleted or not, the key is this report's.
    let mut twin = on.session(mara, september(8));
    twin.natural_key = session.natural_key;
    let refused = on
        .write(later(2), move |conn, tenant, moment| {
            sessions::insert(conn, tenant, moment, AUTHOR, &[twin])
        })
        .await;
    assert!(matches!(refused, Err(StoreError::Conflict)), "{refused:?}");
}

async fn a_range_holds_both_its_ends(on: Fixture) {
    let (mara, jonna) = (on.add_athlete("Mara").await, on.add_athlete("Jonna").await);
    let mut stored = Vec::new();
    for athlete in [mara, jonna] {
        for day in [6, 7, 13, 14] {
            let session = on.session(athlete, september(day));
            on.add_session(session.clone(), now()).await;
            stored.push(session.session_id);
        }
    }
    let range = |who: Option<Vec<_>>| {
        on.read(move |conn, tenant| {
            let who = who.as_deref().map_or(Who::WholeClub, Who::Athletes);
            sessions::in_dates(conn, tenant, who, september(7), september(13), Known::Now)
        })
    };
    let of = |places: [usize; 4]| places.map(|place| stored[place]).to_vec();
    assert_eq!(ids(&range(None).await), of([1, 2, 5, 6]));
    assert_eq!(
        ids(&range(Some(vec![jonna, mara, jonna])).await),
        of([1, 2, 5, 6])
    );
    assert_eq!(ids(&range(Some(vec![jonna])).await), stored[5..7]);
    assert_eq!(ids(&range(Some(vec![])).await), []);
}

async fn single_days_are_read_without_the_days_between(on: Fixture) {
    let (mara, jonna) = (on.add_athlete("Mara").await, on.add_athlete("Jonna").await);
    let mut stored = Vec::new();
    for athlete in [mara, jonna] {
        for day in 1..=28 {
            let session = on.session(athlete, september(day));
            on.add_session(session.clone(), now()).await;
            stored.push(session.session_id);
        }
    }
    let days: DaySet = [(mara, 4), (mara, 2), (jonna, 2), (jonna, 26), (mara, 30)]
        .into_iter()
        .map(|(athlete, day)| (athlete, september(day)))
        .collect();
    let found = on
        .read(move |conn, tenant| sessions::on_days(conn, tenant, &days))
        .await;
    assert_eq!(
        ids(&found),
        [stored[1], stored[3], stored[28 + 1], stored[28 + 25]]
    );
}

async fn a_list_is_ordered_by_start_and_stable_under_inserts(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let mut rows = Vec::new();
    // Two that begin at the same instant: the id decides.
    for (day, hours) in [(3, 0), (1, 0), (2, 0), (2, 0), (2, 5)] {
        let mut session = on.session(mara, september(day));
        session.natural_key = session.session_id.to_string();
        session.started_at += SignedDuration::from_hours(hours);
        on.add_session(session.clone(), now()).await;
        rows.push(session);
    }
    let page = |after| {
        on.read(move |conn, tenant| {
            let filter = SessionFilter {
                who: Who::WholeClub,
                from: None,
                to: None,
            };
            sessions::page(conn, tenant, filter, after, 2)
        })
    };
    let mut seen = Vec::new();
    let mut after = None;
    loop {
        let found = page(after).await;
        let Some(last) = found.last() else { break };
        after = Some((last.content.started_at, last.content.session_id));
        seen.extend(ids(&found));
        if seen.len() == 2 {
            // One that belongs on a page already turned.
            let mut early = on.session(mara, september(1));
            early.natural_key = early.session_id.to_string();
            early.started_at -= SignedDuration::from_hours(1);
            on.add_session(early, now()).await;
        }
    }
    let expected: Vec<_> = [1, 2, 3, 4, 0]
        .map(|place: usize| rows[place].session_id)
        .to_vec();
    assert_eq!(seen, expected);
}

async fn a_list_keeps_to_its_filter(on: Fixture) {
    let girls = on.add_squad("U17 girls").await;
    let (mara, jonna) = (on.add_athlete("Mara").await, on.add_athlete("Jonna").await);
    on.add_membership(on.membership(mara, girls), now()).await;
    let mut stored = Vec::new();
    for (athlete, day) in [(mara, 1), (jonna, 2), (mara, 3)] {
        let session = on.session(athlete, september(day));
        on.add_session(session.clone(), now()).await;
        stored.push(session.session_id);
    }
    let listed = on
        .read(move |conn, tenant| {
            let list = |conn: &mut _, who, from, to| {
                sessions::page(conn, tenant, SessionFilter { who, from, to }, None, 10)
            };
            Ok([
                list(conn, Who::Squads(&[girls], september(5)), None, None)?,
                list(conn, Who::Athletes(&[jonna]), None, None)?,
                list(conn, Who::WholeClub, Some(september(2)), None)?,
                list(conn, Who::WholeClub, None, Some(september(2)))?,
                list(conn, Who::Athletes(&[]), None, None)?,
            ])
        })
        .await;
    let listed: Vec<_> = listed.iter().map(|found| ids(found)).collect();
    assert_eq!(
        listed,
        [
            vec![stored[0], stored[2]],
            vec![stored[1]],
            vec![stored[1], stored[2]],
            vec![stored[0], stored[1]],
            vec![]
        ]
    );
}

/// A day begins 14 hours before it does in London and ends 12 hours after.
async fn a_list_by_date_holds_the_ends_of_the_earth(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let mut stored = Vec::new();
    for started_at in ["2026-09-06T10:00:00Z", "2026-09-08T11:59:00Z"] {
        let mut session = on.session(mara, september(7));
        session.natural_key = started_at.to_owned();
        session.started_at = started_at.parse().unwrap();
        on.add_session(session.clone(), now()).await;
        stored.push(session.session_id);
    }
    let day = Some(september(7));
    let found = on
        .read(move |conn, tenant| {
            let filter = SessionFilter {
                who: Who::WholeClub,
                from: day,
                to: day,
            };
            sessions::page(conn, tenant, filter, None, 10)
        })
        .await;
    assert_eq!(ids(&found), stored);
}

async fn days_crossed_at_midnight_are_found_once_each(on: Fixture) {
    let (mara, jule) = (on.add_athlete("Mara").await, on.add_athlete("Jule").await);
    let crossing = |athlete, day| {
        let mut session = on.session(athlete, day);
        session.natural_key = session.session_id.to_string();
        session.minutes_before_midnight = Some(45);
        session
    };
    let deleted = crossing(mara, september(9));
    let mut corrected = crossing(jule, september(10));
    for session in [
        crossing(mara, september(6)),
        crossing(mara, september(7)),
        crossing(mara, september(7)),
        crossing(jule, september(8)),
        on.session(jule, september(9)),
        deleted.clone(),
        corrected.clone(),
    ] {
        on.add_session(session, now()).await;
    }
    corrected.minutes_before_midnight = None;
    let changes = [(deleted, true), (corrected, false)].map(|(content, deleted)| Change {
        replaces: 1,
        content,
        deleted,
    });
    on.write(later(4), move |conn, tenant, moment| {
        sessions::supersede(conn, tenant, moment, AUTHOR, &changes)
    })
    .await
    .unwrap();
    let found = on
        .read(|conn, tenant| sessions::crossing_midnight(conn, tenant, september(7)))
        .await;
    assert_eq!(found, [(mara, september(7)), (jule, september(8))]);
    let other = on.other_club().await;
    let theirs = on
        .store
        .read(other, move |conn| {
            sessions::crossing_midnight(conn, other, september(1))
        })
        .await;
    assert_eq!(theirs.unwrap(), []);
}
