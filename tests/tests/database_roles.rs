//! Which role the service is on PostgreSQL: one that row-level security binds, and that need own nothing.

use e2e::{Database, Postgres, Server, assert_ends};

/// The runbook's two roles: one owns the tables and migrates, the other serves.
#[tokio::test]
async fn the_service_needs_to_own_nothing_postgres() {
    let postgres = Postgres::start();
    for _ in 0..2 {
        postgres.superuser_file("deploy/postgres-roles.sql");
    }
    // Any server that runs has the program and its settings at hand.
    let other = Server::start(Database::Sqlite).await;
    let owner = postgres.url_as("plimsoll_owner");
    let as_owner = [
        ("PLIMSOLL_DATABASE_URL", &*owner),
        ("PLIMSOLL_MIGRATE", "off"),
    ];
    assert_ends(
        &other.run_with(&as_owner, &["migrate"]),
        0,
        "wall_off_clubs",
    );

    let app = postgres.url_as("plimsoll");
    let server = Server::setup_at(&app)
        .setting("PLIMSOLL_MIGRATE", "off")
        .start()
        .await;
    let club = server.club("Havneby").await;
    let mara = club.squad("U16").await.athlete("P-07").await;
    mara.session("2026-11-02T17:30:00+01:00", 90, 6.0).await;
    let owned = server.rows("SELECT count(*) FROM pg_class WHERE relowner = 'plimsoll'::regrole");
    assert_eq!(owned, [["0"]]);
    for forbidden in [
        "DROP POLICY club_wall ON athletes",
        "ALTER TABLE athletes DISABLE ROW LEVEL SECURITY",
        "TRUNCATE athletes CASCADE",
        "DROP TRIGGER audit_reads_kept ON audit_reads",
    ] {
        let refused = postgres.psql_as("plimsoll", forbidden);
        let said = refused.expect_err(forbidden);
        assert!(
            said.contains("must be owner") || said.contains("permission denied"),
            "{said}"
        );
    }
    // Who names no club sees nothing, whoever it is but a superuser.
    for role in ["plimsoll", "plimsoll_owner"] {
        let seen = postgres
            .psql_as(role, "SELECT count(*) FROM session_reports")
            .expect("an answer");
        assert_eq!(seen.trim(), "0", "{role}");
    }
}

#[tokio::test]
async fn a_role_that_passes_the_wall_over_is_refused_postgres() {
    let postgres = Postgres::start();
    let other = Server::start(Database::Sqlite).await;
    let superuser = postgres.superuser_url();
    let settings = [
        ("PLIMSOLL_DATABASE_URL", &*superuser),
        ("PLIMSOLL_MIGRATE", "on"),
    ];
    let refused = other.run_with(&settings, &["serve"]);
    assert_ends(&refused, 2, "is a superuser or has BYPASSRLS");
    assert_ends(&refused, 2, "PLIMSOLL_ROW_SECURITY=off");
    assert_ends(
        &other.run_with(&settings, &["check"]),
        1,
        "wrong database: the database role ",
    );
    let server = Server::setup_at(&superuser)
        .setting("PLIMSOLL_ROW_SECURITY", "off")
        .start()
        .await;
    server.club("Havneby").await;
}
