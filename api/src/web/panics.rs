//! A panic ends the request it happens in, and nothing else.
//!
//! Without this the connection would be closed without an answer, and other requests on it with it.

use std::panic::AssertUnwindSafe;

use actix_web::error::InternalError;
use actix_web::{Error, ResponseError};
use futures_util::FutureExt;

use crate::error::Problem;

/// The outcome of a request's work; of work that panics, the refusal that every failure of ours gets.
///
/// Nothing half done is seen afterwards: a transaction that is not committed is undone, and its
/// connection is not used again.
pub async fn contained<T>(work: impl Future<Output = Result<T, Error>>) -> Result<T, Error> {
    let outcome = AssertUnwindSafe(work).catch_unwind().await;
    outcome.unwrap_or_else(|_| {
        let problem = Problem::internal(&"a handler panicked");
        Err(InternalError::from_response("panic", problem.error_response()).into())
    })
}
