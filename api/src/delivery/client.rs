//! The guarded client: the only way in which this program calls an address that somebody gave it.
//!
//! Host names are resolved here, refused when any of their addresses is not global, and connected to at exactly the
//! addresses that were checked. No redirects, no proxy, no decompression, no cookies, no connection kept; 3 s to connect,
//! 20 s in all, 64 kB of the answer to a message, and of what is fetched as much as the caller allows.

use std::future::Future;
use std::net::SocketAddr;
use std::time::Duration;

use reqwest::Response;
use reqwest::dns::{Addrs, Name, Resolve, Resolving};
use reqwest::header::{ETAG, HeaderMap, HeaderName, HeaderValue, LAST_MODIFIED, LINK, RETRY_AFTER};
use reqwest::redirect::Policy;
use url::{Host, Url};

use super::guard::{self, Blocked, Reach};

/// So much of the answer to a message is read.
pub const MAX_ANSWER: usize = 64_000;
/// So long may a call take in all.
pub const WHOLE_CALL: Duration = Duration::from_secs(20);

/// How long a call may take.
#[derive(Debug, Clone, Copy)]
struct Limits {
    connect: Duration,
    /// For what follows a status.
    body: Duration,
    total: Duration,
}

const LIMITS: Limits = Limits {
    connect: Duration::from_secs(3),
    body: Duration::from_secs(2),
    total: WHOLE_CALL,
};

/// What the other side answered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    /// The status.
    pub status: u16,
    /// What it said, of which 64 kB are read. Nobody keeps it: it is compared with a challenge, or counted.
    pub said: Vec<u8>,
    /// The `Retry-After` field as sent.
    pub retry_after: Option<String>,
}

/// What was fetched.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Document {
    /// The status.
    pub status: u16,
    /// The `ETag` field as sent.
    pub etag: Option<String>,
    /// The `Last-Modified` field as sent.
    pub last_modified: Option<String>,
    /// The `Link` fields as sent, as one list (RFC 9110, 5.3).
    pub link: Option<String>,
    /// The `Retry-After` field as sent.
    pub retry_after: Option<String>,
    /// The whole body; none where it is longer than was allowed.
    pub body: Option<Vec<u8>>,
}

/// Why there is no answer. Holds neither address nor body.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum CallError {
    /// The address may not be called.
    #[error("the address may not be called: {0}")]
    Blocked(#[from] Blocked),
    /// No connection, no trusted certificate, or the connection broke off.
    #[error("the address cannot be reached")]
    Unreachable,
    /// No answer in time.
    #[error("there was no answer in time")]
    TimedOut,
}

impl From<reqwest::Error> for CallError {
    fn from(error: reqwest::Error) -> Self {
        if error.is_timeout() {
            CallError::TimedOut
        } else {
            CallError::Unreachable
        }
    }
}

/// Calls addresses within its reach.
#[derive(Debug, Clone, Copy)]
pub struct GuardedClient {
    reach: Reach,
    limits: Limits,
}

impl GuardedClient {
    /// A client of this reach.
    pub fn new(reach: Reach) -> Self {
        Self {
            reach,
            limits: LIMITS,
        }
    }

    /// Posts a body and reads the status and at most 64 kB of the answer.
    ///
    /// # Errors
    /// [`CallError`]; a refusal by the guard comes before any packet to the target.
    pub async fn post(
        &self,
        address: &str,
        headers: HeaderMap,
        body: String,
    ) -> Result<Answer, CallError> {
        let url = guard::url(address, self.reach)?;
        let call = async {
            let client = self.client_for(&url).await?;
            let request = client.post(url).headers(headers).body(body);
            let mut response = request.send().await?;
            let retry_after = field(&response, &RETRY_AFTER);
            let status = response.status().as_u16();
            let mut said = Vec::new();
            // The status is the answer; a body that breaks off, trickles or never ends does not change it.
            let rest = async {
                while said.len() < MAX_ANSWER
                    && let Ok(Some(chunk)) = response.chunk().await
                {
                    said.extend_from_slice(&chunk);
                }
            };
            let _ = tokio::time::timeout(self.limits.body, rest).await;
            said.truncate(MAX_ANSWER);
            Ok(Answer {
                status,
                said,
                retry_after,
            })
        };
        self.in_time(call).await
    }

    /// Fetches a document of at most `most` bytes; what is longer is not read to its end.
    ///
    /// # Errors
    /// As [`GuardedClient::post`]; a body that breaks off is no document.
    pub async fn get(
        &self,
        address: &str,
        headers: HeaderMap,
        most: usize,
    ) -> Result<Document, CallError> {
        let url = guard::url(address, self.reach)?;
        let call = async {
            let client = self.client_for(&url).await?;
            let mut response = client.get(url).headers(headers).send().await?;
            let mut body = Vec::new();
            while let Some(chunk) = response.chunk().await? {
                body.extend_from_slice(&chunk);
                if body.len() > most {
                    break;
                }
            }
            Ok(Document {
                status: response.status().as_u16(),
                etag: field(&response, &ETAG),
                last_modified: field(&response, &LAST_MODIFIED),
                link: fields(&response, &LINK),
                retry_after: field(&response, &RETRY_AFTER),
                body: (body.len() <= most).then_some(body),
            })
        };
        self.in_time(call).await
    }

    /// Ends a call that takes too long. Covers the look-up of the name too, which has no limit of its own.
    async fn in_time<T>(
        &self,
        call: impl Future<Output = Result<T, CallError>>,
    ) -> Result<T, CallError> {
        match tokio::time::timeout(self.limits.total, call).await {
            Ok(answer) => answer,
            Err(_) => Err(CallError::TimedOut),
        }
    }

    /// A client that knows the checked addresses of this one host, and so never asks again.
    async fn client_for(&self, url: &Url) -> Result<reqwest::Client, CallError> {
        let addresses = match url.host() {
            Some(Host::Domain(name)) => {
                let port = url.port_or_known_default().ok_or(Blocked::Port)?;
                self.resolve(name, port).await?
            }
            // An address as such was checked with the URL; the resolver is never asked about it.
            _ => Vec::new(),
        };
        reqwest::Client::builder()
            .connect_timeout(self.limits.connect)
            .timeout(self.limits.total)
            .redirect(Policy::none())
            .no_proxy()
            .pool_max_idle_per_host(0)
            .user_agent(concat!("plimsoll/", env!("CARGO_PKG_VERSION")))
            .dns_resolver(Checked(addresses))
            .build()
            .map_err(CallError::from)
    }

    async fn resolve(&self, name: &str, port: u16) -> Result<Vec<SocketAddr>, CallError> {
        let found = tokio::net::lookup_host((name, port)).await;
        let found: Vec<SocketAddr> = found.map_err(|_| CallError::Unreachable)?.collect();
        checked(&found, self.reach)?;
        Ok(found)
    }
}

/// Answers every question with the addresses that were checked.
struct Checked(Vec<SocketAddr>);

impl Resolve for Checked {
    fn resolve(&self, _: Name) -> Resolving {
        let addresses: Addrs = Box::new(self.0.clone().into_iter());
        Box::pin(std::future::ready(Ok(addresses)))
    }
}

/// Refuses a name when any of its addresses is refused, and one that has none.
fn checked(found: &[SocketAddr], reach: Reach) -> Result<(), CallError> {
    if found.is_empty() {
        return Err(CallError::Unreachable);
    }
    for ip in found.iter().map(SocketAddr::ip) {
        guard::address(ip, reach)?;
    }
    Ok(())
}

/// A field of an answer as it was sent.
fn field(response: &Response, name: &HeaderName) -> Option<String> {
    let value = response.headers().get(name)?;
    value.to_str().ok().map(str::to_owned)
}

/// All fields of a name as one list; one that is no text is given as a text that no list has, so that it is not read over.
fn fields(response: &Response, name: &HeaderName) -> Option<String> {
    let values = response.headers().get_all(name).iter();
    let values: Vec<&str> = values.map(|value| value.to_str().unwrap_or("?")).collect();
    (!values.is_empty()).then(|| values.join(", "))
}

/// A header value made of characters that we chose.
pub fn header(text: &str) -> Option<HeaderValue> {
    HeaderValue::from_str(text).ok()
}

#[cfg(test)]
mod tests {
    use tokio::io::{AsyncReadExt, AsyncWriteExt};
    use tokio::net::TcpListener;

    use super::*;

    /// Calls somebody who says this, then one byte at a time with a pause after each, and never ends.
    async fn told_slowly(said: &'static str, total: Duration) -> Result<Answer, CallError> {
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let address = format!("http://{}/", listener.local_addr().unwrap());
        tokio::spawn(async move {
            let (mut stream, _) = listener.accept().await.unwrap();
            let _ = stream.read(&mut [0; 4_096]).await;
            let mut heard = stream.write_all(said.as_bytes()).await;
            while heard.is_ok() {
                tokio::time::sleep(Duration::from_millis(20)).await;
                heard = stream.write_all(b"x").await;
            }
        });
        let client = GuardedClient {
            reach: Reach::WithLoopback,
            limits: Limits {
                connect: Duration::from_secs(3),
                body: Duration::from_millis(200),
                total,
            },
        };
        client.post(&address, HeaderMap::new(), String::new()).await
    }

    #[tokio::test]
    async fn a_status_that_comes_byte_by_byte_is_waited_for_no_longer_than_the_whole_call() {
        let head = "HTTP/1.1 200 OK\r\nx-wait: ";
        let answer = told_slowly(head, Duration::from_millis(300)).await;
        assert_eq!(answer, Err(CallError::TimedOut));
    }

    #[tokio::test]
    async fn a_body_that_comes_byte_by_byte_does_not_change_the_status() {
        let head = "HTTP/1.1 200 OK\r\ncontent-length: 10000\r\n\r\n";
        let answer = told_slowly(head, LIMITS.total).await.unwrap();
        assert_eq!(answer.status, 200);
        assert!(answer.said.len() < 10_000, "{answer:?}");
    }

    #[tokio::test]
    async fn what_is_fetched_is_whole_or_not_at_all() {
        let head = "HTTP/1.1 200 OK\r\netag: \"a\"\r\ncontent-length: 10000\r\n\r\n0123456789";
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let address = format!("http://{}/", listener.local_addr().unwrap());
        let serving = tokio::spawn(async move {
            for _ in 0..2 {
                let (mut stream, _) = listener.accept().await.unwrap();
                let _ = stream.read(&mut [0; 4_096]).await;
                stream.write_all(head.as_bytes()).await.unwrap();
            }
        });
        let client = GuardedClient::new(Reach::WithLoopback);
        let long = client.get(&address, HeaderMap::new(), 9).await.unwrap();
        assert_eq!((long.body, long.etag.as_deref()), (None, Some("\"a\"")));
        let broken_off = client.get(&address, HeaderMap::new(), 20_000).await;
        assert_eq!(broken_off, Err(CallError::Unreachable));
        serving.await.unwrap();
    }

    #[test]
    fn a_name_with_one_inner_address_is_refused_whole() {
        // a name that stands for an inner address, alone or beside a public one.
        let found = |texts: &[&str]| -> Vec<SocketAddr> {
            texts.iter().map(|text| text.parse().unwrap()).collect()
        };
        let blocked = Err(CallError::Blocked(Blocked::NotGlobal));
        for texts in [
            &["127.0.0.1:443"][..],
            &["1.1.1.1:443", "10.0.0.1:443"],
            &["[2606:4700::1]:443", "[::1]:443"],
        ] {
            assert_eq!(checked(&found(texts), Reach::Global), blocked, "{texts:?}");
        }
        assert_eq!(checked(&[], Reach::Global), Err(CallError::Unreachable));
        let public = found(&["1.1.1.1:443", "[2606:4700::1]:443"]);
        assert_eq!(checked(&public, Reach::Global), Ok(()));
    }
}
