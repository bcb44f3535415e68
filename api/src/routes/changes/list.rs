//! `GET …/changes`: a page as JSON, or all there is as a stream of NDJSON.

use actix_web::http::header;
use actix_web::web::Bytes;
use actix_web::{HttpRequest, HttpResponse, get, web};
use futures_util::stream;
use jiff::Timestamp;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId};
use crate::store::changes::{self, Changed, QuestionStanding};
use crate::store::{ChangeKind, Tenant};
use crate::web::accept;
use crate::web::page::PageRequest;
use crate::web::params::PageParams;
use crate::web::query::Query;
use crate::web::refusals::ReadRefusals;
use crate::web::reply::Reply;

type Needed = right::ReadChanges;

const JSON: &str = "application/json";
const NDJSON: &str = "application/x-ndjson";
/// Records that a stream reads at a time.
const BATCH: i64 = 1_000;

/// A record that has changed. What it now is stands at `href`.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({
    "kind": "session", "id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "version": 2, "deleted": false,
    "received_at": "2026-09-07T17:25:00Z", "cursor": "Y2hhbmdlLTQy",
    "href": "/v1/clubs/0199a1b2-ffff-7e4f-8a5b-6c7d8e9f0a1b/sessions/0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "question": null}))]
pub struct ChangedRecord {
    /// athlete, squad, membership, event, event_warm_up, attendance, session, session_contacts, rest_day, absence, declared_history,
    /// programme, programme_assignment, question, flag, policy, or erasure: all that was kept of an athlete was erased, and whoever has
    /// copies of hers erases them too.
    #[schema(value_type = String)]
    pub kind: &'static str,
    /// Its id, of a warm-up that of the event, of an erasure that of the athlete; null of a policy, of which there is one.
    pub id: Option<Uuid>,
    /// Which version it now is.
    pub version: i32,
    /// Whether it is gone: nothing stands at `href` then.
    pub deleted: bool,
    /// When the change was received.
    #[schema(value_type = String, format = DateTime)]
    pub received_at: Timestamp,
    /// `after` with this goes on behind this change.
    pub cursor: String,
    /// Where the record stands. A question is read there by whom it is for, and not by a program.
    pub href: String,
    /// How a question stands; null of anything else.
    pub question: Option<ChangedQuestion>,
}

/// That there is a question to the strength coaches, and how it stands; nothing of what it says.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "state": "answered"}))]
pub struct ChangedQuestion {
    /// The athlete whom it is about.
    pub athlete_id: AthleteId,
    /// open (it waits for somebody), answered, or closed (without a reply).
    #[schema(value_type = String)]
    pub state: &'static str,
}

impl From<QuestionStanding> for ChangedQuestion {
    fn from(standing: QuestionStanding) -> Self {
        Self {
            athlete_id: standing.athlete_id,
            state: match (standing.is_open, standing.is_answered) {
                (true, _) => "open",
                (false, true) => "answered",
                (false, false) => "closed",
            },
        }
    }
}

/// Changes in order.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({
    "items": [{
        "kind": "session", "id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "version": 2, "deleted": false,
        "received_at": "2026-09-07T17:25:00Z", "cursor": "Y2hhbmdlLTQy",
        "href": "/v1/clubs/0199a1b2-ffff-7e4f-8a5b-6c7d8e9f0a1b/sessions/0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "question": null}],
    "next": "Y2hhbmdlLTQy", "more": false}))]
pub struct ChangedRecords {
    /// The records changed, each once at its latest change.
    pub items: Vec<ChangedRecord>,
    /// `after` with this goes on behind the last one, now or whenever the caller asks again; null while nothing has ever changed.
    pub next: Option<String>,
    /// Whether there is more now.
    pub more: bool,
}

/// List changes
///
/// What has changed since `after`, in the order in which it was received, each record once at its latest change; from the beginning
/// without `after`. Nothing is left out and nothing expires: a program that keeps `next` and asks again knows all that the club's roster,
/// schedule, sessions, programmes, flags and policy are, without asking twice. What other records make of one, as what a session counts as
/// beside an attendance list, is no change of it. What the club's own retention terms erase is not told: apply them to copies too. It
/// carries ids and links, and nothing of clinicians. Of a question it says whom it is about and whether it is open, answered or closed,
/// never what was asked, nor whether something hurts; reports of pain are not told at all. With `Accept: application/x-ndjson` all there
/// is comes as one stream, a record a line.
#[utoipa::path(
    tag = "Changes",
    operation_id = "list_changes",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), PageParams),
    responses(
        (status = 200, description = "Changes in order", content(
            (ChangedRecords = "application/json"),
            (ChangedRecord = "application/x-ndjson"),
        ), headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/changes")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    query: Query<PageParams>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let (limit, after) = (query.0.limit.as_deref(), query.0.after.as_deref());
    let page = PageRequest::<i64>::new(limit, after, "changes")?;
    let tenant = scope.caller.tenant;
    if accept::preferred(&request, &[JSON, NDJSON])? == NDJSON {
        return Ok(streamed(app, tenant, page));
    }
    let (after, fetch) = (page.after.unwrap_or(i64::MIN), page.fetch());
    let rows = app
        .store
        .read(tenant, move |conn| {
            changes::since(conn, tenant, after, fetch)
        })
        .await?;
    let last = rows.iter().take(page.limit).next_back().map(|row| row.seq);
    let next = last.or(page.after).map(|seq| page.cursor(&seq));
    let found = page.page(rows, |row| row.seq);
    let more = found.next.is_some();
    let found = found.map(|row| answer(tenant, &page, &row));
    Ok(found.answer_within(&request, |found| ChangedRecords {
        items: found.items,
        next,
        more,
    }))
}

/// All there is, batch after batch: memory holds one.
fn streamed(app: web::Data<App>, tenant: Tenant, page: PageRequest<i64>) -> HttpResponse {
    let first = page.after.unwrap_or(i64::MIN);
    let batches = stream::try_unfold((app, page, first), move |(app, page, after)| async move {
        let rows = app
            .store
            .read(tenant, move |conn| {
                changes::since(conn, tenant, after, BATCH)
            })
            .await?;
        let Some(last) = rows.last().map(|row| row.seq) else {
            return Ok(None);
        };
        let answers: Vec<ChangedRecord> =
            rows.iter().map(|row| answer(tenant, &page, row)).collect();
        let lines = Bytes::from(Reply::lines(&answers)?.body);
        Ok::<_, Problem>(Some((lines, (app, page, last))))
    });
    HttpResponse::Ok()
        .insert_header((header::CONTENT_TYPE, NDJSON))
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .streaming(batches)
}

fn answer(tenant: Tenant, page: &PageRequest<i64>, changed: &Changed) -> ChangedRecord {
    ChangedRecord {
        kind: changed.kind.code(),
        id: changed.id,
        version: changed.version,
        deleted: changed.deleted,
        received_at: changed.received_at,
        cursor: page.cursor(&changed.seq),
        href: href(tenant, changed),
        question: changed.question.map(Into::into),
    }
}

/// Where a record stands.
fn href(tenant: Tenant, changed: &Changed) -> String {
    let id = |id: Option<Uuid>| id.map(|id| id.hyphenated().to_string()).unwrap_or_default();
    let (own, within) = (id(changed.id), id(changed.within));
    let path = match changed.kind {
        ChangeKind::Athlete | ChangeKind::Erasure => format!("athletes/{own}"),
        ChangeKind::Squad => format!("squads/{own}"),
        ChangeKind::Membership => format!("squads/{within}/members/{own}"),
        ChangeKind::Event => format!("events/{own}"),
        ChangeKind::EventWarmUp => format!("events/{own}/warm-up"),
        ChangeKind::Attendance => format!("attendance/{own}"),
        ChangeKind::Session => format!("sessions/{own}"),
        ChangeKind::SessionContacts => format!("sessions/{own}/contacts"),
        ChangeKind::RestDay => format!("rest-days/{own}"),
        ChangeKind::Absence => format!("absences/{own}"),
        ChangeKind::DeclaredHistory => format!("athletes/{within}/declared-history"),
        ChangeKind::Programme => format!("programmes/{own}"),
        ChangeKind::ProgrammeAssignment => format!("programmes/{within}/assignments/{own}"),
        ChangeKind::Question => format!("questions/{own}"),
        ChangeKind::Flag => format!("flags/{own}"),
        ChangeKind::Policy => "policy".to_owned(),
    };
    format!("/v1/clubs/{}/{path}", tenant.club_id())
}
