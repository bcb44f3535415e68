//! A fresh, migrated database for one test, gone when the test ends.

use std::hash::{DefaultHasher, Hash, Hasher};
use std::path::Path;

use diesel::connection::SimpleConnection;
use diesel::prelude::*;
use tempfile::TempDir;

use crate::store::{DatabaseUrl, MasterKeys, Store, StoreSettings, migrate};

/// Makes the role of [`as_app`].
const ROLE: &str = include_str!("../../../../tests/postgres_role.sql");

/// Where the tests find a PostgreSQL server.
const POSTGRES_VARIABLE: &str = "PLIMSOLL_TEST_POSTGRES_URL";

/// A database of its own.
#[derive(Debug)]
pub struct TestDatabase {
    url: DatabaseUrl,
    reads_unfiltered: bool,
    place: Place,
}

#[derive(Debug)]
enum Place {
    Folder(#[expect(dead_code, reason = "removes the folder when dropped")] TempDir),
    Server { server: String, name: String },
}

impl TestDatabase {
    /// A SQLite file in a temporary folder.
    ///
    /// # Panics
    /// When it cannot be made.
    pub fn sqlite() -> Self {
        let database = Self::sqlite_empty();
        migrate::apply(&database.url).expect("migrations of SQLite");
        database
    }

    /// As [`TestDatabase::sqlite`] without any tables.
    ///
    /// # Panics
    /// When the folder cannot be made.
    pub fn sqlite_empty() -> Self {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let url = DatabaseUrl::sqlite(folder.path().join("plimsoll.sqlite"));
        Self {
            url,
            reads_unfiltered: false,
            place: Place::Folder(folder),
        }
    }

    /// A database on the server named by `PLIMSOLL_TEST_POSTGRES_URL`, copied from a template that
    /// is migrated once.
    ///
    /// # Panics
    /// When the variable is missing or the database cannot be made.
    pub fn postgres() -> Self {
        let server = server();
        let template = template(&server);
        Self::on_server(server, &format!("TEMPLATE {template} STRATEGY file_copy"))
    }

    /// As [`TestDatabase::postgres`], with every row there twice, the second time as another club's, and with reads that find no
    /// predicate of a club: what is read of a club is then right only because of row-level security (`unfiltered.sql`).
    ///
    /// # Panics
    /// As [`TestDatabase::postgres`].
    pub fn unfiltered() -> Self {
        let mut database = Self::postgres();
        database.reads_unfiltered = true;
        let made = database.as_superuser(include_str!("unfiltered.sql"));
        made.expect("views and twins");
        database
    }

    /// Runs statements past all walls.
    ///
    /// # Errors
    /// What the database said.
    ///
    /// # Panics
    /// On SQLite, which has no walls.
    pub fn as_superuser(&self, statements: &str) -> Result<(), String> {
        let Place::Server { server, name } = &self.place else {
            panic!("SQLite has no roles");
        };
        let mut conn =
            PgConnection::establish(&with_database(server, name)).expect("the test server");
        conn.batch_execute(statements)
            .map_err(|error| error.to_string())
    }

    /// As [`TestDatabase::postgres`] without any tables.
    ///
    /// # Panics
    /// When the variable is missing or the database cannot be made.
    pub fn postgres_empty() -> Self {
        Self::on_server(server(), "TEMPLATE template0")
    }

    /// A copy of its own of a database on a server; whoever is connected to it is put out.
    ///
    /// # Panics
    /// On SQLite, where a file is copied, or when the copy cannot be made.
    pub fn copy(&self) -> Self {
        let Place::Server { server, name } = &self.place else {
            panic!("a file is copied as a file");
        };
        let put_out = "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname =";
        administer(server, &format!("{put_out} '{name}'"));
        Self::on_server(
            server.clone(),
            &format!("TEMPLATE {name} STRATEGY file_copy"),
        )
    }

    fn on_server(server: String, options: &str) -> Self {
        let name = format!("plimsoll_test_{}", random_suffix());
        administer(&server, ROLE);
        administer(
            &server,
            &format!("CREATE DATABASE {name} OWNER plimsoll_app {options}"),
        );
        let url = DatabaseUrl::Postgres(as_app(&server, &name));
        Self {
            url,
            reads_unfiltered: false,
            place: Place::Server { server, name },
        }
    }

    /// Where it is.
    pub fn url(&self) -> &DatabaseUrl {
        &self.url
    }

    /// A store on it.
    ///
    /// # Panics
    /// When it cannot be reached.
    pub fn store(&self) -> Store {
        self.store_with(StoreSettings {
            read_connections: 2,
            ..StoreSettings::default()
        })
    }

    /// A store on it with other settings.
    ///
    /// # Panics
    /// When it cannot be reached.
    pub fn store_with(&self, settings: StoreSettings) -> Store {
        let settings = StoreSettings {
            reads_unfiltered: self.reads_unfiltered,
            ..settings
        };
        let masters = MasterKeys::new(&[[7; 32]]).expect("a master key");
        Store::connect(&self.url, settings, masters).expect("a store on the test database")
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        if let Self::Server { server, name } = self {
            administer(
                server,
                &format!("DROP DATABASE IF EXISTS {name} WITH (FORCE)"),
            );
        }
    }
}

fn server() -> String {
    std::env::var(POSTGRES_VARIABLE).unwrap_or_else(|_| {
        panic!(
            "{POSTGRES_VARIABLE} is not set: start a server with `tests/postgres.sh start` and set \
             it to what `tests/postgres.sh url` prints, or let `tests/run` do both"
        )
    })
}

/// The migrated database that tests are copied from, made by whichever test comes first. Its name
/// carries a hash of the migrations, so that a changed migration makes a new one.
fn template(server: &str) -> String {
    let template = format!("plimsoll_template_{:016x}", hash_of_migrations());
    let mut conn = PgConnection::establish(server).expect("the test server");
    conn.batch_execute("SELECT pg_advisory_lock(hashtext('plimsoll test template'));")
        .expect("the lock on the template");
    let found: i64 =
        diesel::sql_query("SELECT count(*) AS found FROM pg_database WHERE datname = $1")
            .bind::<diesel::sql_types::Text, _>(&template)
            .get_result::<Count>(&mut conn)
            .expect("the server's databases")
            .found;
    if found == 0 {
        let unfinished = format!("{template}_{}", random_suffix());
        administer(server, ROLE);
        administer(
            server,
            &format!("CREATE DATABASE {unfinished} OWNER plimsoll_app TEMPLATE template0"),
        );
        migrate::apply(&DatabaseUrl::Postgres(as_app(server, &unfinished)))
            .expect("migrations of PostgreSQL");
        administer(
            server,
            &format!("ALTER DATABASE {unfinished} RENAME TO {template}"),
        );
    }
    template
}

fn hash_of_migrations() -> u64 {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../migrations/postgres");
    let mut scripts: Vec<_> = std::fs::read_dir(folder)
        .expect("the folder of migrations")
        .map(|entry| entry.expect("a migration").path().join("up.sql"))
        .collect();
    scripts.sort();
    let mut hasher = DefaultHasher::new();
    for script in scripts {
        std::fs::read(script)
            .expect("a migration's script")
            .hash(&mut hasher);
    }
    hasher.finish()
}

#[derive(QueryableByName)]
struct Count {
    #[diesel(sql_type = diesel::sql_types::BigInt)]
    found: i64,
}

fn administer(server: &str, statement: &str) {
    PgConnection::establish(server)
        .expect("the test server")
        .batch_execute(statement)
        .expect(statement);
}

/// A database of the server as the role that the service runs as, which row-level security binds.
fn as_app(server: &str, name: &str) -> String {
    let url = with_database(server, name);
    let (_, place) = url.split_once("://").expect("a URL");
    let place = place.rsplit_once('@').map_or(place, |(_, place)| place);
    format!("postgres://plimsoll_app:plimsoll_app@{place}")
}

/// The server's URL with another database name.
fn with_database(server: &str, name: &str) -> String {
    let (address, parameters) = server.split_once('?').unwrap_or((server, ""));
    let (host, _) = address.rsplit_once('/').expect("a URL with a database");
    if parameters.is_empty() {
        format!("{host}/{name}")
    } else {
        format!("{host}/{name}?{parameters}")
    }
}

fn random_suffix() -> String {
    let id = crate::ids::Ids::random()
        .expect("randomness")
        .next(jiff::Timestamp::UNIX_EPOCH);
    id.simple().to_string()
}
