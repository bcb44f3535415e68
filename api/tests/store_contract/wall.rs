//! Row-level security on PostgreSQL, the wall behind the club that every query names.

use plimsoll_api::store::{Clubs, Known, Tenant, Who, athletes, sessions, testing};
use plimsoll_api::testing::TestDatabase;

use crate::support::{AUTHOR, Fixture, now, september};

const WALK: &str = "SELECT count(*) FROM pg_class t WHERE t.relkind = 'r' AND t.relnamespace = 'public'::regnamespace AND EXISTS (
    SELECT 1 FROM pg_attribute a WHERE a.attrelid = t.oid AND a.attname = 'club_id' AND a.attnotnull)";

async fn count(on: &Fixture, clubs: impl Into<Clubs>, sql: &str) -> i64 {
    let sql = sql.to_owned();
    let counted = on
        .store
        .read(clubs, move |conn| testing::number(conn, &sql));
    counted.await.unwrap()
}

/// Two clubs with a session each; the second club.
async fn two_clubs(on: &Fixture) -> Tenant {
    let other = on.other_club().await;
    for tenant in [on.tenant, other] {
        let athlete = on.athlete("Mara");
        let session = on.session(athlete.athlete_id, september(7));
        crate::support::write_as(&on.store, tenant, now(), move |conn, tenant, moment| {
            athletes::insert(conn, tenant, moment, AUTHOR, &[athlete])?;
            sessions::insert(conn, tenant, moment, AUTHOR, &[session])
        })
        .await
        .unwrap();
    }
    other
}

#[tokio::test]
async fn postgres_walls_every_table_off() {
    let on = Fixture::new(TestDatabase::postgres()).await;
    let tables = count(&on, Clubs::Every, WALK).await;
    assert!(tables > 40, "{tables} tables of clubs");
    let all = "SELECT count(*) FROM pg_class WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace
               AND relname NOT LIKE '\\_\\_%'";
    assert_eq!(
        count(&on, Clubs::Every, all).await,
        tables,
        "tables without a club"
    );
    let walled = format!(
        "{WALK} AND t.relrowsecurity AND t.relforcerowsecurity
         AND (SELECT count(*) FROM pg_policy p WHERE p.polrelid = t.oid) = 1
         AND (SELECT count(*) FROM pg_policy p WHERE p.polrelid = t.oid AND p.polname = 'club_wall' AND p.polcmd = '*'
              AND p.polpermissive AND p.polroles = '{{0}}') = 1"
    );
    assert_eq!(
        count(&on, Clubs::Every, &walled).await,
        tables,
        "tables that a migration did not wall off"
    );
    // A view reads with its owner's rights unless told otherwise, and a function may be made to.
    let beside = "SELECT (SELECT count(*) FROM pg_class WHERE relkind IN ('v', 'm') AND relnamespace = 'public'::regnamespace)
                  + (SELECT count(*) FROM pg_proc WHERE prosecdef AND pronamespace = 'public'::regnamespace)";
    assert_eq!(
        count(&on, Clubs::Every, beside).await,
        0,
        "views, or functions with their owner's rights"
    );
}

#[tokio::test]
async fn postgres_shows_the_clubs_that_were_named_whatever_a_query_says() {
    let on = Fixture::new(TestDatabase::postgres()).await;
    let other = two_clubs(&on).await;
    let reports = "SELECT count(*) FROM session_reports";
    let foreign = format!("{reports} WHERE club_id = '{}'", other.club_id());
    assert_eq!(count(&on, on.tenant, reports).await, 1);
    assert_eq!(count(&on, on.tenant, &foreign).await, 0);
    assert_eq!(count(&on, Clubs::Two(on.tenant, other), reports).await, 2);
    assert_eq!(count(&on, Clubs::Every, reports).await, 2);
    // Nothing of one transaction is left on the connection for the next.
    assert_eq!(count(&on, on.tenant, reports).await, 1);
    let nobody = on.database.url().clone();
    let seen = testing::number_elsewhere(&nobody, reports).unwrap();
    assert_eq!(seen, 0, "rows seen by who names no club");
}

#[tokio::test]
async fn postgres_changes_nothing_of_another_club() {
    let on = Fixture::new(TestDatabase::postgres()).await;
    let other = two_clubs(&on).await;
    let tables = on.store.read(Clubs::Every, testing::keys).await.unwrap();
    let tables: std::collections::BTreeSet<_> =
        tables.into_iter().map(|key| key.table_name).collect();
    let before = rows_of(&on, other).await;
    assert!(before > 3, "{before} rows of the other club");
    for table in tables {
        // The audit list refuses both to everybody.
        if table == "audit_reads" {
            continue;
        }
        let tried = format!(
            "DELETE FROM {table} WHERE club_id = '{0}'; UPDATE {table} SET club_id = club_id WHERE club_id = '{0}'",
            other.club_id()
        );
        let outcome = on
            .store
            .write(on.tenant, move |conn| testing::execute(conn, &tried))
            .await;
        assert!(outcome.is_ok(), "{table}: {outcome:?}");
    }
    assert_eq!(rows_of(&on, other).await, before);
    for tried in [
        format!(
            "INSERT INTO athletes SELECT '{}', athlete_id, created_at FROM athletes",
            other.club_id()
        ),
        format!("UPDATE session_reports SET club_id = '{}'", other.club_id()),
    ] {
        let outcome = on
            .store
            .write(on.tenant, move |conn| testing::execute(conn, &tried))
            .await;
        assert!(outcome.is_err(), "{outcome:?}");
    }
    assert_eq!(rows_of(&on, other).await, before);
}

async fn rows_of(on: &Fixture, tenant: Tenant) -> i64 {
    let club = tenant.club_id();
    let sql = ["clubs", "athletes", "athlete_versions", "session_reports"]
        .map(|table| format!("(SELECT count(*) FROM {table} WHERE club_id = '{club}')"))
        .join(" + ");
    count(on, Clubs::Every, &format!("SELECT {sql}")).await
}

/// The suite's replay without the club in its reads would pass for nothing if there were no foreign row to be met.
#[tokio::test]
async fn unfiltered_reads_meet_foreign_rows_where_the_wall_is_gone() {
    let on = Fixture::new(TestDatabase::unfiltered()).await;
    two_clubs(&on).await;
    let read = || {
        on.read(|conn, tenant| {
            sessions::in_dates(
                conn,
                tenant,
                Who::WholeClub,
                september(1),
                september(30),
                Known::Now,
            )
        })
    };
    assert_eq!(read().await.len(), 1);
    let wall_away = "ALTER TABLE session_reports DISABLE ROW LEVEL SECURITY";
    on.database.as_superuser(wall_away).unwrap();
    assert_eq!(read().await.len(), 4, "two clubs' sessions and their twins");
}
