//! A database of its own for each server.

use std::path::Path;
use std::process::Command;

use reqwest::Url;

use crate::template;

/// The two databases every case runs on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Database {
    /// An embedded SQLite file.
    Sqlite,
    /// A database of its own on the server named by `PLIMSOLL_TEST_POSTGRES_URL`.
    Postgres,
}

impl Database {
    /// Makes a migrated database that lives as long as the returned value. `folder` belongs to one server alone.
    pub(crate) fn create(self, folder: &Path) -> CreatedDatabase {
        match self {
            Self::Sqlite => create_in(folder),
            Self::Postgres => create_on_postgres(folder),
        }
    }
}

pub(crate) struct CreatedDatabase {
    pub(crate) url: String,
    on_postgres: Option<(Url, String)>,
}

impl CreatedDatabase {
    /// One that the test made, and removes.
    pub(crate) fn of_the_test(url: String) -> Self {
        Self {
            url,
            on_postgres: None,
        }
    }
}

impl Drop for CreatedDatabase {
    fn drop(&mut self) {
        if let Some((server, name)) = &self.on_postgres {
            psql(server, &format!(r#"DROP DATABASE "{name}" WITH (FORCE)"#));
        }
    }
}

fn create_in(folder: &Path) -> CreatedDatabase {
    let file = folder.join("plimsoll.sqlite");
    template::copy_sqlite(&file);
    CreatedDatabase {
        url: format!("sqlite://{}", file.display()),
        on_postgres: None,
    }
}

fn create_on_postgres(folder: &Path) -> CreatedDatabase {
    let server = std::env::var("PLIMSOLL_TEST_POSTGRES_URL").expect(
        "PLIMSOLL_TEST_POSTGRES_URL is not set: \
         run `export PLIMSOLL_TEST_POSTGRES_URL=$(tests/postgres.sh start)` first, or `tests/run`, which does so",
    );
    let server = Url::parse(&server).expect("PLIMSOLL_TEST_POSTGRES_URL is a URL");
    // The folder's name is random and taken by nobody else.
    let random = folder
        .file_name()
        .expect("the folder has a name")
        .to_string_lossy()
        .replace('.', "");
    let name = format!("plimsoll_e2e_{random}");
    template::copy_postgres(&server, &name);
    CreatedDatabase {
        url: as_app(&server, &name),
        on_postgres: Some((server, name)),
    }
}

/// Makes the role that the service runs as.
pub(crate) const ROLE: &str = include_str!("../postgres_role.sql");

/// A database of a server, as the role that the service runs as.
pub(crate) fn as_app(server: &Url, database: &str) -> String {
    let mut url = server.clone();
    url.set_path(database);
    url.set_username("plimsoll_app").expect("a URL with a host");
    url.set_password(Some("plimsoll_app"))
        .expect("a URL with a host");
    url.into()
}

/// Runs a statement as the superuser.
pub(crate) fn psql(server: &Url, statement: &str) {
    let done = try_psql(server, statement);
    // A panic while another one unwinds would abort the test before its own message is seen.
    if !std::thread::panicking() {
        done.unwrap_or_else(|said| panic!("{statement}: {said}"));
    }
}

/// As `psql`, or what psql said where that failed.
pub(crate) fn try_psql(server: &Url, statement: &str) -> Result<(), String> {
    let output = Command::new("psql")
        .args([
            "--no-psqlrc",
            "--quiet",
            "--dbname",
            server.as_str(),
            "--command",
            statement,
        ])
        .output()
        .expect("psql runs; it comes with Debian's postgresql-15");
    match output.status.success() {
        true => Ok(()),
        false => Err(String::from_utf8_lossy(&output.stderr).into_owned()),
    }
}
