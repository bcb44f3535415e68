//! `POST …/sessions/bulk`: JSON or CSV read whole, NDJSON as a stream.

use actix_web::dev::Payload;
use actix_web::http::header;
use actix_web::web::{Bytes, BytesMut};
use actix_web::{Either, HttpRequest, HttpResponse, post, web};
use futures_util::stream;

use crate::app::App;
use crate::auth::tenant::{Caller, ClubScope, right};
use crate::error::{Code, Problem};
use crate::ids::ClubId;
use crate::services::sessions::bulk::{
    self, BulkAnswer, BulkInput, LONGEST_LINE, MOST_ROWS, Row, RowResult,
};
use crate::services::sessions::{SessionInput, csv_rows};
use crate::services::write;
use crate::telemetry::metrics;
use crate::web::body::{self, TimedBody};
use crate::web::params::{KeyHeader, WriteParams};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::WriteSessions;

/// Rows of an NDJSON stream that share one transaction.
const BATCH: usize = 1_000;

/// Report many sessions
///
/// Good rows land even when others are refused; each result says what became of its row. JSON and CSV
/// hold at most 10,000 rows and are one transaction. NDJSON has no cap, is stored in batches and
/// answered as NDJSON, one result a line; it takes no Idempotency-Key, since natural keys make it
/// safe to repeat.
#[utoipa::path(
    tag = "Sessions",
    operation_id = "record_sessions",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), WriteParams, KeyHeader),
    request_body(content(
        (BulkInput = "application/json"),
        (String = "text/csv"),
        (SessionInput = "application/x-ndjson"),
    )),
    responses(
        (status = 200, description = "One result a row", content(
            (BulkAnswer = "application/json"),
            (RowResult = "application/x-ndjson"),
        )),
        WriteRefusals,
    )
)]
#[post("/v1/clubs/{club_id}/sessions/bulk")]
pub async fn record_many(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    request: HttpRequest,
    payload: web::Payload,
) -> Result<Either<Reply, HttpResponse>, Problem> {
    let accepted = ["application/json", "text/csv", "application/x-ndjson"];
    let payload = payload.into_inner();
    match body::expect_type(&request, &accepted)?.as_str() {
        "application/x-ndjson" => streamed(app, scope.caller, &request, payload).map(Either::Right),
        media_type => {
            let request = WriteRequest::read(&request, payload, body::BULK_LIMIT).await?;
            let rows = match media_type {
                "text/csv" => from_csv(&request)?,
                _ => from_json(&request)?,
            };
            whole(app, scope.caller, request, rows)
                .await
                .map(Either::Left)
        }
    }
}

fn from_json(request: &WriteRequest) -> Result<Vec<Row>, Problem> {
    bulk::read_json(request.bytes())
}

fn from_csv(request: &WriteRequest) -> Result<Vec<Row>, Problem> {
    let rows = csv_rows::read(request.bytes(), MOST_ROWS)?;
    Ok(rows
        .into_iter()
        .map(|row| row.and_then(|value| bulk::row_of_table(&value)))
        .collect())
}

async fn whole(
    app: web::Data<App>,
    caller: Caller,
    request: WriteRequest,
    rows: Vec<Row>,
) -> Result<Reply, Problem> {
    if rows.len() > MOST_ROWS {
        let detail = format!("More than {MOST_ROWS} rows; NDJSON takes any number.");
        return Err(Problem::new(Code::BodyTooLarge, detail));
    }
    let dry_run = request.dry_run;
    write::run(&app, caller, &request, move |change| {
        let answer = BulkAnswer::of(dry_run, bulk::store(change, &rows, 1)?);
        count(&answer.results, dry_run);
        Reply::json(200, &answer)
    })
    .await
}

/// Answers a stream with a stream: memory holds one batch, whatever the length.
fn streamed(
    app: web::Data<App>,
    caller: Caller,
    request: &HttpRequest,
    payload: Payload,
) -> Result<HttpResponse, Problem> {
    body::refuse_encoding(request)?;
    let trial = WriteRequest::head(request)?;
    if trial.idempotency.is_some() {
        let detail = "An NDJSON stream takes no Idempotency-Key; natural keys make it repeatable.";
        return Err(Problem::new(Code::BadHeader, detail));
    }
    let lines = Lines {
        body: TimedBody::stream(payload),
        buffer: BytesMut::new(),
        ended: false,
    };
    let state = Stream {
        app,
        caller,
        trial,
        lines,
        next_row: 1,
    };
    let answers = stream::try_unfold(state, |mut state| async move {
        let answer = state.batch().await?;
        Ok::<_, Problem>(answer.map(|bytes| (bytes, state)))
    });
    Ok(HttpResponse::Ok()
        .insert_header((header::CONTENT_TYPE, "application/x-ndjson"))
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .streaming(answers))
}

struct Stream {
    app: web::Data<App>,
    caller: Caller,
    trial: WriteRequest,
    lines: Lines,
    next_row: usize,
}

impl Stream {
    /// Stores the next batch and gives its results as lines; `None` at the end. What goes wrong with
    /// a whole batch ends the stream with a problem as its last line: earlier batches are stored.
    async fn batch(&mut self) -> Result<Option<Bytes>, Problem> {
        let rows = match self.lines.rows(BATCH).await {
            Ok(rows) if rows.is_empty() => return Ok(None),
            Ok(rows) => rows,
            Err(problem) => return self.last_line(&problem).map(Some),
        };
        let (first, dry_run) = (self.next_row, self.trial.dry_run);
        self.next_row += rows.len();
        let stored = write::run(&self.app, self.caller.clone(), &self.trial, move |change| {
            let results = bulk::store(change, &rows, first)?;
            count(&results, dry_run);
            Reply::lines(&results)
        })
        .await;
        self.lines.body.restart_slice();
        match stored {
            Ok(reply) => Ok(Some(Bytes::from(reply.body))),
            Err(problem) => self.last_line(&problem).map(Some),
        }
    }

    fn last_line(&mut self, problem: &Problem) -> Result<Bytes, Problem> {
        // Nothing more is read: what is left must not be answered again.
        self.lines.ended = true;
        self.lines.buffer.clear();
        Reply::lines(&[problem.body()]).map(|reply| Bytes::from(reply.body))
    }
}

/// Lines of a body, read as they come.
struct Lines {
    body: TimedBody,
    buffer: BytesMut,
    ended: bool,
}

impl Lines {
    /// Up to `most` rows; empty lines do not count. Fewer only at the end.
    async fn rows(&mut self, most: usize) -> Result<Vec<Row>, Problem> {
        let mut rows = Vec::new();
        while rows.len() < most {
            match self.line().await? {
                Some(line) if line.trim_ascii().is_empty() => {}
                Some(line) => rows.push(bulk::row(&line)),
                None => break,
            }
        }
        Ok(rows)
    }

    async fn line(&mut self) -> Result<Option<Bytes>, Problem> {
        loop {
            let end = self.buffer.iter().position(|byte| *byte == b'\n');
            if end.unwrap_or(self.buffer.len()) > LONGEST_LINE {
                let detail = format!("A line is longer than {LONGEST_LINE} bytes.");
                return Err(Problem::new(Code::BodyTooLarge, detail));
            }
            if let Some(end) = end {
                return Ok(Some(self.buffer.split_to(end + 1).freeze()));
            }
            if self.ended {
                let rest = self.buffer.split().freeze();
                return Ok((!rest.is_empty()).then_some(rest));
            }
            match self.body.chunk().await? {
                Some(chunk) => self.buffer.extend_from_slice(&chunk),
                None => self.ended = true,
            }
        }
    }
}

fn count(results: &[RowResult], dry_run: bool) {
    if !dry_run {
        for outcome in ["accepted", "unchanged", "rejected"] {
            let number = results
                .iter()
                .filter(|result| result.outcome == outcome)
                .count();
            metrics::sessions(outcome, u64::try_from(number).unwrap_or(u64::MAX));
        }
    }
}
