//! What is private is sealed: it opens where it was stored and nowhere else, whatever happens to its key.

use plimsoll_api::clock::Clock;
use plimsoll_api::ids::SessionId;
use plimsoll_api::services::keys;
use plimsoll_api::store::idempotency::{self, StoredAnswer};
use plimsoll_api::store::reseal::COLUMNS;
use plimsoll_api::store::{
    Channel, Clubs, Conn, DatabaseUrl, MasterKeys, Private, Store, StoreError, StoreSettings,
    Tenant, club_keys, clubs, savepoint, sessions, testing,
};
use serde_json::json;

use crate::notices::due_to;
use crate::support::{AUTHOR, Fixture, later, now, on_both_databases, september, write_as};

on_both_databases!(
    ; filtered:
    a_value_opens_in_its_own_place_alone,
    a_changed_octet_is_told_by_its_column,
    a_key_that_was_undone_is_not_used_again,
    writers_that_come_first_share_a_key,
    a_rotation_leaves_nothing_under_the_old_key,
    a_rotation_that_was_broken_off_goes_on,
    what_was_stored_before_is_read_and_then_sealed,
    without_its_keys_nothing_of_a_club_opens,
    keys_are_wrapped_anew_by_another_master_key,
);

const NOTE: &str = "left knee swollen";

/// A report of the fixture's club with a note and a reason.
async fn noted(on: &Fixture, day: i8) -> SessionId {
    let athlete = on.add_athlete(&format!("Mara {day}")).await;
    let mut session = on.session(athlete, september(day));
    session.note = Some(NOTE.to_owned().into());
    session.reason = Some("entered late".to_owned().into());
    let id = session.session_id;
    on.add_session(session, now()).await;
    id
}

fn note_of(conn: &mut Conn, tenant: Tenant, id: SessionId) -> Result<String, StoreError> {
    let found = sessions::current(conn, tenant, id)?.ok_or(StoreError::NotFound)?;
    Ok(found
        .content
        .note
        .map(Private::into_inner)
        .unwrap_or_default())
}

async fn read_note(store: &Store, tenant: Tenant, id: SessionId) -> Result<String, StoreError> {
    store
        .read(tenant, move |conn| note_of(conn, tenant, id))
        .await
}

async fn run(on: &Fixture, sql: String) {
    let done = on
        .store
        .write(Clubs::Every, move |conn| testing::execute(conn, &sql))
        .await;
    done.unwrap();
}

async fn count(on: &Fixture, sql: String) -> i64 {
    on.store
        .read(Clubs::Every, move |conn| testing::number(conn, &sql))
        .await
        .unwrap()
}

/// Octets as the database's SQL writes them.
fn octets(on: &Fixture, hex: &str) -> String {
    match on.database.url() {
        DatabaseUrl::Sqlite(_) => format!("x'{hex}'"),
        DatabaseUrl::Postgres(_) => format!("'\\x{hex}'::bytea"),
    }
}

/// An id as the database's SQL writes it.
fn id(on: &Fixture, id: uuid::Uuid) -> String {
    match on.database.url() {
        DatabaseUrl::Sqlite(_) => format!("x'{}'", id.simple()),
        DatabaseUrl::Postgres(_) => format!("'{id}'"),
    }
}

/// Values of a column that begin otherwise than those under a key.
async fn not_under(on: &Fixture, column: &str, number: i32) -> i64 {
    let (table, column) = column.split_once('.').unwrap();
    let head = octets(on, &format!("02{number:08x}"));
    count(
        on,
        format!(
            "SELECT count(*) FROM {table} WHERE {column} IS NOT NULL AND substr({column}, 1, 5) <> {head}"
        ),
    )
    .await
}

#[track_caller]
fn assert_not_opened<T: std::fmt::Debug>(outcome: Result<T, StoreError>, column: &str) {
    match outcome {
        Err(StoreError::NotOpened(named)) => assert_eq!(named, column),
        other => panic!("{column}: {other:?}"),
    }
}

async fn a_value_opens_in_its_own_place_alone(on: Fixture) {
    let (first, second) = (noted(&on, 1).await, noted(&on, 2).await);
    let (first_id, second_id) = (id(&on, first.uuid()), id(&on, second.uuid()));
    assert_eq!(read_note(&on.store, on.tenant, first).await.unwrap(), NOTE);

    let moved = format!(
        "UPDATE session_reports SET note = (SELECT note FROM session_reports WHERE session_id = {first_id}) \
         WHERE session_id = {second_id}"
    );
    run(&on, moved).await;
    assert_not_opened(
        read_note(&on.store, on.tenant, second).await,
        "session_reports.note",
    );
    run(
        &on,
        format!("UPDATE session_reports SET note = reason WHERE session_id = {first_id}"),
    )
    .await;
    assert_not_opened(
        read_note(&on.store, on.tenant, first).await,
        "session_reports.note",
    );

    let third = noted(&on, 3).await;
    let other = on.other_club().await;
    let mut session = on.session(on.id(), september(3));
    session.session_id = third;
    session.note = Some("of the other club".to_owned().into());
    let athlete = on.athlete("Liv");
    session.athlete_id = athlete.athlete_id;
    write_as(&on.store, other, now(), move |conn, tenant, moment| {
        plimsoll_api::store::athletes::insert(conn, tenant, moment, AUTHOR, &[athlete])?;
        sessions::insert(conn, tenant, moment, AUTHOR, &[session])
    })
    .await
    .unwrap();
    let (ours, theirs) = (
        id(&on, on.tenant.club_id().uuid()),
        id(&on, other.club_id().uuid()),
    );
    let third_id = id(&on, third.uuid());
    // Not only the value: key and all, which has the same number in both clubs.
    run(
        &on,
        format!(
            "UPDATE session_reports SET note = (SELECT note FROM session_reports WHERE club_id = {ours} \
             AND session_id = {third_id}) WHERE club_id = {theirs}"
        ),
    )
    .await;
    assert_not_opened(
        read_note(&on.store, other, third).await,
        "session_reports.note",
    );
    run(
        &on,
        format!(
            "UPDATE club_keys SET wrapped = (SELECT wrapped FROM club_keys WHERE club_id = {ours}) \
             WHERE club_id = {theirs}"
        ),
    )
    .await;
    assert_not_opened(
        read_note(&on.store, other, third).await,
        "club_keys.wrapped",
    );
    assert_eq!(read_note(&on.store, on.tenant, third).await.unwrap(), NOTE);
}

async fn a_changed_octet_is_told_by_its_column(on: Fixture) {
    let report = noted(&on, 1).await;
    let (last, other) = (octets(&on, "41"), octets(&on, "42"));
    let (begin, end) = match on.database.url() {
        DatabaseUrl::Sqlite(_) => ("CAST(", " AS BLOB)"),
        DatabaseUrl::Postgres(_) => ("(", ")"),
    };
    run(
        &on,
        format!(
            "UPDATE session_reports SET reason = {begin}substr(reason, 1, length(reason) - 1) || \
             CASE substr(reason, length(reason)) WHEN {last} THEN {other} ELSE {last} END{end}"
        ),
    )
    .await;
    let outcome = read_note(&on.store, on.tenant, report).await;
    let told = outcome.as_ref().unwrap_err().to_string();
    assert!(!told.contains("late"), "{told}");
    assert_not_opened(outcome, "session_reports.reason");
}

async fn a_key_that_was_undone_is_not_used_again(on: Fixture) {
    let athlete = on.add_athlete("Mara").await;
    let mut session = on.session(athlete, september(1));
    session.note = Some(NOTE.to_owned().into());
    let id = session.session_id;
    on.write(now(), move |conn, tenant, moment| {
        let undone: Result<(), StoreError> = savepoint(conn, |conn| {
            sessions::insert(conn, tenant, moment, AUTHOR, std::slice::from_ref(&session))?;
            Err(StoreError::Conflict)
        });
        assert!(matches!(undone, Err(StoreError::Conflict)));
        sessions::insert(conn, tenant, moment, AUTHOR, &[session])
    })
    .await
    .unwrap();
    assert_eq!(read_note(&on.store, on.tenant, id).await.unwrap(), NOTE);
}

fn answer(key: u8) -> StoredAnswer {
    StoredAnswer {
        key_hash: vec![key; 32],
        fingerprint: vec![key],
        status: 201,
        headers: json!({}),
        body: NOTE.as_bytes().to_vec().into(),
        created_at: now(),
        expires_at: later(60),
        erased: false,
    }
}

async fn writers_that_come_first_share_a_key(on: Fixture) {
    let tenant = on.tenant;
    let writers = (0..8).map(|key| {
        let store = on.store.clone();
        tokio::spawn(async move {
            let work = move |conn: &mut Conn| idempotency::insert(conn, tenant, &answer(key));
            store.write(tenant, work).await
        })
    });
    for writer in writers.collect::<Vec<_>>() {
        writer.await.unwrap().unwrap();
    }
    for key in 0..8 {
        let find =
            move |conn: &mut Conn, tenant| idempotency::find(conn, tenant, &[key; 32], now());
        assert_eq!(on.read(find).await, Some(answer(key)));
    }
    assert_eq!(
        count(&on, "SELECT count(*) FROM club_keys".to_owned()).await,
        1
    );
}

/// Something in each sealed column.
async fn plant_everything(on: &Fixture) -> SessionId {
    let report = noted(on, 1).await;
    let athlete = on.add_athlete("Liv").await;
    let mut restriction = crate::clinical::restriction(on, athlete, september(1));
    restriction.reason = Some("another athlete's".to_owned().into());
    let mut sign_off = on.sign_off(athlete, september(2));
    sign_off.reason = Some("another athlete's".to_owned().into());
    let mut question = on.question(athlete);
    question.reply = Some("Both legs.".to_owned().into());
    let clearance = crate::clinical::clearance(on, athlete, september(2));
    let mut consent = crate::consents::consent(on, athlete);
    consent.withdrawal_evidence = Some("folder 4".to_owned().into());
    let link = crate::sharing::link(on, athlete);
    on.write(now(), move |conn, tenant, moment| {
        plimsoll_api::store::restrictions::insert(conn, tenant, moment, AUTHOR, &[restriction])?;
        plimsoll_api::store::clearances::append(conn, tenant, moment, AUTHOR, clearance)?;
        plimsoll_api::store::sign_offs::insert(conn, tenant, moment, AUTHOR, &[sign_off])?;
        plimsoll_api::store::questions::insert(conn, tenant, moment, AUTHOR, &[question])?;
        plimsoll_api::store::consents::insert(conn, tenant, moment, AUTHOR, &[consent])?;
        plimsoll_api::store::sharing_links::insert(conn, tenant, &link)?;
        plimsoll_api::store::calendars::insert(conn, tenant, &crate::tenancy::calendar())?;
        let of = crate::tenancy::calendar().calendar_id;
        plimsoll_api::store::calendars::set_text(conn, tenant, of, vec![8; 32].into())?;
        let source = crate::tenancy::roster_source();
        plimsoll_api::store::roster_sources::insert(conn, tenant, &source)?;
        idempotency::insert(conn, tenant, &answer(1))
    })
    .await
    .unwrap();
    crate::flags::acknowledged(on, athlete).await;
    let (mut endpoint, _) = due_to(on, Channel::Webhook).await;
    endpoint.old_secret = Some(vec![8; 32].into());
    on.write(now(), move |conn, tenant, _| {
        plimsoll_api::store::notices::endpoints::save(conn, tenant, &endpoint)
    })
    .await
    .unwrap();
    for column in COLUMNS {
        let (table, name) = column.name.split_once('.').unwrap();
        let filled = format!("SELECT count(*) FROM {table} WHERE {name} IS NOT NULL");
        assert!(count(on, filled).await > 0, "{} is empty", column.name);
    }
    report
}

async fn a_rotation_leaves_nothing_under_the_old_key(on: Fixture) {
    let report = plant_everything(&on).await;
    for column in COLUMNS {
        assert_eq!(not_under(&on, column.name, 1).await, 0, "{}", column.name);
    }
    let clock = Clock::Fixed(later(9));
    let rotated = keys::rotate(&on.store, on.tenant, clock).await.unwrap();
    assert_eq!((rotated.number, rotated.retired), (2, 1));
    assert!(rotated.values >= COLUMNS.len(), "{rotated:?}");
    for column in COLUMNS {
        assert_eq!(not_under(&on, column.name, 2).await, 0, "{}", column.name);
    }
    assert_eq!(read_note(&on.store, on.tenant, report).await.unwrap(), NOTE);
    let open = "SELECT count(*) FROM club_keys WHERE retired_at IS NULL AND number = 2".to_owned();
    assert_eq!(count(&on, open).await, 1);
    let again = keys::rotate(&on.store, on.tenant, clock).await.unwrap();
    assert_eq!((again.number, again.values), (3, rotated.values));
    // Another connection, another club: both are as before.
    let found = on
        .read(move |conn, tenant| idempotency::find(conn, tenant, &[1; 32], now()))
        .await;
    assert_eq!(found, Some(answer(1)));
}

async fn a_rotation_that_was_broken_off_goes_on(on: Fixture) {
    let report = noted(&on, 1).await;
    let begun = on
        .write(now(), |conn, tenant, _| club_keys::begin(conn, tenant))
        .await;
    assert_eq!(begun.unwrap(), 2);
    let later_report = noted(&on, 2).await;
    assert_eq!(not_under(&on, "session_reports.note", 2).await, 1);
    let rotated = keys::rotate(&on.store, on.tenant, Clock::Fixed(later(9)))
        .await
        .unwrap();
    assert_eq!((rotated.number, rotated.retired, rotated.values), (2, 1, 2));
    for id in [report, later_report] {
        assert_eq!(read_note(&on.store, on.tenant, id).await.unwrap(), NOTE);
    }
}

async fn what_was_stored_before_is_read_and_then_sealed(on: Fixture) {
    let report = noted(&on, 1).await;
    // As the migration leaves a text of before: "as before".
    let before = octets(&on, "016173206265666f7265");
    run(&on, format!("UPDATE session_reports SET note = {before}")).await;
    assert_eq!(
        read_note(&on.store, on.tenant, report).await.unwrap(),
        "as before"
    );
    keys::rotate(&on.store, on.tenant, Clock::Fixed(later(9)))
        .await
        .unwrap();
    assert_eq!(not_under(&on, "session_reports.note", 2).await, 0);
    assert_eq!(
        read_note(&on.store, on.tenant, report).await.unwrap(),
        "as before"
    );
}

async fn without_its_keys_nothing_of_a_club_opens(on: Fixture) {
    let report = plant_everything(&on).await;
    let other = on.other_club().await;
    let kept = answer(7);
    on.store
        .write(other, move |conn| idempotency::insert(conn, other, &kept))
        .await
        .unwrap();

    let forgotten = on
        .write(now(), |conn, tenant, _| club_keys::forget(conn, tenant))
        .await;
    assert_eq!(forgotten.unwrap(), 1);
    assert_not_opened(
        read_note(&on.store, on.tenant, report).await,
        "session_reports.note",
    );
    let tenant = on.tenant;
    let kept = on
        .store
        .read(tenant, move |conn| {
            idempotency::find(conn, tenant, &[1; 32], now())
        })
        .await;
    assert_not_opened(kept, "idempotency_keys.body");
    // The next key has the number of the one that is gone, and opens nothing of it.
    noted(&on, 2).await;
    assert_not_opened(
        read_note(&on.store, on.tenant, report).await,
        "session_reports.note",
    );
    let theirs = on
        .store
        .read(other, move |conn| {
            idempotency::find(conn, other, &[7; 32], now())
        })
        .await;
    assert_eq!(theirs.unwrap(), Some(answer(7)));
}

async fn keys_are_wrapped_anew_by_another_master_key(on: Fixture) {
    let report = noted(&on, 1).await;
    // The fixture's own, with one that is newer, and that one alone.
    let connect = |masters: &[[u8; 32]]| {
        let masters = MasterKeys::new(masters).unwrap();
        Store::connect(on.database.url(), StoreSettings::default(), masters).unwrap()
    };
    let unknown = async |store: &Store| {
        store
            .read(Clubs::Every, club_keys::of_unknown_master)
            .await
            .unwrap()
    };
    let (both, newest) = (connect(&[[7; 32], [8; 32]]), connect(&[[8; 32]]));
    assert_eq!((unknown(&both).await, unknown(&newest).await), (0, 1));
    assert_not_opened(
        read_note(&newest, on.tenant, report).await,
        "club_keys.wrapped",
    );
    assert_not_opened(keys::rewrap(&newest).await, "club_keys.wrapped");

    assert_eq!(keys::rewrap(&both).await.unwrap(), 1);
    assert_eq!(keys::rewrap(&both).await.unwrap(), 0);
    assert_eq!((unknown(&newest).await, unknown(&on.store).await), (0, 1));
    assert_eq!(read_note(&newest, on.tenant, report).await.unwrap(), NOTE);
    assert_not_opened(
        read_note(&on.store, on.tenant, report).await,
        "club_keys.wrapped",
    );
    // A new club's key is wrapped by the newest at once.
    let club = Tenant::granted(on.id());
    let made = both.write(club, move |conn| {
        clubs::insert(conn, club, "Nyby", "Europe/Copenhagen", now())?;
        idempotency::insert(conn, club, &answer(3))
    });
    made.await.unwrap();
    assert_eq!((unknown(&newest).await, unknown(&on.store).await), (0, 2));
}
