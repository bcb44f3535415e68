//! Prometheus metrics: names and the handle that renders them.
//!
//! Labels are routes, methods and status classes, never ids or names of people.

use std::sync::OnceLock;
use std::time::Duration;

use jiff::Timestamp;
use metrics_exporter_prometheus::{Matcher, PrometheusBuilder, PrometheusHandle};

const DURATION: &str = "http_server_request_duration_seconds";

/// Bounds in seconds, as the OpenTelemetry conventions for HTTP servers list them.
const BUCKETS: &[f64] = &[
    0.005, 0.01, 0.025, 0.05, 0.075, 0.1, 0.25, 0.5, 0.75, 1.0, 2.5, 5.0, 7.5, 10.0,
];

static HANDLE: OnceLock<Option<PrometheusHandle>> = OnceLock::new();

/// Installs the recorder once for the process.
pub fn start() {
    HANDLE.get_or_init(|| {
        PrometheusBuilder::new()
            .set_buckets_for_metric(Matcher::Full(DURATION.to_owned()), BUCKETS)
            .ok()?
            .install_recorder()
            .inspect_err(|error| tracing::warn!(%error, "metrics are off"))
            .ok()
    });
}

/// The text that `/metrics` answers with.
pub fn render() -> String {
    HANDLE
        .get()
        .and_then(Option::as_ref)
        .map(PrometheusHandle::render)
        .unwrap_or_default()
}

/// Counts one answered request.
pub fn request(method: &str, route: &str, status: u16, took: Duration) {
    metrics::histogram!(
        DURATION,
        "method" => method.to_owned(),
        "route" => route.to_owned(),
        "status" => status.to_string(),
    )
    .record(took.as_secs_f64());
}

/// Counts a stored answer that was given again for its idempotency key.
pub fn idempotent_replay() {
    metrics::counter!("plimsoll_idempotency_replays_total").increment(1);
}

/// Counts an attempt to deliver a notice.
pub fn delivery_attempt(channel: &'static str, outcome: &'static str) {
    metrics::counter!(
        "plimsoll_delivery_attempts_total", "channel" => channel, "outcome" => outcome
    )
    .increment(1);
}

/// Says how many deliveries are due, since how long the first, and how many endpoints take nothing.
pub fn outbox(due: i64, oldest: Duration, failing: i64) {
    let count = |number: i64| u32::try_from(number).unwrap_or(u32::MAX);
    metrics::gauge!("plimsoll_outbox_due").set(count(due));
    metrics::gauge!("plimsoll_outbox_oldest_due_seconds").set(oldest.as_secs_f64());
    metrics::gauge!("plimsoll_notice_endpoints_failing").set(count(failing));
}

/// Says how many mails wait for the mail server, and how many because a club's quota is used up.
pub fn mail_waiting(for_server: i64, for_quota: i64) {
    for (what, number) in [("mail_server", for_server), ("mail_quota", for_quota)] {
        let number = u32::try_from(number).unwrap_or(u32::MAX);
        metrics::gauge!("plimsoll_mail_waiting", "for" => what).set(number);
    }
}

/// Counts a week that was closed.
pub fn week_closed(late: bool) {
    metrics::counter!("plimsoll_weeks_closed_total", "late" => late.to_string()).increment(1);
}

/// Counts a club whose week could not be closed at a look.
pub fn weekly_close_failed() {
    metrics::counter!("plimsoll_weekly_close_failures_total").increment(1);
}

/// Remembers when every week that was due had been closed.
#[expect(clippy::cast_precision_loss, reason = "seconds since 1970 fit")]
pub fn weekly_close_in_order(now: Timestamp) {
    metrics::gauge!("plimsoll_weekly_close_last_success_timestamp_seconds")
        .set(now.as_second() as f64);
}

/// Counts a look-ahead that was made.
pub fn look_ahead_made() {
    metrics::counter!("plimsoll_look_aheads_made_total").increment(1);
}

/// Counts a club for which a look-ahead could not be made at a look.
pub fn look_ahead_failed() {
    metrics::counter!("plimsoll_look_ahead_failures_total").increment(1);
}

/// Remembers when every look-ahead that was due had been made.
#[expect(clippy::cast_precision_loss, reason = "seconds since 1970 fit")]
pub fn look_ahead_in_order(now: Timestamp) {
    metrics::gauge!("plimsoll_look_ahead_last_success_timestamp_seconds")
        .set(now.as_second() as f64);
}

/// Counts rows that were erased by a night's run.
pub fn retention_erased(class: &'static str, rows: i64) {
    let rows = u64::try_from(rows).unwrap_or_default();
    metrics::counter!("plimsoll_retention_rows_erased_total", "class" => class).increment(rows);
}

/// Counts a club whose run could not be made at a look.
pub fn retention_failed() {
    metrics::counter!("plimsoll_retention_failures_total").increment(1);
}

/// Remembers when every run that was due had been made.
#[expect(clippy::cast_precision_loss, reason = "seconds since 1970 fit")]
pub fn retention_in_order(now: Timestamp) {
    metrics::gauge!("plimsoll_retention_last_success_timestamp_seconds")
        .set(now.as_second() as f64);
}

/// Shows how many erasures are not written down outside the database, or not cleaned up after.
pub fn erasures_unfinished(number: u32) {
    metrics::gauge!("plimsoll_erasures_unfinished").set(number);
}

/// Counts an audit list whose end could not be signed and kept at a look.
pub fn audit_heads_failed() {
    metrics::counter!("plimsoll_audit_heads_failures_total").increment(1);
}

/// Remembers when the end of every audit list had been signed.
#[expect(clippy::cast_precision_loss, reason = "seconds since 1970 fit")]
pub fn audit_heads_in_order(now: Timestamp) {
    metrics::gauge!("plimsoll_audit_heads_last_success_timestamp_seconds")
        .set(now.as_second() as f64);
}

/// Counts stored session reports by outcome.
pub fn sessions(outcome: &'static str, count: u64) {
    metrics::counter!("plimsoll_session_reports_total", "outcome" => outcome).increment(count);
}
