//! Getting started without children's data: clubs of invented people, each with a clock, ids and keys of its own.
//!
//! Operations about sandboxes are tried here, and not among the others, since each test has to make one.

mod clock;
mod credentials;
mod operator;
mod year;

use std::path::Path;

use e2e::{Answer, Client, Database, Server};
use serde_json::{Value, json};
use tempfile::TempDir;

/// A service that makes sandboxes, in a folder of its own.
async fn service(database: Database) -> (Server, TempDir) {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let path = folder.path().to_string_lossy().into_owned();
    let setup = Server::setup(database).setting("PLIMSOLL_SANDBOXES", "on");
    (setup.setting("TMPDIR", &path).start().await, folder)
}

/// How many sandboxes have files.
fn folders(parent: &Path) -> usize {
    let entries = std::fs::read_dir(parent).expect("the folder is there");
    let names = entries.map(|entry| entry.expect("readable").file_name());
    names
        .filter(|name| name.to_string_lossy().starts_with("plimsoll-sandbox-"))
        .count()
}

/// A sandbox that was made.
struct Sandbox<'a> {
    server: &'a Server,
    made: Answer,
}

impl<'a> Sandbox<'a> {
    async fn make(server: &'a Server, body: Value) -> Self {
        let made = server.as_role("operator").post("/v1/sandboxes", body).await;
        let made = made.expect(201);
        Self { server, made }
    }

    fn path(&self, rest: &str) -> String {
        format!("/v1/clubs/{}/{rest}", self.made.string("club_id"))
    }

    fn token(&self, role: &str) -> String {
        let tokens = self.made["tokens"].as_array().expect("tokens");
        let found = tokens.iter().find(|token| token["role"] == role);
        let found = found.unwrap_or_else(|| panic!("no token of {role}"));
        found["token"].as_str().expect("a token").to_owned()
    }

    fn as_role(&self, role: &str) -> Client {
        self.server.with_token(&self.token(role))
    }

    async fn read(&self, role: &str, rest: &str) -> Answer {
        self.as_role(role).get(self.path(rest)).await
    }

    async fn move_to(&self, now: &str) -> Answer {
        let body = json!({ "now": now });
        let put = self.as_role("integration").put(self.path("clock"), body);
        put.await
    }

    async fn remove(&self) {
        let path = format!("/v1/sandboxes/{}", self.made.string("sandbox_id"));
        let operator = self.server.as_role("operator");
        operator.delete(path).await.expect(204);
    }
}
