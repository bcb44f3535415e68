//! A body with sensible values that a test changes where it matters.

use std::future::{Future, IntoFuture};
use std::pin::Pin;

use serde_json::Value;

use crate::answer::Answer;
use crate::request::Request;

/// A write that is sent when it is awaited. Awaiting asserts that it was accepted and gives what was made.
#[must_use]
pub struct Draft<T> {
    request: Request,
    body: Value,
    made: Box<dyn FnOnce(Answer) -> T + Send>,
}

impl<T> Draft<T> {
    pub(crate) fn new(
        request: Request,
        body: Value,
        made: impl FnOnce(Answer) -> T + Send + 'static,
    ) -> Self {
        Self {
            request,
            body,
            made: Box::new(made),
        }
    }

    /// Sets a field of the body.
    pub fn with(mut self, field: &str, value: impl Into<Value>) -> Self {
        self.body[field] = value.into();
        self
    }

    /// Leaves a field out of the body.
    pub fn without(mut self, field: &str) -> Self {
        self.body
            .as_object_mut()
            .expect("a draft is an object")
            .remove(field);
        self
    }

    /// The body alone, for example as a row of a bulk call.
    pub fn into_body(self) -> Value {
        self.body
    }

    /// The request with this body, for header fields, for a dry run, or to see a refusal.
    pub fn into_request(self) -> Request {
        self.request.json(&self.body)
    }
}

impl<T: 'static> IntoFuture for Draft<T> {
    type Output = T;
    type IntoFuture = Pin<Box<dyn Future<Output = T> + Send>>;

    fn into_future(self) -> Self::IntoFuture {
        let made = self.made;
        let request = self.request.json(&self.body);
        Box::pin(async move { made(request.await) })
    }
}
