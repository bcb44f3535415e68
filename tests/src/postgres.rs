//! A PostgreSQL server that belongs to one test, which may crash it or let its disk run full.

use std::fs::Permissions;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use reqwest::Url;
use tempfile::TempDir;

use crate::database::{ROLE, as_app, psql};

/// A throw-away server, stopped and removed when dropped. It is started by `tests/postgres.sh`.
pub struct Postgres {
    folder: PathBuf,
    under: Vec<String>,
    /// Its data where nothing else was said, and its write-ahead log.
    _own: TempDir,
    log: PathBuf,
    url: String,
}

impl Postgres {
    /// Starts one in a folder of its own.
    pub fn start() -> Self {
        let own = own_folder();
        let (folder, log) = (own.path().join("server"), own.path().join("wal"));
        Self::start_with(own, folder, log, Vec::new())
    }

    /// Starts one whose data lies in this folder and whose write-ahead log does not; its programs run under this command.
    pub fn start_in(folder: &Path, under: Vec<String>) -> Self {
        let own = own_folder();
        let log = own.path().join("wal");
        Self::start_with(own, folder.to_owned(), log, under)
    }

    /// Starts one whose write-ahead log lies in this folder and whose data does not; its programs run under this command.
    pub fn start_with_log_in(log: &Path, under: Vec<String>) -> Self {
        let own = own_folder();
        let folder = own.path().join("server");
        Self::start_with(own, folder, log.to_owned(), under)
    }

    fn start_with(own: TempDir, folder: PathBuf, log: PathBuf, under: Vec<String>) -> Self {
        let mut server = Self {
            folder,
            under,
            _own: own,
            log,
            url: String::new(),
        };
        server.url = server.run("start").trim().to_owned();
        psql(&server.superuser(), ROLE);
        psql(
            &server.superuser(),
            "CREATE DATABASE plimsoll OWNER plimsoll_app TEMPLATE template0",
        );
        server
    }

    /// A database of it, as the role that the service runs as.
    pub fn url(&self) -> String {
        as_app(&self.superuser(), "plimsoll")
    }

    /// The same database as another role.
    pub fn url_as(&self, role: &str) -> String {
        let mut url = self.superuser();
        url.set_path("plimsoll");
        url.set_username(role).expect("a URL with a host");
        url.into()
    }

    /// The same database as the superuser.
    pub fn superuser_url(&self) -> String {
        self.url_as(self.superuser().username())
    }

    /// Runs a file of the repository in the database as the superuser.
    pub fn superuser_file(&self, path: &str) {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(path);
        let output = Command::new("psql")
            .args(["--no-psqlrc", "--quiet", "--set=ON_ERROR_STOP=1", "--file"])
            .arg(path)
            .args(["--dbname", &self.superuser_url()])
            .output()
            .expect("psql runs");
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "{said}");
    }

    /// What a statement answers to a role, or why it was refused.
    ///
    /// # Errors
    /// What psql said.
    pub fn psql_as(&self, role: &str, statement: &str) -> Result<String, String> {
        let output = Command::new("psql")
            .args([
                "--no-psqlrc",
                "--tuples-only",
                "--command",
                statement,
                "--dbname",
            ])
            .arg(self.url_as(role))
            .output()
            .expect("psql runs");
        let text = |bytes: Vec<u8>| String::from_utf8_lossy(&bytes).into_owned();
        match output.status.success() {
            true => Ok(text(output.stdout)),
            false => Err(text(output.stderr)),
        }
    }

    fn superuser(&self) -> Url {
        Url::parse(&self.url).expect("postgres.sh prints a URL")
    }

    /// Ends its first process at once (SIGKILL), as a crash would; the others end when they notice.
    pub fn kill(&self) {
        self.run("kill");
    }

    /// Starts it again after `kill`, on the same port.
    pub fn restart(&self) {
        self.run("restart");
    }

    /// Writes to its log, past the program, until the log's disk is full and the server ends.
    pub fn fill_log(&self) {
        let words = "SELECT pg_logical_emit_message(false, 'fill', repeat('x', 4000000))";
        for _ in 0..1_000 {
            let psql = Command::new("psql")
                .args(["--no-psqlrc", "--quiet", "--command", words, "--dbname"])
                .arg(&self.url)
                .stdin(Stdio::null())
                .output();
            if !psql.expect("psql runs").status.success() {
                return;
            }
        }
        panic!("the log's disk takes records without end");
    }

    fn run(&self, command: &str) -> String {
        let output = self.script(command).output();
        let output = output.expect("tests/postgres.sh runs");
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "postgres.sh {command}: {said}");
        String::from_utf8(output.stdout).expect("a URL is ASCII")
    }

    fn script(&self, command: &str) -> Command {
        let script = concat!(env!("CARGO_MANIFEST_DIR"), "/postgres.sh").to_owned();
        let words: Vec<&String> = self.under.iter().chain([&script]).collect();
        let mut run = Command::new(words[0]);
        run.args(&words[1..]).arg(command).stdin(Stdio::null());
        run.env("PLIMSOLL_TEST_PG_DIR", &self.folder);
        run.env("PLIMSOLL_TEST_PG_WAL", &self.log);
        run
    }
}

impl Drop for Postgres {
    fn drop(&mut self) {
        match self.script("stop").output() {
            Ok(output) if output.status.success() => {}
            other => eprintln!(
                "PostgreSQL in {} did not stop: {other:?}",
                self.folder.display()
            ),
        }
    }
}

/// A folder. As root, the server runs as another user, who must reach it.
fn own_folder() -> TempDir {
    tempfile::Builder::new()
        .prefix("plimsoll-e2e-postgres-")
        .permissions(Permissions::from_mode(0o755))
        .tempdir()
        .expect("a temporary folder")
}
