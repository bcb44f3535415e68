//! One quota a token, or an address where there is no token: `RateLimit` fields and 429.

use std::net::IpAddr;
use std::num::NonZeroU32;

use actix_web::body::{BoxBody, MessageBody};
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::http::header::{self, HeaderName, HeaderValue};
use actix_web::middleware::Next;
use actix_web::{Error, web};
use governor::clock::{Clock as _, DefaultClock};
use governor::middleware::StateInformationMiddleware;
use governor::state::keyed::DefaultKeyedStateStore;
use governor::{Quota, RateLimiter};
use sha2::{Digest, Sha256};

use crate::app::App;
use crate::config::RateLimit;
use crate::error::{Code, Problem};

/// What a quota is counted in; that of `Quota::per_minute`.
pub const WINDOW_SECONDS: u32 = 60;

type Key = [u8; 16];
type Keyed =
    RateLimiter<Key, DefaultKeyedStateStore<Key>, DefaultClock, StateInformationMiddleware>;

/// The counters of all callers of this process.
pub struct Limiter {
    keyed: Option<Keyed>,
    quota: u32,
}

impl Limiter {
    /// A limiter by setting.
    pub fn new(limit: RateLimit) -> Self {
        match limit {
            RateLimit::Off => Self {
                keyed: None,
                quota: 0,
            },
            RateLimit::PerMinute(quota) => {
                let burst = NonZeroU32::new(quota).unwrap_or(NonZeroU32::MIN);
                let keyed = RateLimiter::keyed(Quota::per_minute(burst)).with_middleware();
                Self {
                    keyed: Some(keyed),
                    quota,
                }
            }
        }
    }

    /// The requests that each caller has in [`WINDOW_SECONDS`]; none where there is no limit.
    pub fn quota(&self) -> Option<u32> {
        self.keyed.as_ref().map(|_| self.quota)
    }

    /// Takes one request from a key's quota: requests left, or seconds to wait.
    fn take(&self, key: &Key) -> Result<Option<u32>, u32> {
        let Some(keyed) = &self.keyed else {
            return Ok(None);
        };
        match keyed.check_key(key) {
            Ok(state) => Ok(Some(state.remaining_burst_capacity())),
            Err(refusal) => {
                let wait = refusal.wait_time_from(DefaultClock::default().now());
                Err(u32::try_from(wait.as_secs())
                    .unwrap_or(u32::MAX)
                    .saturating_add(1))
            }
        }
    }

    /// Forgets callers whose quota is full again, so that memory stays bounded.
    pub fn forget_idle(&self) {
        if let Some(keyed) = &self.keyed {
            keyed.retain_recent();
            keyed.shrink_to_fit();
        }
    }
}

/// Middleware: counts the request, answers 429 past the quota, and says what is left.
pub async fn rate_limit(
    app: web::Data<App>,
    request: ServiceRequest,
    next: Next<impl MessageBody + 'static>,
) -> Result<ServiceResponse<BoxBody>, Error> {
    let quota = app.limiter.quota;
    match app.limiter.take(&key(&request)) {
        Ok(None) => Ok(next.call(request).await?.map_into_boxed_body()),
        Ok(Some(left)) => {
            let mut response = next.call(request).await?.map_into_boxed_body();
            announce(
                response.headers_mut(),
                quota,
                left,
                WINDOW_SECONDS.div_ceil(quota.max(1)),
            );
            Ok(response)
        }
        Err(wait) => {
            let detail = format!("The quota is {quota} requests a minute; wait {wait} s.");
            let problem = Problem::new(Code::TooManyRequests, detail).retry_after(wait);
            let mut response = request.error_response(problem);
            announce(response.headers_mut(), quota, 0, wait);
            Ok(response)
        }
    }
}

/// The `RateLimit` fields of the IETF draft: policy, what is left, seconds until more.
fn announce(headers: &mut header::HeaderMap, quota: u32, left: u32, seconds: u32) {
    let fields = [
        (
            "ratelimit-policy",
            format!("\"default\";q={quota};w={WINDOW_SECONDS}"),
        ),
        ("ratelimit", format!("\"default\";r={left};t={seconds}")),
    ];
    for (name, value) in fields {
        if let Ok(value) = HeaderValue::from_str(&value) {
            headers.insert(HeaderName::from_static(name), value);
        }
    }
}

/// The token's hash, or the peer's address (an IPv6 /64); forwarded headers are not believed.
fn key(request: &ServiceRequest) -> Key {
    let mut hash = Sha256::new();
    match (
        request.headers().get(header::AUTHORIZATION),
        request.peer_addr(),
    ) {
        (Some(token), _) => hash.update(token.as_bytes()),
        (None, Some(peer)) => match peer.ip() {
            IpAddr::V4(address) => hash.update(address.octets()),
            IpAddr::V6(address) => hash.update(&address.octets()[..8]),
        },
        (None, None) => {}
    }
    let mut key = [0; 16];
    key.copy_from_slice(&hash.finalize()[..16]);
    key
}
