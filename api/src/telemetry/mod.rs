//! What the service says about itself: log, request id, metrics.
//!
//! The log is an allow-list: a line carries only fields named in code here and at its call site.
//! Bodies, query values, tokens, names, notes and birth dates are never logged.

pub mod metrics;

use std::cell::RefCell;

use tracing::Instrument;
use tracing_subscriber::EnvFilter;
use tracing_subscriber::fmt;

use crate::config::{Config, LogFormat};

tokio::task_local! {
    static REQUEST: RefCell<RequestFacts>;
}

/// What one request adds to its line, filled in as it becomes known.
#[derive(Debug, Clone, Default)]
pub struct RequestFacts {
    /// Id of the request, in the log, in `X-Request-Id` and in problem answers.
    pub id: String,
    /// The acting role, once the token is checked.
    pub role: Option<&'static str>,
}

/// Runs a request's work with its facts at hand.
pub async fn in_request<F: Future>(facts: RequestFacts, work: F) -> F::Output {
    REQUEST.scope(RefCell::new(facts), work).await
}

/// Names the request in every line that is written while it is handled, by its database work on
/// other threads too.
pub async fn named<F: Future>(work: F) -> F::Output {
    let span = tracing::error_span!("request", request_id = request_id());
    work.instrument(span).await
}

/// What is known of the running request; nothing outside one.
pub fn request_facts() -> RequestFacts {
    REQUEST
        .try_with(|facts| facts.borrow().clone())
        .unwrap_or_default()
}

/// The running request's id; empty outside a request.
pub fn request_id() -> String {
    request_facts().id
}

/// Notes the acting role for the request's line.
pub fn note_role(role: &'static str) {
    // Outside a request there is no line to add to.
    let _ = REQUEST.try_with(|facts| facts.borrow_mut().role = Some(role));
}

/// Makes a panic a line of the log: where it was, never what it said, which may hold values of people.
fn log_panics() {
    std::panic::set_hook(Box::new(|panic| {
        let place = panic.location().map(ToString::to_string);
        tracing::error!(place = place.unwrap_or_default(), "panic");
    }));
}

/// Starts logging to standard error.
pub fn start(config: &Config) {
    let filter = EnvFilter::try_new(&config.log).unwrap_or_else(|_| EnvFilter::new("info"));
    let builder = fmt()
        .with_env_filter(filter)
        .with_writer(std::io::stderr)
        .with_target(true);
    // A second start in one process (tests) keeps the first subscriber.
    let _ = match config.log_format {
        LogFormat::Json => {
            let builder = builder.json().flatten_event(true);
            builder.with_span_list(false).try_init()
        }
        LogFormat::Text => builder.with_ansi(false).try_init(),
    };
    log_panics();
}
