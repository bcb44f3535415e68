//! What every write carries beside its content: dry run, idempotency key, precondition.

use std::future::Future;
use std::pin::Pin;

use actix_web::dev::Payload;
use actix_web::http::header;
use actix_web::web::Bytes;
use actix_web::{FromRequest, HttpRequest};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value;
use sha2::{Digest, Sha256};

use super::object::Unambiguous;
use super::reply::etag;
use super::{body, json, query};
use crate::error::{Code, Problem};

/// Longest `Idempotency-Key`.
pub const LONGEST_KEY: usize = 255;

/// A write as it came in, its body read but not yet understood.
#[derive(Debug, Clone)]
pub struct WriteRequest {
    /// Run all checks, answer the same, store nothing.
    pub dry_run: bool,
    /// The key under which the answer is kept, and what it stands for.
    pub idempotency: Option<IdempotencyKey>,
    if_match: Option<String>,
    content_type: Option<String>,
    body: Bytes,
}

/// An `Idempotency-Key` with the request it belongs to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct IdempotencyKey {
    /// The key as sent.
    pub key: String,
    /// Method and path it was sent to.
    pub target: String,
    /// SHA-256 of query and raw body.
    pub fingerprint: [u8; 32],
}

impl FromRequest for WriteRequest {
    type Error = Problem;
    type Future = Pin<Box<dyn Future<Output = Result<Self, Problem>>>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let (request, payload) = (request.clone(), payload.take());
        Box::pin(async move { WriteRequest::read(&request, payload, body::LIMIT).await })
    }
}

impl WriteRequest {
    /// Reads a write whose body has at most `limit` bytes.
    pub async fn read(
        request: &HttpRequest,
        payload: Payload,
        limit: usize,
    ) -> Result<Self, Problem> {
        Self::read_as(dry_run(request)?, request, payload, limit).await
    }

    /// Reads a write whose query has more than `dry_run` and was read before.
    pub async fn read_as(
        dry_run: bool,
        request: &HttpRequest,
        payload: Payload,
        limit: usize,
    ) -> Result<Self, Problem> {
        let body = body::read(request, payload, limit).await?;
        let content_type = if body.is_empty() {
            None
        } else {
            Some(body::media_type(request)?)
        };
        Ok(Self {
            dry_run,
            idempotency: idempotency_key(request, &body)?,
            if_match: text_header(request, &header::IF_MATCH)?,
            content_type,
            body,
        })
    }

    /// All but the body, for a body that is read as a stream.
    pub fn head(request: &HttpRequest) -> Result<Self, Problem> {
        Ok(Self {
            dry_run: dry_run(request)?,
            idempotency: idempotency_key(request, &[])?,
            if_match: text_header(request, &header::IF_MATCH)?,
            content_type: None,
            body: Bytes::new(),
        })
    }

    /// The body as it came.
    pub fn raw_body(&self) -> &[u8] {
        &self.body
    }

    /// The body as JSON of type `T`.
    pub fn json<T: DeserializeOwned>(&self) -> Result<T, Problem> {
        self.expect_type(&["application/json"])?;
        json::from_slice(&self.body)
    }

    /// The body as JSON, or `T`'s default where there is none.
    pub fn json_or_default<T: DeserializeOwned + Default>(&self) -> Result<T, Problem> {
        if self.body.is_empty() {
            Ok(T::default())
        } else {
            self.json()
        }
    }

    /// The body as a JSON Merge Patch (RFC 7396) applied to the current resource.
    pub fn merge_patch<T: Serialize + DeserializeOwned>(&self, current: &T) -> Result<T, Problem> {
        self.expect_type(&["application/merge-patch+json", "application/json"])?;
        let Unambiguous(patch) = json::from_slice(&self.body)?;
        let mut target =
            serde_json::to_value(current).map_err(|error| Problem::internal(&error))?;
        merge(&mut target, patch);
        json::from_value(&target).map_err(Problem::field)
    }

    /// The media type of the body, one of `accepted`.
    pub fn expect_type(&self, accepted: &[&str]) -> Result<&str, Problem> {
        match self.content_type.as_deref() {
            Some(given) if accepted.contains(&given) => Ok(given),
            Some(_) => Err(Problem::new(
                Code::WrongContentType,
                format!("This call reads {}.", accepted.join(", ")),
            )),
            None => Err(Problem::new(Code::NotJson, "The body is empty.")),
        }
    }

    /// The raw body.
    pub fn bytes(&self) -> &Bytes {
        &self.body
    }

    /// The If-Match header, where one came.
    pub fn if_match(&self) -> Option<&str> {
        self.if_match.as_deref()
    }

    /// Whether an If-Match header came.
    pub fn has_precondition(&self) -> bool {
        self.if_match.is_some()
    }

    /// Demands that If-Match names the current version: 428 without it, 412 when it is stale.
    pub fn require_match(&self, current: i32) -> Result<(), Problem> {
        match self.if_match.as_deref() {
            None => Err(Problem::new(
                Code::PreconditionRequired,
                "Send the ETag you read in If-Match.",
            )),
            Some(given) if matches_version(given, current) => Ok(()),
            Some(_) => Err(stale()),
        }
    }

    /// For a `PUT` on what exists: an If-Match must hold; without one only identical content is
    /// taken, which [`WriteRequest::after_put`] sees to.
    pub fn put_precondition(&self, current: i32) -> Result<(), Problem> {
        if self.has_precondition() {
            self.require_match(current)?;
        }
        Ok(())
    }

    /// After a `PUT`: changing what exists needs If-Match. The work is undone when it is missing.
    pub fn after_put(&self, before: i32, after: i32) -> Result<(), Problem> {
        if before != after {
            self.require_match(before)?;
        }
        Ok(())
    }

    /// For a resource that is not there: If-Match cannot hold.
    pub fn require_absent(&self) -> Result<(), Problem> {
        if self.if_match.is_some() {
            Err(stale())
        } else {
            Ok(())
        }
    }
}

fn stale() -> Problem {
    Problem::new(
        Code::PreconditionFailed,
        "The If-Match value is not the current ETag.",
    )
}

/// RFC 9110: `*` or a list of strong tags; weak tags never match.
fn matches_version(if_match: &str, current: i32) -> bool {
    let current = etag(current);
    if_match.trim() == "*" || if_match.split(',').any(|tag| tag.trim() == current)
}

/// RFC 7396, section 2.
fn merge(target: &mut Value, patch: Value) {
    let Value::Object(patch) = patch else {
        *target = patch;
        return;
    };
    if !target.is_object() {
        *target = Value::Object(serde_json::Map::new());
    }
    let Value::Object(members) = target else {
        return;
    };
    for (name, value) in patch {
        if value.is_null() {
            members.remove(&name);
        } else {
            merge(members.entry(name).or_insert(Value::Null), value);
        }
    }
}

fn dry_run(request: &HttpRequest) -> Result<bool, Problem> {
    #[derive(serde::Deserialize)]
    #[serde(deny_unknown_fields)]
    struct DryRun {
        dry_run: Option<String>,
    }
    let given: DryRun = query::parse(request.query_string())?;
    query::truth("?dry_run", given.dry_run.as_deref())
}

fn idempotency_key(request: &HttpRequest, body: &[u8]) -> Result<Option<IdempotencyKey>, Problem> {
    let name = header::HeaderName::from_static("idempotency-key");
    let Some(text) = text_header(request, &name)? else {
        return Ok(None);
    };
    // The draft makes it a quoted string; a bare token is as common.
    let key = text.trim().trim_matches('"').to_owned();
    if key.is_empty() || key.len() > LONGEST_KEY {
        return Err(Problem::new(
            Code::BadHeader,
            format!("Idempotency-Key has between 1 and {LONGEST_KEY} characters."),
        ));
    }
    let mut hash = Sha256::new();
    hash.update(request.query_string().as_bytes());
    hash.update([0]);
    hash.update(body);
    let target = format!("{} {}", request.method(), request.path());
    Ok(Some(IdempotencyKey {
        key,
        target,
        fingerprint: hash.finalize().into(),
    }))
}

fn text_header(
    request: &HttpRequest,
    name: &header::HeaderName,
) -> Result<Option<String>, Problem> {
    let mut values = request.headers().get_all(name);
    let Some(value) = values.next() else {
        return Ok(None);
    };
    if values.next().is_some() {
        return Err(Problem::new(
            Code::BadHeader,
            format!("{name} may be sent once."),
        ));
    }
    let text = value
        .to_str()
        .map_err(|_| Problem::new(Code::BadHeader, format!("{name} is not readable text.")))?;
    Ok(Some(text.to_owned()))
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    /// The examples of RFC 7396, appendix A.
    #[test]
    fn merge_patch_does_what_the_rfc_prints() {
        for (target, patch, result) in [
            (json!({"a":"b"}), json!({"a":"c"}), json!({"a":"c"})),
            (json!({"a":"b"}), json!({"b":"c"}), json!({"a":"b","b":"c"})),
            (json!({"a":"b"}), json!({"a":null}), json!({})),
            (
                json!({"a":"b","b":"c"}),
                json!({"a":null}),
                json!({"b":"c"}),
            ),
            (json!({"a":["b"]}), json!({"a":"c"}), json!({"a":"c"})),
            (json!({"a":"c"}), json!({"a":["b"]}), json!({"a":["b"]})),
            (
                json!({"a":{"b":"c"}}),
                json!({"a":{"b":"d","c":null}}),
                json!({"a":{"b":"d"}}),
            ),
            (json!({"a":[{"b":"c"}]}), json!({"a":[1]}), json!({"a":[1]})),
            (json!(["a", "b"]), json!(["c", "d"]), json!(["c", "d"])),
            (json!({"a":"b"}), json!(["c"]), json!(["c"])),
            (json!({"a":"foo"}), json!(null), json!(null)),
            (json!({"a":"foo"}), json!("bar"), json!("bar")),
            (json!({"e":null}), json!({"a":1}), json!({"e":null,"a":1})),
            (json!([1, 2]), json!({"a":"b","c":null}), json!({"a":"b"})),
            (
                json!({}),
                json!({"a":{"bb":{"ccc":null}}}),
                json!({"a":{"bb":{}}}),
            ),
        ] {
            let mut merged = target.clone();
            merge(&mut merged, patch.clone());
            assert_eq!(merged, result, "{target} with {patch}");
        }
    }

    #[test]
    fn if_match_compares_strongly() {
        assert!(matches_version("\"3\"", 3));
        assert!(matches_version("\"1\", \"3\"", 3));
        assert!(matches_version("*", 3));
        assert!(!matches_version("W/\"3\"", 3));
        assert!(!matches_version("3", 3));
    }
}
