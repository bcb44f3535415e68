//! Twenty canaries through every operation of the committed document, at the loudest level of the log: accepted, refused, broken,
//! failing and kept waiting. None of them comes out in what the service says about itself or answers somebody else.
//!
//! An operation that is new is taken up by itself, once `tests/src/writes.rs` holds an example of it.

use e2e::{
    Answer, Client, Database, Document, Identity, Method, Operation, Request, Server, Writes,
    on_both_databases,
};
use serde_json::{Value, json};

mod plants;
mod said;
mod sent;

use plants::{Plants, TRACE};
use said::Said;

/// How the fault hook fails.
const FAULTS: [&str; 4] = ["error", "panic", "panic-in-read", "panic-in-write"];

struct World {
    server: Server,
    document: Document,
    writes: Writes,
    stranger: Client,
    plants: Plants,
    /// What was answered to callers who had sent no canary themselves.
    answers: Vec<Answer>,
}

impl World {
    async fn new(database: Database, format: &str) -> Self {
        let server = Server::setup(database)
            .setting("PLIMSOLL_LOG", "trace")
            .setting("PLIMSOLL_LOG_FORMAT", format);
        let server = server.start().await;
        let writes = Writes::prepare(&server).await;
        let plants = Plants::new(&server, &writes).await;
        Self {
            document: Document::committed(),
            stranger: server.club("Fjordby Handball").await.as_role("club_admin"),
            writes,
            plants,
            answers: Vec::new(),
            server,
        }
    }

    /// What an operation is tried with; the list's page takes no other caller than its own.
    fn planted(&self, operation: &Operation) -> Request {
        self.plants
            .planted_in(self.writes.trial(operation), operation)
    }

    /// As the example is, and stored where it makes something new: then it is in the database, and in kept answers.
    async fn accepted(&mut self, operation: &Operation) {
        let tried = self.planted(operation).await;
        assert!(tried.status < 500, "{}: {}", operation.name(), tried.text());
        let makes = operation.method == "POST" && !operation.path.ends_with("/bulk");
        if makes || operation.method == "PUT" {
            let request = self.plants.planted_in(self.writes.of(operation), operation);
            let made = request.await;
            assert!(made.status < 500, "{}: {}", operation.name(), made.text());
        }
    }

    /// By those who may not, and with what cannot be read.
    async fn refused(&mut self, operation: &Operation) {
        if operation.takes_token() {
            let path = self.writes.path(&operation.path);
            let stranger = self.writes.trial(operation).by(&self.stranger).path(&path);
            self.answers.push(stranger.await);
            let roles = operation.roles();
            let other = self
                .document
                .reach()
                .map(|(role, _)| role)
                .find(|role| !roles.contains(role));
            if let Some(role) = other {
                let caller = self.writes.club().as_role(role);
                self.answers
                    .push(self.writes.trial(operation).by(&caller).await);
            }
            let nobody = self.server.with_token(plants::TOKEN);
            self.planted(operation)
                .by(&nobody)
                .await
                .expect_problem(401, "unauthenticated");
        }
        self.planted(operation).query("canary", plants::QUERY).await;
        let broken = format!("{{\"note\": {}", plants::BODY);
        self.planted(operation)
            .body("application/json", broken)
            .await;
        self.planted(operation)
            .body(plants::BODY, plants::BODY)
            .await;
        if operation.takes("purpose") {
            let read = self
                .writes
                .reader(operation)
                .get(self.writes.path(&operation.path));
            read.query("purpose", plants::PURPOSE).await;
        }
    }

    async fn failing(&mut self, operation: &Operation) {
        for fault in FAULTS {
            self.planted(operation).header("X-Test-Fault", fault).await;
        }
    }

    /// While nobody can write.
    async fn kept_waiting(&mut self, operations: &[Operation]) {
        let held = self.server.hold_database();
        let writes = operations
            .iter()
            .filter(|operation| operation.method != "GET");
        let requests: Vec<Request> = writes.map(|operation| self.planted(operation)).collect();
        let sent = requests
            .into_iter()
            .map(|request| tokio::spawn(request.into_future()));
        for answer in sent.collect::<Vec<_>>() {
            answer.await.expect("an answer");
        }
        drop(held);
    }

    /// With tables that are not there, so that the database itself complains of the statement and its values.
    async fn without_tables(&mut self, operations: &[Operation]) {
        for table in [
            "session_reports",
            "athlete_versions",
            "restrictions",
            "notice_endpoints",
            "idempotency_keys",
        ] {
            self.server
                .rows(&format!("ALTER TABLE {table} RENAME TO away_{table}"));
            for operation in operations {
                self.planted(operation).await;
            }
            self.server
                .rows(&format!("ALTER TABLE away_{table} RENAME TO {table}"));
        }
    }

    /// Everything that the club can read of itself.
    async fn readable(&self, operations: &[Operation]) -> String {
        let reads = operations
            .iter()
            .filter(|operation| operation.method == "GET" && operation.takes_token());
        let mut all = String::new();
        for read in reads {
            all += &self.writes.read(read).await.text();
        }
        for (role, list) in [
            ("club_admin", "athletes"),
            ("athletic_trainer", "restrictions"),
        ] {
            all += &self.writes.club().as_role(role).get(list).await.text();
        }
        all
    }

    /// Rows of every kind of file, and a faulty one among them.
    async fn files(&self) {
        let bulk = |kind: &str, body: String| {
            let app = self.writes.club().as_role("integration");
            app.request(Method::POST, "sessions/bulk").body(kind, body)
        };
        let athlete = self.writes.athlete().id();
        let csv = format!(
            "athlete_id,started_at,minutes,rpe,setting,kind,note\n\
             {athlete},2026-11-06T10:00:00+01:00,30,4,free,other,{0}\n{0},{0},{0},{0},{0},{0},{0}\n",
            plants::CELL
        );
        bulk("text/csv", csv).await.expect(200);
        let line = json!({ "athlete_id": athlete, "started_at": "2026-11-06T12:00:00+01:00", "minutes": 30, "rpe": 4,
            "setting": "free", "kind": "other", "note": plants::FILE });
        let broken = format!(
            "{line}\n{{\"note\": \"{}\"}}\n{}\n",
            plants::FILE,
            plants::FILE
        );
        bulk("application/x-ndjson", broken).await;
    }
}

/// Drives everything once, and looks for each canary in everything that was said.
async fn drive(database: Database, format: &str) {
    let mut world = World::new(database, format).await;
    let operations = world.document.operations();
    assert!(operations.len() > 100, "{}", operations.len());
    for operation in &operations {
        world.accepted(operation).await;
        world.refused(operation).await;
        world.failing(operation).await;
    }
    world.files().await;
    let readable = world.readable(&operations).await;
    for canary in plants::STORED {
        assert!(readable.contains(canary), "{canary} was not stored");
    }
    world.kept_waiting(&operations).await;
    world.without_tables(&operations).await;

    let said = Said::by(&world.server, &world.answers).await;
    println!("{database:?}, {format}: {said}");
    // The search finds what is there: the caller's trace id is logged, and so is what the fault hook says.
    assert!(!said.places_of(TRACE).is_empty(), "the trace id is logged");
    assert!(
        said.counts("away_") == 0
            && said.counts("no such table") + said.counts("does not exist") > 0
    );
    let canaries = world.plants.all();
    assert!(canaries.len() >= 20, "{}", canaries.len());
    for (kind, canary) in canaries {
        assert_eq!(said.places_of(&canary), Vec::<String>::new(), "{kind}");
    }
    world
        .server
        .anonymous()
        .get("/health/ready")
        .await
        .expect(200);
}

on_both_databases! {
    /// Each form of the log with one database: the form changes no value, the database no form.
    async fn nothing_planted_comes_out(database: Database) {
        let format = match database {
            Database::Sqlite => "text",
            Database::Postgres => "json",
        };
        drive(database, format).await;
    }
}
