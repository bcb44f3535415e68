//! A caller, and one request of it.

use std::future::{Future, IntoFuture};
use std::pin::Pin;
use std::sync::Arc;

use reqwest::Method;
use serde_json::Value;

use crate::answer::Answer;
use crate::identity::Identity;
use crate::running::Running;

/// What is sent as `Authorization`.
#[derive(Clone)]
pub(crate) enum Bearer {
    Nothing,
    Token(String),
    Signed(Identity),
}

/// A caller with one token. It stays usable when the server is restarted.
///
/// Paths that begin with `/` are taken as they are, others lie under the caller's club: `get("squads")`, `get("/health/live")`.
#[derive(Clone)]
pub struct Client {
    server: Arc<Running>,
    bearer: Bearer,
    club: Option<String>,
}

impl Client {
    pub(crate) fn new(server: Arc<Running>, bearer: Bearer, club: Option<String>) -> Self {
        Self {
            server,
            bearer,
            club,
        }
    }

    /// Another caller of the same server.
    pub(crate) fn signed(&self, identity: Identity, club: &str) -> Self {
        Self::new(
            Arc::clone(&self.server),
            Bearer::Signed(identity),
            Some(club.to_owned()),
        )
    }

    /// Another person of the same club, in this role.
    ///
    /// # Panics
    /// When this caller has no club.
    pub fn colleague(&self, role: &str) -> Self {
        let club = self.club.as_deref().expect("a caller of a club");
        self.signed(Identity::role(role).subject("colleague").club(club), club)
    }

    /// `GET`
    pub fn get(&self, path: impl AsRef<str>) -> Request {
        self.request(Method::GET, path)
    }

    /// `POST` of a JSON body
    pub fn post(&self, path: impl AsRef<str>, body: Value) -> Request {
        self.request(Method::POST, path).json(&body)
    }

    /// `PUT` of a JSON body
    pub fn put(&self, path: impl AsRef<str>, body: Value) -> Request {
        self.request(Method::PUT, path).json(&body)
    }

    /// `PATCH` with a JSON Merge Patch (RFC 7396)
    pub fn patch(&self, path: impl AsRef<str>, patch: Value) -> Request {
        self.request(Method::PATCH, path)
            .body("application/merge-patch+json", patch.to_string())
    }

    /// `DELETE`
    pub fn delete(&self, path: impl AsRef<str>) -> Request {
        self.request(Method::DELETE, path)
    }

    /// Any method, without a body.
    pub fn request(&self, method: Method, path: impl AsRef<str>) -> Request {
        let path = path.as_ref();
        let path = match &self.club {
            _ if path.starts_with('/') => path.to_owned(),
            Some(club) => format!("/v1/clubs/{club}/{path}"),
            None => panic!("{path}: this caller has no club, so its paths begin with /"),
        };
        Request {
            client: self.clone(),
            method,
            path,
            query: Vec::new(),
            headers: Vec::new(),
            body: None,
        }
    }
}

/// A request, sent when it is awaited.
#[must_use]
pub struct Request {
    client: Client,
    method: Method,
    path: String,
    query: Vec<(String, String)>,
    headers: Vec<(String, String)>,
    body: Option<Vec<u8>>,
}

impl Request {
    /// Goes to another path instead.
    pub fn path(mut self, path: &str) -> Self {
        self.path = path.to_owned();
        self
    }

    /// Is sent by another caller instead.
    pub fn by(mut self, caller: &Client) -> Self {
        self.client = caller.clone();
        self
    }

    /// Speaks of another record: of `id` wherever it spoke of `of`, in the path, the query and the body.
    pub fn about(mut self, of: &str, id: &str) -> Self {
        self.path = self.path.replace(of, id);
        for (_, value) in &mut self.query {
            *value = value.replace(of, id);
        }
        let body = self.body.take();
        self.body = body.map(|body| String::from_utf8_lossy(&body).replace(of, id).into_bytes());
        self
    }

    /// Whether this stands in the path, the query or the body.
    pub fn mentions(&self, text: &str) -> bool {
        let mut values = self.query.iter().map(|(_, value)| value);
        self.path.contains(text)
            || values.any(|value| value.contains(text))
            || self.text().contains(text)
    }

    /// Leaves a header field out again.
    pub fn without_header(mut self, name: &str) -> Self {
        self.headers.retain(|(given, _)| given != name);
        self
    }

    /// Adds a query parameter; it is encoded here.
    pub fn query(mut self, name: &str, value: impl ToString) -> Self {
        self.query.push((name.to_owned(), value.to_string()));
        self
    }

    /// Adds a header field.
    pub fn header(mut self, name: &str, value: impl ToString) -> Self {
        self.headers.push((name.to_owned(), value.to_string()));
        self
    }

    /// Holds only for this version of the resource.
    pub fn if_match(self, etag: &str) -> Self {
        self.header("If-Match", etag)
    }

    /// May be repeated without a second effect.
    pub fn idempotency_key(self, key: &str) -> Self {
        self.header("Idempotency-Key", key)
    }

    /// Checks everything and stores nothing.
    pub fn dry_run(self) -> Self {
        self.query("dry_run", true)
    }

    /// Any body, well formed or not, in the place of one that was given before.
    pub fn body(self, media_type: &str, body: impl Into<Vec<u8>>) -> Self {
        self.untyped_body(body).header("Content-Type", media_type)
    }

    /// A body as directories send it.
    pub fn scim(self, body: &Value) -> Self {
        self.body("application/scim+json", body.to_string())
    }

    /// The body that was given, as text.
    pub fn text(&self) -> String {
        let body = self.body.as_deref().unwrap_or_default();
        String::from_utf8_lossy(body).into_owned()
    }

    /// A body without a `Content-Type`.
    pub fn untyped_body(mut self, body: impl Into<Vec<u8>>) -> Self {
        self.body = Some(body.into());
        self.without_header("Content-Type")
    }

    pub(crate) fn json(self, body: &Value) -> Self {
        self.body("application/json", body.to_string())
    }

    /// Sends it; no answer is an error instead of a failed test.
    pub async fn attempt(self) -> Result<Answer, reqwest::Error> {
        let server = &self.client.server;
        let name = format!("{} {}", self.method, self.path);
        let mut url = server.url(&self.path);
        if !self.query.is_empty() {
            url.query_pairs_mut().extend_pairs(&self.query);
        }
        let mut request = server.http().request(self.method, url);
        if let Some(body) = self.body {
            request = request.body(body);
        }
        for (header, value) in self.headers {
            request = request.header(header, value);
        }
        request = match &self.client.bearer {
            Bearer::Nothing => request,
            Bearer::Token(token) => request.bearer_auth(token),
            Bearer::Signed(identity) => request.bearer_auth(server.token(identity)),
        };
        Answer::read(name, request.send().await?).await
    }

    async fn send(self) -> Answer {
        let name = format!("{} {}", self.method, self.path);
        let answer = self.attempt().await;
        answer.unwrap_or_else(|error| panic!("{name}: no answer: {error:?}"))
    }
}

impl IntoFuture for Request {
    type Output = Answer;
    type IntoFuture = Pin<Box<dyn Future<Output = Answer> + Send>>;

    fn into_future(self) -> Self::IntoFuture {
        Box::pin(self.send())
    }
}
