//! Where the two databases behave differently by themselves, and must not through the store.

use jiff::{SignedDuration, Timestamp};
use plimsoll_api::store::athletes::NameMatch;
use plimsoll_api::store::day_totals::{self, Days, Totals};
use plimsoll_api::store::{Change, Known, StoreError, Who, athletes, sessions, whole_microsecond};
use plimsoll_domain::Setting;

use crate::support::{AUTHOR, Fixture, later, now, on_both_databases, september};

on_both_databases!(
    a_row_of_nobody_is_refused,
    a_taken_key_is_a_conflict,
    a_key_twice_in_one_batch,
    a_search_ignores_case_and_takes_wildcards_literally,
    names_are_ordered_by_their_bytes,
    instants_keep_their_microseconds,
    days_of_any_century;
    filtered:
    more_rows_than_a_statement_may_bind,
);

/// SQLite checks foreign keys only on connections that ask for it.
async fn a_row_of_nobody_is_refused(on: Fixture) {
    let orphan = on.session(on.id(), september(7));
    let refused = on
        .write(now(), move |conn, tenant, moment| {
            sessions::insert(conn, tenant, moment, AUTHOR, &[orphan])
        })
        .await;
    assert!(matches!(refused, Err(StoreError::Reference)), "{refused:?}");
}

/// SQLite does not name the constraint; the kind must be enough.
async fn a_taken_key_is_a_conflict(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let session = on.session(mara, september(7));
    on.add_session(session.clone(), now()).await;
    let mut same_id = on.session(mara, september(8));
    same_id.session_id = session.session_id;
    let mut same_key = on.session(mara, september(8));
    same_key.natural_key = session.natural_key;
    for twin in [same_id, same_key] {
        let refused = on
            .write(now(), move |conn, tenant, moment| {
                sessions::insert(conn, tenant, moment, AUTHOR, &[twin])
            })
            .await;
        assert!(matches!(refused, Err(StoreError::Conflict)), "{refused:?}");
    }
}

/// In one upsert SQLite lets the last win and PostgreSQL refuses: day totals are keyed by a map, so
/// it cannot be asked for. In an insert both refuse.
async fn a_key_twice_in_one_batch(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let (first, mut second) = (
        on.session(mara, september(7)),
        on.session(mara, september(8)),
    );
    second.natural_key.clone_from(&first.natural_key);
    let twins = [first.clone(), second];
    let refused = on
        .write(now(), move |conn, tenant, moment| {
            sessions::insert(conn, tenant, moment, AUTHOR, &twins)
        })
        .await;
    assert!(matches!(refused, Err(StoreError::Conflict)), "{refused:?}");

    on.add_session(first.clone(), now()).await;
    let change = Change {
        replaces: 1,
        content: first,
        deleted: false,
    };
    let twice = [change.clone(), change];
    let refused = on
        .write(later(1), move |conn, tenant, moment| {
            sessions::supersede(conn, tenant, moment, AUTHOR, &twice)
        })
        .await;
    assert!(matches!(refused, Err(StoreError::Conflict)), "{refused:?}");
}

/// 1,300 reports of 28 columns are 36,400 values: more than SQLite takes in one statement, and
/// 3,900 day totals of 11 columns about as many.
async fn more_rows_than_a_statement_may_bind(on: Fixture) {
    let athletes: Vec<_> = (0..1_300)
        .map(|number| on.athlete(&format!("N{number}")))
        .collect();
    let ids: Vec<_> = athletes.iter().map(|athlete| athlete.athlete_id).collect();
    let rows: Vec<_> = ids.iter().map(|id| on.session(*id, september(7))).collect();
    let days: Days = ids
        .iter()
        .flat_map(|id| (1..=3).map(|day| (*id, september(day))))
        .map(|key| {
            (
                key,
                [(
                    Setting::Club,
                    Totals {
                        logged_half: 2,
                        ..Totals::default()
                    },
                )]
                .into(),
            )
        })
        .collect();
    let changes: Vec<_> = rows
        .iter()
        .map(|row| Change {
            replaces: 1,
            content: row.clone(),
            deleted: false,
        })
        .collect();
    let keys: Vec<_> = rows.iter().map(|row| row.natural_key.clone()).collect();
    on.write(now(), move |conn, tenant, moment| {
        athletes::insert(conn, tenant, moment, AUTHOR, &athletes)?;
        sessions::insert(conn, tenant, moment, AUTHOR, &rows)?;
        sessions::supersede(conn, tenant, moment, AUTHOR, &changes)?;
        day_totals::replace(conn, tenant, &days)?;
        day_totals::replace(conn, tenant, &days)
    })
    .await
    .unwrap();
    let (sessions, by_key, totals) = on
        .read(move |conn, tenant| {
            let (who, from, to) = (Who::Athletes(&ids), september(1), september(30));
            Ok((
                sessions::in_dates(conn, tenant, who, from, to, Known::Now)?,
                sessions::by_natural_keys(conn, tenant, "app", &keys)?,
                day_totals::in_dates(conn, tenant, who, from, to)?,
            ))
        })
        .await;
    assert_eq!(
        (sessions.len(), by_key.len(), totals.len()),
        (1_300, 1_300, 3_900)
    );
    assert!(sessions.is_sorted_by_key(|row| row.content.athlete_id));
    assert!(sessions.iter().all(|row| row.version.number == 2));
}

async fn a_search_ignores_case_and_takes_wildcards_literally(on: Fixture) {
    for name in [
        "Bert Øst",
        "bertine",
        "Robert",
        "ÖZLEM",
        "100 % Anna",
        "a_b",
    ] {
        on.add_athlete(name).await;
    }
    let cases = [
        ("BERT", NameMatch::Prefix, vec!["Bert Øst", "bertine"]),
        (
            "bert",
            NameMatch::Anywhere,
            vec!["Bert Øst", "bertine", "Robert"],
        ),
        ("özl", NameMatch::Prefix, vec!["ÖZLEM"]),
        ("øST", NameMatch::Anywhere, vec!["Bert Øst"]),
        ("%", NameMatch::Anywhere, vec!["100 % Anna"]),
        ("a_", NameMatch::Anywhere, vec!["a_b"]),
        ("\\", NameMatch::Anywhere, vec![]),
    ];
    for (text, how, expected) in cases {
        let found = on
            .read(move |conn, tenant| athletes::search(conn, tenant, Who::WholeClub, text, how, 10))
            .await;
        let names: Vec<_> = found
            .iter()
            .map(|row| row.content.display_name.as_str())
            .collect();
        assert_eq!(names, expected, "{text}");
    }
}

async fn names_are_ordered_by_their_bytes(on: Fixture) {
    for name in ["zoe", "Åse", "Anna", "anna b", "anna-b", "Øyvind"] {
        on.add_athlete(name).await;
    }
    let found = on
        .read(|conn, tenant| {
            athletes::search(conn, tenant, Who::WholeClub, "", NameMatch::Prefix, 10)
        })
        .await;
    let names: Vec<_> = found
        .iter()
        .map(|row| row.content.display_name.as_str())
        .collect();
    assert_eq!(names, ["Anna", "anna b", "anna-b", "zoe", "Åse", "Øyvind"]);
}

async fn instants_keep_their_microseconds(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let instants = [
        now() + SignedDuration::from_micros(123_456),
        now() + SignedDuration::from_nanos(999),
        "1969-12-31T23:59:59.9999999Z".parse().unwrap(),
        "0001-01-01T00:00:00Z".parse().unwrap(),
        "9999-12-30T22:00:00.999999Z".parse().unwrap(),
    ];
    for (place, instant) in instants.into_iter().enumerate() {
        let mut session = on.session(mara, september(1 + i8::try_from(place).unwrap()));
        session.started_at = instant;
        let id = session.session_id;
        on.add_session(session, now()).await;
        let found = on
            .read(move |conn, tenant| sessions::current(conn, tenant, id))
            .await
            .unwrap();
        assert_eq!(found.content.started_at, whole_microsecond(instant));
    }
    let microsecond = |text: &str| whole_microsecond(text.parse().unwrap());
    assert_eq!(
        microsecond("1969-12-31T23:59:59.9999999Z"),
        "1969-12-31T23:59:59.999999Z".parse::<Timestamp>().unwrap()
    );
    assert_eq!(whole_microsecond(now()), now());
}

async fn days_of_any_century(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    for day in [
        "1900-02-28",
        "1999-12-31",
        "2000-01-01",
        "2000-02-29",
        "2026-12-31",
        "9999-12-31",
    ] {
        let mut session = on.session(mara, september(1));
        session.load_date = day.parse().unwrap();
        session.natural_key = day.to_owned();
        let id = session.session_id;
        on.add_session(session.clone(), now()).await;
        let found = on
            .read(move |conn, tenant| sessions::current(conn, tenant, id))
            .await
            .unwrap();
        assert_eq!(found.content, session);
    }
}
