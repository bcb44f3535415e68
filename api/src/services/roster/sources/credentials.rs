//! What a roster app asks for before it answers. It is kept sealed and never answered.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use reqwest::header::{AUTHORIZATION, HeaderMap, HeaderName, HeaderValue};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::error::{Code, FieldProblem};
use crate::services::fields::{self, Faults};

/// Longest secret, in characters.
const LONGEST: usize = 4_000;
/// Fields that say how the call is made, and so are ours.
const OURS: [&str; 15] = [
    "accept",
    "accept-encoding",
    "connection",
    "content-length",
    "expect",
    "host",
    "if-modified-since",
    "if-none-match",
    "keep-alive",
    "range",
    "te",
    "trailer",
    "transfer-encoding",
    "upgrade",
    "user-agent",
];

/// What the app asks for before it answers.
#[derive(Clone, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"kind": "header", "name": "Authorization", "value": "Bearer 4f1c"}))]
pub struct CredentialsInput {
    /// `none`, `header` (a header field with `name` and `value`) or `basic` (RFC 7617, with `user` and `password`).
    #[schema(value_type = String)]
    pub kind: Option<String>,
    /// Of `header`: its name.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// Of `header`: its value, 1 to 4,000 visible characters and spaces.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value: Option<String>,
    /// Of `basic`: the user, without a colon.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub user: Option<String>,
    /// Of `basic`: the password.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub password: Option<String>,
}

/// Nothing of it is printed.
impl std::fmt::Debug for CredentialsInput {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("CredentialsInput").finish_non_exhaustive()
    }
}

impl CredentialsInput {
    /// The header field that is sent; the outer `None` after a fault, the inner where none is to be sent. No fault repeats a secret.
    pub fn header(&self, faults: &mut Faults) -> Option<Option<(HeaderName, HeaderValue)>> {
        const KINDS: [&str; 3] = ["none", "header", "basic"];
        let parse = |given: &str| KINDS.into_iter().find(|kind| *kind == given);
        let codes = || fields::list(KINDS.into_iter());
        let kind = fields::coded("/credentials/kind", self.kind.as_deref(), parse, codes);
        let kind = faults.take(kind)?;
        self.none_beside(kind, faults);
        let (name, value) = match kind {
            "header" => {
                let name = faults.take(header_name(self.name.as_deref()));
                let value = secret("/credentials/value", self.value.as_deref());
                let value = faults.take(value);
                (name?, value?)
            }
            "basic" => {
                let user = faults.take(user(self.user.as_deref()));
                let password = secret("/credentials/password", self.password.as_deref());
                let password = faults.take(password);
                let pair = format!("{}:{}", user?, password?);
                (AUTHORIZATION, format!("Basic {}", STANDARD.encode(pair)))
            }
            _ => return Some(None),
        };
        let mut value =
            faults.take(HeaderValue::from_str(&value).map_err(|_| unfit("/credentials/value")))?;
        value.set_sensitive(true);
        Some(Some((name, value)))
    }

    fn none_beside(&self, kind: &str, faults: &mut Faults) {
        let given = [
            ("name", "header", self.name.is_some()),
            ("value", "header", self.value.is_some()),
            ("user", "basic", self.user.is_some()),
            ("password", "basic", self.password.is_some()),
        ];
        let beside = given
            .iter()
            .filter(|(_, of, is_there)| *is_there && *of != kind);
        faults.extend(beside.map(|(name, of, _)| {
            FieldProblem::new(format!("/credentials/{name}"), Code::UnknownValue, kind)
                .allowed(format!("nothing, unless kind is {of}"))
        }));
    }
}

/// Adds the header field of checked credentials.
pub fn add(headers: &mut HeaderMap, credentials: &CredentialsInput) {
    let header = credentials.header(&mut Faults::default());
    headers.extend(header.flatten());
}

fn header_name(given: Option<&str>) -> Result<HeaderName, FieldProblem> {
    let at = "/credentials/name";
    let given = fields::line(at, given)?;
    let name = HeaderName::from_bytes(given.as_bytes()).ok();
    let is_theirs =
        |name: &HeaderName| !OURS.contains(&name.as_str()) && !name.as_str().starts_with("proxy-");
    name.filter(is_theirs).ok_or_else(|| {
        FieldProblem::new(at, Code::UnknownValue, given)
            .allowed("the name of a header field that does not say how the call is made, such as Authorization")
    })
}

fn secret<'a>(at: &str, given: Option<&'a str>) -> Result<String, FieldProblem> {
    let allowed = format!("1 to {LONGEST} visible characters and spaces");
    let given: &'a str = given.ok_or_else(|| FieldProblem::missing(at, allowed))?;
    let fits = !given.trim().is_empty()
        && given.chars().count() <= LONGEST
        && !given.chars().any(char::is_control);
    if fits {
        Ok(given.to_owned())
    } else {
        Err(unfit(at))
    }
}

fn unfit(at: &str) -> FieldProblem {
    FieldProblem {
        given: None,
        ..FieldProblem::new(at, Code::OutOfRange, "")
    }
    .allowed(format!("1 to {LONGEST} visible characters and spaces"))
}

/// RFC 7617, section 2: the first colon ends the user.
fn user(given: Option<&str>) -> Result<String, FieldProblem> {
    let at = "/credentials/user";
    let given = fields::line(at, given)?;
    if given.contains(':') {
        let fault = FieldProblem::new(at, Code::UnknownValue, given);
        return Err(fault.allowed("a user without a colon"));
    }
    Ok(given)
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    fn read(input: serde_json::Value) -> Result<Option<(String, String)>, Vec<FieldProblem>> {
        let input: CredentialsInput = serde_json::from_value(input).unwrap();
        let mut faults = Faults::default();
        let header = input.header(&mut faults);
        match faults.into_vec() {
            none if none.is_empty() => Ok(header.unwrap().map(|(name, value)| {
                assert!(value.is_sensitive());
                (name.to_string(), value.to_str().unwrap().to_owned())
            })),
            faults => Err(faults),
        }
    }

    #[test]
    fn a_header_or_a_user_is_sent_and_nothing_of_it_is_shown() {
        let header = json!({ "kind": "header", "name": "X-Api-Key", "value": "4f1c" });
        assert_eq!(
            read(header),
            Ok(Some(("x-api-key".to_owned(), "4f1c".to_owned())))
        );
        // RFC 7617, section 2.
        let basic = json!({ "kind": "basic", "user": "Aladdin", "password": "open sesame" });
        let sent = "Basic QWxhZGRpbjpvcGVuIHNlc2FtZQ==";
        assert_eq!(
            read(basic.clone()),
            Ok(Some(("authorization".to_owned(), sent.to_owned())))
        );
        assert_eq!(read(json!({ "kind": "none" })), Ok(None));
        let input: CredentialsInput = serde_json::from_value(basic).unwrap();
        assert_eq!(format!("{input:?}"), "CredentialsInput { .. }");
    }

    #[test]
    fn a_fault_repeats_no_secret() {
        for (input, pointers) in [
            (json!({ "kind": "token" }), vec!["/credentials/kind"]),
            (
                json!({ "kind": "header", "name": "Host", "value": "secret\n" }),
                vec!["/credentials/name", "/credentials/value"],
            ),
            (
                json!({ "kind": "header", "name": "proxy-authorization", "value": "secret" }),
                vec!["/credentials/name"],
            ),
            (
                json!({ "kind": "header", "name": "a b" }),
                vec!["/credentials/name", "/credentials/value"],
            ),
            (
                json!({ "kind": "basic", "user": "a:b", "password": "" }),
                vec!["/credentials/user", "/credentials/password"],
            ),
            (
                json!({ "kind": "none", "password": "secret" }),
                vec!["/credentials/password"],
            ),
            (
                json!({ "kind": "header", "name": "X-Api-Key", "value": "secret".repeat(1_000) }),
                vec!["/credentials/value"],
            ),
        ] {
            let faults = read(input).unwrap_err();
            let found: Vec<_> = faults.iter().map(|fault| fault.pointer.as_str()).collect();
            assert_eq!(found, pointers);
            assert!(!format!("{faults:?}").contains("secret"));
        }
    }
}
