//! The one cookie there is: a link, kept by the browser that opened it, for the one list it opens.
//!
//! `SameSite=Lax` (RFC 6265bis), not `Strict`: after a click in a mail that is read in a browser, `Strict` keeps the cookie back
//! on the very redirect that leads to the list. Nothing is changed by a `GET`; forms carry a token and an `Origin` besides.

use std::net::IpAddr;

use actix_web::HttpRequest;
use actix_web::http::header;
use actix_web::http::uri::Authority;

/// Its name.
pub const NAME: &str = "plimsoll-list";

/// The `Set-Cookie` field that keeps a link for the paths under `path`, for so many seconds; over TLS only, except on this
/// machine.
pub fn keep(request: &HttpRequest, link: &str, path: &str, seconds: i64) -> String {
    let secure = if is_this_machine(request) {
        ""
    } else {
        "; Secure"
    };
    format!("{NAME}={link}; Path={path}; Max-Age={seconds}; HttpOnly; SameSite=Lax{secure}")
}

/// The link that the request's browser keeps for this path.
pub fn kept(request: &HttpRequest) -> Option<&str> {
    // HTTP/2 may split the field (RFC 9113, section 8.2.3).
    let fields = request.headers().get_all(header::COOKIE);
    let pairs = fields.filter_map(|field| field.to_str().ok());
    let mut pairs = pairs.flat_map(|field| field.split(';'));
    pairs.find_map(|pair| pair.trim().strip_prefix(NAME)?.strip_prefix('='))
}

/// The authority that the request was sent to. Forwarded fields are not believed.
pub fn authority(request: &HttpRequest) -> Option<Authority> {
    let host = request.headers().get(header::HOST);
    let host = host.and_then(|host| host.to_str().ok()?.parse().ok());
    host.or_else(|| request.uri().authority().cloned())
}

fn is_this_machine(request: &HttpRequest) -> bool {
    authority(request).is_some_and(|authority| {
        let host = authority.host().trim_matches(['[', ']']);
        let address = host.parse::<IpAddr>();
        host == "localhost" || address.is_ok_and(|address| address.is_loopback())
    })
}

#[cfg(test)]
mod tests {
    use actix_web::test::TestRequest;

    use super::*;

    fn to(host: &str) -> HttpRequest {
        let request = TestRequest::default().insert_header((header::HOST, host));
        request.to_http_request()
    }

    #[test]
    fn a_cookie_is_for_one_path_and_for_no_script() {
        let kept = keep(&to("club.example.org"), "a.b", "/v1/x", 60);
        assert_eq!(
            kept,
            "plimsoll-list=a.b; Path=/v1/x; Max-Age=60; HttpOnly; SameSite=Lax; Secure"
        );
    }

    #[test]
    fn only_this_machine_does_without_tls() {
        for host in ["127.0.0.1:8080", "localhost", "localhost:80", "[::1]:8080"] {
            assert!(!keep(&to(host), "", "", 1).contains("Secure"), "{host}");
        }
        for host in [
            "192.168.1.2",
            "127.0.0.1.example.org",
            "localhost.example.org",
            "",
        ] {
            assert!(keep(&to(host), "", "", 1).contains("Secure"), "{host}");
        }
    }

    #[test]
    fn the_cookie_is_found_among_others() {
        let with = |fields: &[&str]| {
            let mut request = TestRequest::default();
            for field in fields {
                request = request.append_header((header::COOKIE, *field));
            }
            kept(&request.to_http_request()).map(str::to_owned)
        };
        for fields in [
            &["plimsoll-list=a.b"][..],
            &["other=1; plimsoll-list=a.b; last=2"],
            &["other=1", "plimsoll-list=a.b"],
        ] {
            assert_eq!(with(fields).as_deref(), Some("a.b"), "{fields:?}");
        }
        for fields in [&[][..], &["xplimsoll-list=a.b"], &["plimsoll-list2=a.b"]] {
            assert_eq!(with(fields), None, "{fields:?}");
        }
    }
}
