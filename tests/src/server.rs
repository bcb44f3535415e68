//! One running program with its own folder and database.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::{ExitStatus, Output};
use std::sync::Arc;

use reqwest::Url;
use tempfile::TempDir;

use crate::club::{Club, Squad};
use crate::connection::Connection;
use crate::database::{CreatedDatabase, Database};
use crate::held::Held;
use crate::held_close::HeldClose;
use crate::identity::Identity;
use crate::program::{Environment, LOG, Program};
use crate::request::{Bearer, Client};
use crate::rows::{rows, tables};
use crate::running::Running;

/// The program's clock starts here unless a test says otherwise: the Monday after 2026-W45.
const CLOCK: &str = "2026-11-09T08:00:00+01:00";

/// What a server is started with.
#[must_use]
pub struct Setup {
    database: Place,
    environment: Environment,
}

/// Where the database is.
enum Place {
    Fresh(Database),
    At(String),
}

impl Setup {
    /// Starts the program's clock at this instant (RFC 3339); it runs on from there.
    pub fn clock(self, instant: &str) -> Self {
        self.setting("PLIMSOLL_CLOCK", instant)
    }

    /// Sets any other setting.
    pub fn setting(mut self, name: &str, value: &str) -> Self {
        self.environment
            .settings
            .insert(name.to_owned(), value.to_owned());
        self
    }

    /// Starts as many workers as an installation has, since many callers come at once.
    pub fn busy(self) -> Self {
        self.setting("PLIMSOLL_WORKERS", "0")
    }

    /// Leaves the mail server unsaid.
    pub fn without_mail(mut self) -> Self {
        let settings = &mut self.environment.settings;
        settings.retain(|name, _| !name.starts_with("PLIMSOLL_SMTP_"));
        self
    }

    /// Runs the program as the arguments of another command.
    pub fn under(mut self, command: Vec<String>) -> Self {
        self.environment.under = command;
        self
    }

    /// Makes the database, starts the program and waits until it listens.
    pub async fn start(mut self) -> Server {
        let folder = tempfile::Builder::new()
            .prefix("plimsoll-e2e-")
            .tempdir()
            .expect("a temporary folder");
        let database = match self.database {
            Place::Fresh(database) => database.create(folder.path()),
            Place::At(url) => CreatedDatabase::of_the_test(url),
        };
        self.environment
            .settings
            .insert("PLIMSOLL_DATABASE_URL".to_owned(), database.url.clone());
        let running = Arc::new(Running::new(self.environment, folder.path()));
        let mut server = Server {
            running,
            program: None,
            _database: database,
            _folder: folder,
        };
        server.restart().await;
        server
    }
}

/// A running program. Dropped, it is asked to stop, and its database and files are removed.
pub struct Server {
    running: Arc<Running>,
    program: Option<Program>,
    // Fields are dropped in this order: the database, then the folder.
    _database: CreatedDatabase,
    _folder: TempDir,
}

impl Server {
    /// A server with the usual settings.
    pub async fn start(database: Database) -> Self {
        Self::setup(database).start().await
    }

    /// The usual settings, to be changed before the start.
    pub fn setup(database: Database) -> Setup {
        Self::usual(Place::Fresh(database))
    }

    /// The usual settings on a database that the test made itself.
    pub fn setup_at(database_url: &str) -> Setup {
        Self::usual(Place::At(database_url.to_owned()))
    }

    /// Another process on the same database, with the same keys.
    pub async fn beside(&self) -> Self {
        let settings = self.running.environment().settings;
        let key = self.folder().join("local.key");
        let mut other = Self::setup_at(&settings["PLIMSOLL_DATABASE_URL"]);
        other.environment.settings.extend(settings);
        let other = other.setting("PLIMSOLL_LOCAL_KEY", &key.to_string_lossy());
        let key = self.folder().join("audit.key");
        let other = other.setting("PLIMSOLL_AUDIT_KEY", &key.to_string_lossy());
        let key = self.folder().join("page.key");
        let other = other.setting("PLIMSOLL_PAGE_KEY", &key.to_string_lossy());
        let key = self.folder().join("master.key");
        let other = other.setting("PLIMSOLL_MASTER_KEY", &key.to_string_lossy());
        other.start().await
    }

    fn usual(database: Place) -> Setup {
        let settings = [
            ("PLIMSOLL_LISTEN", "127.0.0.1:0"),
            ("PLIMSOLL_LOCAL_ISSUER", "on"),
            ("PLIMSOLL_LOCAL_KEY", "local.key"),
            ("PLIMSOLL_AUDIT_KEY", "audit.key"),
            ("PLIMSOLL_AUDIT_SIGN_KEY", "audit-sign.key"),
            ("PLIMSOLL_AUDIT_HEADS", "audit-heads.jsonl"),
            ("PLIMSOLL_ERASURES", "erasures.jsonl"),
            ("PLIMSOLL_PAGE_KEY", "page.key"),
            ("PLIMSOLL_MASTER_KEY", "master.key"),
            ("PLIMSOLL_JOBS", "off"),
            ("PLIMSOLL_DRAIN_SECONDS", "0"),
            ("PLIMSOLL_MIGRATE", "on"),
            ("PLIMSOLL_RATE_LIMIT", "off"),
            ("PLIMSOLL_CLOCK", CLOCK),
            // Each worker costs a tenth of a second at the start, and most tests ask for one thing at a time.
            ("PLIMSOLL_WORKERS", "1"),
            // Clubs may name recipients of mail, and nothing can be sent (RFC 2606).
            ("PLIMSOLL_SMTP_URL", "smtps://mail.example.invalid"),
            ("PLIMSOLL_SMTP_FROM", "plimsoll@example.org"),
            ("PLIMSOLL_PUBLIC_URL", "https://plimsoll.example.org"),
        ];
        let settings = settings.map(|(name, value)| (name.to_owned(), value.to_owned()));
        Setup {
            database,
            environment: Environment {
                settings: settings.into(),
                ..Environment::default()
            },
        }
    }

    /// A caller in one role that belongs to no club, such as the operator. `Club::as_role` gives the others.
    pub fn as_role(&self, role: &str) -> Client {
        self.client(Identity::role(role), None)
    }

    /// A caller with these claims; the caller's relative paths lie under `club`.
    pub fn client(&self, identity: Identity, club: Option<&str>) -> Client {
        Client::new(
            Arc::clone(&self.running),
            Bearer::Signed(identity),
            club.map(str::to_owned),
        )
    }

    /// A caller with a token that the test made itself.
    pub fn with_token(&self, token: &str) -> Client {
        Client::new(
            Arc::clone(&self.running),
            Bearer::Token(token.to_owned()),
            None,
        )
    }

    /// A caller without a token.
    pub fn anonymous(&self) -> Client {
        Client::new(Arc::clone(&self.running), Bearer::Nothing, None)
    }

    /// A token with these claims.
    pub fn token(&self, identity: &Identity) -> String {
        self.running.token(identity)
    }

    /// Runs a command of the program (`["close-week", "--week", "2026-W45"]`) with the server's settings.
    pub fn run(&self, arguments: &[&str]) -> Output {
        self.running.run(&[], arguments)
    }

    /// Runs a command with the server's settings but these (`("PLIMSOLL_CLOCK", "2026-…")`).
    pub fn run_with(&self, changed: &[(&str, &str)], arguments: &[&str]) -> Output {
        self.running.run(changed, arguments)
    }

    /// Closes a week by the command line, which must succeed.
    #[track_caller]
    pub fn close_week(&self, week: &str) {
        let output = self.run(&["close-week", "--week", week]);
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "close-week {week}: {said}");
    }

    /// The path of a link by which a notice endpoint of a club opens a weekly list.
    #[track_caller]
    pub fn page_link(&self, club: &Club, recipient: &str, squad: &Squad, week: &str) -> String {
        let of_club = ["page-link", "--club", club.id(), "--recipient", recipient];
        let list = ["--squad", squad.id(), "--week", week];
        let output = self.run(&[&of_club[..], &list].concat());
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "page-link: {said}");
        let path = String::from_utf8(output.stdout).expect("UTF-8");
        path.trim().to_owned()
    }

    /// The full URL of a path, for tests that speak HTTP themselves.
    pub fn url(&self, path: &str) -> Url {
        self.running.url(path)
    }

    /// Lets another program hold the database, so that nothing can be written until the returned lock is dropped.
    pub fn hold_database(&self) -> Held {
        Held::of(&self.database_url())
    }

    /// Lets another program hold tables on PostgreSQL, which can be neither written nor read until the lock is dropped.
    pub fn hold_tables(&self, names: &str) -> Held {
        Held::of_tables(&self.database_url(), names)
    }

    /// Keeps every close of a week from its end until the returned value is dropped.
    pub fn hold_closes(&self) -> HeldClose {
        HeldClose::of(&self.database_url())
    }

    /// The rows of a query put to the database itself, past the program: columns as text, in lines.
    pub fn rows(&self, query: &str) -> Vec<Vec<String>> {
        let environment = self.running.environment();
        rows(&environment.under, &self.database_url(), query)
    }

    /// Every row in the database as text, by table, in order, past the program.
    pub fn tables(&self) -> BTreeMap<String, Vec<String>> {
        tables(&self.running.environment().under, &self.database_url())
    }

    /// Where the database is.
    pub fn database_url(&self) -> String {
        self.running.environment().settings["PLIMSOLL_DATABASE_URL"].clone()
    }

    /// The same as the superuser of the tests' PostgreSQL, whom row-level security does not bind.
    ///
    /// # Panics
    /// On SQLite.
    pub fn superuser_url(&self) -> String {
        let server = std::env::var("PLIMSOLL_TEST_POSTGRES_URL").expect("a test on PostgreSQL");
        let own = reqwest::Url::parse(&self.database_url()).expect("a URL");
        let mut url = reqwest::Url::parse(&server).expect("a URL");
        url.set_path(own.path());
        url.into()
    }

    /// A connection for a test that writes HTTP by hand.
    pub async fn connect(&self) -> Connection {
        Connection::open(&self.url("/")).await
    }

    /// A new connection, or `None` where nobody listens any more.
    pub async fn try_to_connect(&self) -> Option<Connection> {
        Connection::attempt(&self.url("/")).await.ok()
    }

    /// The server's folder: its key, its log, its SQLite file.
    pub fn folder(&self) -> &Path {
        self.running.folder()
    }

    /// Everything the program has written to standard error since its first start.
    pub fn log(&self) -> String {
        fs::read_to_string(self.folder().join(LOG)).expect("the log can be read")
    }

    /// Asks the program to stop (SIGTERM) and waits for its end.
    pub fn stop(&mut self) -> ExitStatus {
        self.program.take().expect("the server runs").stop()
    }

    /// Asks the program to stop (SIGTERM) while other tasks go on talking to it.
    pub fn ask_to_stop(&self) {
        self.program
            .as_ref()
            .expect("the server runs")
            .ask_to_stop();
    }

    /// Waits for the end of a program that was asked to stop.
    pub async fn ended(&mut self) -> ExitStatus {
        self.program.take().expect("the server runs").ended().await
    }

    /// The most memory that the program has had since its start, in MB.
    pub fn peak_memory(&self) -> f64 {
        self.program
            .as_ref()
            .expect("the server runs")
            .peak_memory()
    }

    /// Ends the program at once (SIGKILL), as a crash would.
    pub fn kill(&mut self) {
        self.program.take().expect("the server runs").kill();
    }

    /// Stops the program if it runs, and starts it on the same database. Callers stay usable.
    pub async fn restart(&mut self) {
        drop(self.program.take());
        let (program, base) =
            Program::serve(&self.running.environment(), self.running.folder()).await;
        self.running.listens_at(base);
        self.program = Some(program);
    }

    /// Restarts with these settings changed.
    pub async fn set_and_restart(&mut self, changed: &[(&str, &str)]) {
        for (name, value) in changed {
            self.running.set(name, value);
        }
        self.restart().await;
    }

    /// Restarts with the clock at another instant.
    pub async fn restart_at(&mut self, instant: &str) {
        self.running.set("PLIMSOLL_CLOCK", instant);
        self.restart().await;
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        drop(self.program.take());
        if std::thread::panicking() {
            let log = fs::read_to_string(self.folder().join(LOG)).unwrap_or_default();
            eprintln!("--- log of the server\n{log}--- end of the log");
        }
    }
}
