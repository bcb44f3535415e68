//! Reading a request body within limits of size, time and rate.
//!
//! actix limits the time of the head only and would wait for a body without end; a body that stalls
//! also holds up a graceful stop. Compressed bodies are refused, since inflating one can take a
//! thousand times its size in memory before any limit is seen.

use std::time::Duration;

use actix_web::dev::Payload;
use actix_web::http::header;
use actix_web::web::{Bytes, BytesMut};
use actix_web::{HttpRequest, error::PayloadError};
use futures_util::StreamExt;
use tokio::time::{Instant, timeout_at};

use crate::error::{Code, Problem};

/// Most bytes of an ordinary body.
pub const LIMIT: usize = 8 * 1024 * 1024;
/// Most bytes of a bulk body that is read whole.
pub const BULK_LIMIT: usize = 32 * 1024 * 1024;

/// The time a body that is read whole may take in all.
pub const WHOLE: Duration = Duration::from_secs(30);
/// One slice must arrive within [`SLICE_TIME`]: at least 1 kB/s, judged every 5 s.
pub const SLICE: usize = 5 * 1024;
/// The time for each [`SLICE`].
pub const SLICE_TIME: Duration = Duration::from_secs(5);

/// A payload read chunk by chunk, each within its deadline.
pub struct TimedBody {
    payload: Payload,
    /// When the whole must be there; `None` for streams without a cap.
    whole: Option<Instant>,
    slice_ends: Instant,
    in_slice: usize,
}

impl TimedBody {
    /// A body that must be whole in 30 s.
    pub fn whole(payload: Payload) -> Self {
        let now = Instant::now();
        Self {
            payload,
            whole: Some(now + WHOLE),
            slice_ends: now + SLICE_TIME,
            in_slice: 0,
        }
    }

    /// A stream of any length that must keep flowing.
    pub fn stream(payload: Payload) -> Self {
        Self {
            whole: None,
            ..Self::whole(payload)
        }
    }

    /// The next chunk; `None` at the end.
    pub async fn chunk(&mut self) -> Result<Option<Bytes>, Problem> {
        let deadline = self
            .whole
            .map_or(self.slice_ends, |whole| whole.min(self.slice_ends));
        match timeout_at(deadline, self.payload.next()).await {
            Err(_) => Err(Problem::new(
                Code::BodyTooSlow,
                "The body came more slowly than 1 kB/s, or took longer than 30 s in all.",
            )),
            Ok(None) => Ok(None),
            Ok(Some(Err(error))) => Err(unreadable(&error)),
            Ok(Some(Ok(chunk))) => {
                self.in_slice += chunk.len();
                if self.in_slice >= SLICE {
                    self.restart_slice();
                }
                Ok(Some(chunk))
            }
        }
    }

    /// Starts a new slice now: the time we spent on the last chunk is not the sender's.
    pub fn restart_slice(&mut self) {
        self.in_slice = 0;
        self.slice_ends = Instant::now() + SLICE_TIME;
    }
}

/// Reads a whole body of at most `limit` bytes.
pub async fn read(request: &HttpRequest, payload: Payload, limit: usize) -> Result<Bytes, Problem> {
    refuse_encoding(request)?;
    let announced = request
        .headers()
        .get(header::CONTENT_LENGTH)
        .and_then(|value| value.to_str().ok())
        .and_then(|value| value.parse::<usize>().ok());
    if announced.is_some_and(|length| length > limit) {
        return Err(too_large(limit));
    }
    let mut body = TimedBody::whole(payload);
    // What grows is copied, and twice in memory meanwhile; what is reserved takes up room only when it is filled.
    let mut bytes = BytesMut::with_capacity(announced.unwrap_or_default());
    while let Some(chunk) = body.chunk().await? {
        if bytes.len() + chunk.len() > limit {
            return Err(too_large(limit));
        }
        bytes.extend_from_slice(&chunk);
    }
    Ok(bytes.freeze())
}

/// Refuses a compressed body before a byte of it is read.
pub fn refuse_encoding(request: &HttpRequest) -> Result<(), Problem> {
    match request.headers().get(header::CONTENT_ENCODING) {
        None => Ok(()),
        Some(value) if value.as_bytes().eq_ignore_ascii_case(b"identity") => Ok(()),
        Some(_) => Err(Problem::new(
            Code::WrongContentType,
            "A Content-Encoding is not accepted on requests; send the body uncompressed.",
        )),
    }
}

/// The media type of the body without parameters, in lower case; other charsets than UTF-8 are refused.
pub fn media_type(request: &HttpRequest) -> Result<String, Problem> {
    let value = request
        .headers()
        .get(header::CONTENT_TYPE)
        .and_then(|value| value.to_str().ok());
    let Some(value) = value else {
        return Err(Problem::new(
            Code::WrongContentType,
            "The Content-Type header is missing.",
        ));
    };
    let mut parts = value.split(';');
    let media_type = parts.next().unwrap_or_default().trim().to_ascii_lowercase();
    for parameter in parts {
        let parameter = parameter.trim().to_ascii_lowercase();
        if let Some(charset) = parameter.strip_prefix("charset=")
            && charset.trim_matches('"') != "utf-8"
        {
            return Err(Problem::new(
                Code::WrongContentType,
                "Only the charset UTF-8 is read.",
            ));
        }
    }
    Ok(media_type)
}

/// Refuses any type but those listed.
pub fn expect_type(request: &HttpRequest, accepted: &[&str]) -> Result<String, Problem> {
    let given = media_type(request)?;
    if accepted.contains(&given.as_str()) {
        return Ok(given);
    }
    let list = accepted.join(", ");
    Err(Problem::new(
        Code::WrongContentType,
        format!("This call reads {list}."),
    ))
}

fn too_large(limit: usize) -> Problem {
    let mebibytes = limit / (1024 * 1024);
    Problem::new(
        Code::BodyTooLarge,
        format!("The body is larger than {mebibytes} MiB."),
    )
}

fn unreadable(error: &PayloadError) -> Problem {
    tracing::debug!(%error, "body ended early");
    Problem::new(Code::NotJson, "The body ended before it was complete.")
}
