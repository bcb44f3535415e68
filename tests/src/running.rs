//! What callers need of a running server. It outlives a restart, so callers do too.

use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::process::Output;
use std::sync::{Mutex, MutexGuard};
use std::time::Duration;

use reqwest::Url;

use crate::identity::Identity;
use crate::program::{self, Environment};

pub(crate) struct Running {
    http: reqwest::Client,
    folder: PathBuf,
    state: Mutex<State>,
}

struct State {
    base: Option<Url>,
    environment: Environment,
    tokens: HashMap<Identity, String>,
}

impl Running {
    pub(crate) fn new(environment: Environment, folder: &Path) -> Self {
        // The service ends a connection after 15 s without requests; one taken up in that moment would break.
        let http = reqwest::Client::builder()
            .pool_idle_timeout(Duration::from_secs(5))
            .no_proxy()
            .redirect(reqwest::redirect::Policy::none());
        let state = State {
            base: None,
            environment,
            tokens: HashMap::new(),
        };
        Self {
            http: http.build().expect("an HTTP client"),
            folder: folder.to_owned(),
            state: Mutex::new(state),
        }
    }

    pub(crate) fn http(&self) -> &reqwest::Client {
        &self.http
    }

    pub(crate) fn folder(&self) -> &Path {
        &self.folder
    }

    pub(crate) fn environment(&self) -> Environment {
        self.state().environment.clone()
    }

    pub(crate) fn set(&self, name: &str, value: &str) {
        self.state()
            .environment
            .settings
            .insert(name.to_owned(), value.to_owned());
    }

    /// A new start has a new address, and its clock may be past the end of the old tokens.
    pub(crate) fn listens_at(&self, base: Url) {
        let mut state = self.state();
        state.base = Some(base);
        state.tokens.clear();
    }

    pub(crate) fn url(&self, path: &str) -> Url {
        let base = self
            .state()
            .base
            .clone()
            .expect("the server has been started");
        base.join(path)
            .unwrap_or_else(|error| panic!("{path}: {error}"))
    }

    pub(crate) fn run(&self, changed: &[(&str, &str)], arguments: &[&str]) -> Output {
        let output = program::command(&self.environment(), &self.folder)
            .envs(changed.iter().copied())
            .args(arguments)
            .output();
        output.expect("the program runs")
    }

    /// The token for these claims, signed by the program itself at its first use.
    pub(crate) fn token(&self, identity: &Identity) -> String {
        if let Some(token) = self.state().tokens.get(identity) {
            return token.clone();
        }
        let arguments: Vec<&str> = ["token"]
            .into_iter()
            .chain(identity.arguments().iter().map(String::as_str))
            .collect();
        let output = self.run(&[], &arguments);
        assert!(
            output.status.success(),
            "plimsoll {}: {}",
            arguments.join(" "),
            String::from_utf8_lossy(&output.stderr)
        );
        let token = String::from_utf8(output.stdout)
            .expect("a token is ASCII")
            .trim()
            .to_owned();
        self.state().tokens.insert(identity.clone(), token.clone());
        token
    }

    fn state(&self) -> MutexGuard<'_, State> {
        self.state
            .lock()
            .expect("no test thread panicked while it held the lock")
    }
}
