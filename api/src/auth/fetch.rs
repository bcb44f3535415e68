//! One fetch of a key set over HTTP, bounded in time and size.

use std::time::Duration;

use reqwest::StatusCode;
use reqwest::redirect::Policy;

use super::keys::{KeySet, NotAKeySet};
use super::settings::JwksUrl;

const CONNECT_TIMEOUT: Duration = Duration::from_secs(3);
const TOTAL_TIMEOUT: Duration = Duration::from_secs(5);
const MAX_OCTETS: usize = 256 * 1024;

/// Why a key set could not be fetched. Holds nothing of the answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum FetchError {
    /// No connection, no trusted certificate, or the answer broke off.
    #[error("the key set's address cannot be reached (address, network or certificate)")]
    Unreachable,
    /// No complete answer in time.
    #[error("the key set's address did not answer within 5 seconds")]
    TimedOut,
    /// Another status than 200; redirects are not followed.
    #[error("the key set's address answered with status {0}")]
    Status(u16),
    /// An answer of more than 256 KiB.
    #[error("the key set is larger than 256 KiB")]
    TooLarge,
    /// An answer that is not a JWK Set.
    #[error("the answer is not a JWK Set")]
    NotAKeySet,
}

impl From<NotAKeySet> for FetchError {
    fn from(_: NotAKeySet) -> Self {
        FetchError::NotAKeySet
    }
}

impl From<reqwest::Error> for FetchError {
    fn from(error: reqwest::Error) -> Self {
        if error.is_timeout() {
            FetchError::TimedOut
        } else {
            FetchError::Unreachable
        }
    }
}

/// The client for key sets: no redirects, no proxy from the environment, 3 s to connect, 5 s in all.
/// Connections are not kept: fetches are minutes apart, and may come from different worker threads.
///
/// # Errors
/// When no root certificates are found on this machine.
pub fn client() -> Result<reqwest::Client, reqwest::Error> {
    reqwest::Client::builder()
        .connect_timeout(CONNECT_TIMEOUT)
        .timeout(TOTAL_TIMEOUT)
        .redirect(Policy::none())
        .no_proxy()
        .pool_max_idle_per_host(0)
        .user_agent(concat!("plimsoll/", env!("CARGO_PKG_VERSION")))
        .build()
}

/// Fetches and reads the key set at `address`.
///
/// # Errors
/// [`FetchError`] for everything but a JWK Set of at most 256 KiB with status 200.
pub async fn key_set(client: &reqwest::Client, address: &JwksUrl) -> Result<KeySet, FetchError> {
    let mut response = client.get(address.url().clone()).send().await?;
    if response.status() != StatusCode::OK {
        return Err(FetchError::Status(response.status().as_u16()));
    }
    let mut document = Vec::new();
    while let Some(chunk) = response.chunk().await? {
        if document.len() + chunk.len() > MAX_OCTETS {
            return Err(FetchError::TooLarge);
        }
        document.extend_from_slice(&chunk);
    }
    Ok(KeySet::parse(&document)?)
}
