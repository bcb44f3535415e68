//! The service about itself: health, metrics, its document.

use actix_web::http::header;
use actix_web::{HttpResponse, get, web};
use jiff::{SignedDuration, Timestamp};
use serde::Serialize;
use utoipa::ToSchema;

use crate::app::App;
use crate::clock_watch;
use crate::error::{Problem, ProblemBody};
use crate::jobs::deliver;
use crate::store::notices::{endpoints, outbox};
use crate::store::{Clubs, Store, StoreError, WaitingFor, calendars, clubs, roster_sources};
use crate::telemetry;

/// Whether the service can answer.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"status": "ready", "because": []}))]
pub struct Health {
    /// `ready`, `degraded` (answers, but something is stale) or `not_ready`.
    status: &'static str,
    /// What is wrong, in words; empty when nothing is.
    because: Vec<Cause>,
}

/// One thing that is wrong.
#[derive(Debug, Serialize, ToSchema)]
pub struct Cause {
    /// The part concerned: `service`, `database`, `clock`, `weekly close`, `look-ahead`, `retention`, `audit heads`, `deliveries`,
    /// `notice endpoints`, `calendars`, `roster sources`, `mail`, or a token issuer.
    source: String,
    /// What is wrong with it.
    detail: String,
    /// When it was last seen in order.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = String, required = false, format = DateTime)]
    last_seen: Option<Timestamp>,
}

/// Alive
///
/// Answers as long as the program runs; asks nothing of the database.
#[utoipa::path(
    tag = "Service", operation_id = "health_live", security(()),
    responses((status = 200, description = "Alive", body = Health))
)]
#[get("/health/live")]
pub async fn live() -> web::Json<Health> {
    web::Json(Health {
        status: "ready",
        because: Vec::new(),
    })
}

/// Ready
///
/// Whether requests can be answered, and which source is stale. Not ready when the database cannot
/// be read, when the last write failed and a small one, tried now, fails too, or when the service was asked to stop.
#[utoipa::path(
    tag = "Service", operation_id = "health_ready", security(()),
    responses(
        (status = 200, description = "Ready, or degraded with the reason", body = Health),
        (status = 503, description = "Not ready, with the reason", body = Health),
    )
)]
#[get("/health/ready")]
pub async fn ready(app: web::Data<App>) -> HttpResponse {
    let mut because = Vec::new();
    if app.is_stopping() {
        because.push(Cause {
            source: "service".to_owned(),
            detail: "it was asked to stop".to_owned(),
            last_seen: None,
        });
    }
    if let Err(detail) = database(&app.store).await {
        because.push(Cause {
            source: "database".to_owned(),
            detail,
            last_seen: None,
        });
    }
    let able = because.is_empty();
    because.extend(clock(&app).await);
    for keys in app.verifier.key_sets(app.clock.now()) {
        if keys.usable && keys.last_error.is_none() {
            continue;
        }
        let detail = if keys.usable {
            "keys are not fresh"
        } else {
            "no usable keys"
        };
        let source = format!("issuer {}", keys.issuer);
        because.push(Cause {
            source,
            detail: detail.to_owned(),
            last_seen: keys.fetched_at,
        });
    }
    because.extend(jobs(&app));
    because.extend(deliveries(&app).await);
    if !able {
        return HttpResponse::ServiceUnavailable().json(Health {
            status: "not_ready",
            because,
        });
    }
    let status = if because.is_empty() {
        "ready"
    } else {
        "degraded"
    };
    HttpResponse::Ok().json(Health { status, because })
}

/// What keeps the database from being read or written.
async fn database(store: &Store) -> Result<(), String> {
    let read = store
        .read(Clubs::Every, |conn| clubs::list_all(conn, None, 1))
        .await;
    read.map_err(|error| Problem::from(error).detail)?;
    let written = store.check_writing().await;
    written.map_err(|error| format!("Nothing can be written. {}", Problem::from(error).detail))
}

/// Jobs whose last look left something undone.
fn jobs(app: &App) -> Vec<Cause> {
    let watched = [
        (&app.closing, "weekly close", "weeks of", "closed"),
        (&app.looking_ahead, "look-ahead", "look-aheads of", "made"),
        (&app.retention, "retention", "what is due of", "erased"),
        (
            &app.signing,
            "audit heads",
            "the ends of audit lists of",
            "signed",
        ),
    ];
    let failing = watched
        .into_iter()
        .filter_map(|(watch, source, what, done)| {
            let seen = watch.seen();
            (seen.failing > 0).then(|| Cause {
                source: source.to_owned(),
                detail: format!(
                    "{what} {} club(s) are due and could not be {done}",
                    seen.failing
                ),
                last_seen: seen.in_order,
            })
        });
    failing.collect()
}

/// What makes the machine's clock doubtful.
async fn clock(app: &App) -> Vec<Cause> {
    let mut details = Vec::new();
    if !app.clock_watch.is_steady() {
        let (how_far, way) = distance(app.clock_watch.step(), "forward", "back");
        details.push(format!(
            "the machine's clock was set {way} by {how_far} while the service ran; \
             no week is closed and no notice sent until it is right again or the service is started anew"
        ));
    }
    // A database that cannot be read is a cause of its own.
    if let Ok(Some(skew)) = clock_watch::skew(&app.store).await
        && !clock_watch::within(skew, clock_watch::NOTICED)
    {
        let (how_far, way) = distance(skew, "ahead of", "behind");
        details.push(format!(
            "the machine's clock is {how_far} {way} the database's"
        ));
    }
    let cause = |detail| Cause {
        source: "clock".to_owned(),
        detail,
        last_seen: None,
    };
    details.into_iter().map(cause).collect()
}

/// A difference in words, and which way it goes.
fn distance(
    difference: SignedDuration,
    forward: &'static str,
    back: &'static str,
) -> (String, &'static str) {
    let way = if difference.is_negative() {
        back
    } else {
        forward
    };
    let seconds = difference.abs().as_secs();
    let how_far = match seconds {
        0..600 => format!("{seconds} s"),
        600..172_800 => format!("{} min", seconds / 60),
        _ => format!("{} days", seconds / 86_400),
    };
    (how_far, way)
}

/// How long a delivery may be due before the service says that it is behind.
const BEHIND: SignedDuration = SignedDuration::from_mins(15);

/// What keeps notices from arriving.
async fn deliveries(app: &App) -> Vec<Cause> {
    let now = app.clock.now();
    let read = app.store.read(Clubs::Every, move |conn| {
        let waiting = outbox::waiting(conn, now)?;
        let failing = endpoints::failing(conn, now - deliver::ALARM)?;
        let unread = calendars::failing(conn, now - deliver::ALARM)?;
        let unpulled = roster_sources::failing(conn, now - deliver::ALARM)?;
        let for_server = outbox::waiting_for(conn, WaitingFor::MailServer)?;
        let for_quota = outbox::waiting_for(conn, WaitingFor::MailQuota)?;
        Ok::<_, StoreError>((waiting, failing, (unread, unpulled), for_server, for_quota))
    });
    // A database that cannot be read is a cause of its own.
    let Ok(((due, oldest), failing, (unread, unpulled), for_server, for_quota)) = read.await else {
        return Vec::new();
    };
    telemetry::metrics::mail_waiting(for_server, for_quota);
    let age = oldest.map_or(SignedDuration::ZERO, |oldest| now.duration_since(oldest));
    telemetry::metrics::outbox(due, age.unsigned_abs(), failing);
    let mut because = Vec::new();
    if age > BEHIND {
        because.push(Cause {
            source: "deliveries".to_owned(),
            detail: format!("{due} notices are due and not sent"),
            last_seen: oldest,
        });
    }
    if failing > 0 {
        because.push(Cause {
            source: "notice endpoints".to_owned(),
            detail: format!("{failing} have taken nothing for a day or more"),
            last_seen: None,
        });
    }
    if unread > 0 {
        because.push(Cause {
            source: "calendars".to_owned(),
            detail: format!(
                "{unread} cannot be read for a day or more; what was read before stays"
            ),
            last_seen: None,
        });
    }
    if unpulled > 0 {
        because.push(Cause {
            source: "roster sources".to_owned(),
            detail: format!(
                "{unpulled} cannot be pulled for a day or more; the rosters stay as they were"
            ),
            last_seen: None,
        });
    }
    because.extend(mail(for_server, for_quota));
    because
}

/// What keeps mail from leaving.
fn mail(for_server: i64, for_quota: i64) -> Vec<Cause> {
    let causes = [
        (for_server, "could not be handed to the mail server"),
        (for_quota, "wait, because a club's quota is used up"),
    ];
    let some = causes.into_iter().filter(|(count, _)| *count > 0);
    let cause = |(count, why)| Cause {
        source: "mail".to_owned(),
        detail: format!("{count} mail(s) {why}"),
        last_seen: None,
    };
    some.map(cause).collect()
}

/// Metrics
///
/// Counters and durations in the Prometheus text format; no ids or names of people.
#[utoipa::path(
    tag = "Service", operation_id = "metrics", security(()),
    responses((status = 200, description = "Metrics", body = String, content_type = "text/plain"))
)]
#[get("/metrics")]
pub async fn metrics_text(app: web::Data<App>) -> HttpResponse {
    // The outbox is counted when somebody asks.
    deliveries(&app).await;
    HttpResponse::Ok()
        .content_type("text/plain; version=0.0.4; charset=utf-8")
        .body(telemetry::metrics::render())
}

/// This document
///
/// The OpenAPI 3.1 document of the running program.
#[utoipa::path(
    tag = "Service", operation_id = "openapi", security(()),
    responses(
        (status = 200, description = "The OpenAPI document", body = Object),
        (status = 500, description = "Failed", body = ProblemBody, content_type = "application/problem+json"),
    )
)]
#[get("/openapi.json")]
pub async fn document() -> Result<HttpResponse, Problem> {
    let text = crate::openapi::text().map_err(|error| Problem::internal(error))?;
    Ok(HttpResponse::Ok()
        .insert_header((header::CONTENT_TYPE, "application/json"))
        .body(text))
}
