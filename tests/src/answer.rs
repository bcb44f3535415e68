//! What the service answered.

use std::ops::Index;

use reqwest::header::HeaderMap;
use serde_json::Value;

/// An answer, read to its end.
#[derive(Clone, Debug)]
pub struct Answer {
    /// Method and path, for messages.
    pub request: String,
    /// Status code.
    pub status: u16,
    /// Header fields.
    pub headers: HeaderMap,
    /// The body where it is JSON, else `null`.
    pub body: Value,
    /// The body as it came.
    pub bytes: Vec<u8>,
}

impl Answer {
    pub(crate) async fn read(
        request: String,
        response: reqwest::Response,
    ) -> Result<Self, reqwest::Error> {
        let status = response.status().as_u16();
        let headers = response.headers().clone();
        let bytes = response.bytes().await?.to_vec();
        let is_json = media_type(&headers)
            .is_some_and(|name| name == "application/json" || name.ends_with("+json"));
        let body = if is_json && !bytes.is_empty() {
            serde_json::from_slice(&bytes)
                .unwrap_or_else(|error| panic!("{request}: the body is not JSON: {error}"))
        } else {
            Value::Null
        };
        Ok(Self {
            request,
            status,
            headers,
            body,
            bytes,
        })
    }

    /// Asserts the status and hands the answer on.
    #[track_caller]
    pub fn expect(self, status: u16) -> Self {
        assert_eq!(self.status, status, "{}: {}", self.request, self.text());
        self
    }

    /// Whether it comes from a directory's path, where refusals have the form of RFC 7644, section 3.12.
    pub fn is_scim(&self) -> bool {
        self.request.contains(" /scim/")
    }

    /// The code of a refusal: in the body, and of a directory's refusal in the address of its page.
    pub fn code(&self) -> Option<&str> {
        match self.is_scim() {
            true => self
                .header("link")?
                .strip_prefix("</problems/")?
                .strip_suffix(">; rel=\"help\""),
            false => self["code"].as_str(),
        }
    }

    /// Asserts the refusal of a directory: the status, which is 400 where others have 422, and the code of its page.
    #[track_caller]
    fn expect_scim_error(self, status: u16, code: &str) -> Self {
        let status = if status == 422 { 400 } else { status };
        let answer = self.expect(status);
        let (name, text) = (&answer.request, answer.text());
        assert_eq!(
            media_type(&answer.headers),
            Some("application/scim+json"),
            "{name}: {text}"
        );
        assert_eq!(
            answer["schemas"],
            serde_json::json!(["urn:ietf:params:scim:api:messages:2.0:Error"]),
            "{name}: {text}"
        );
        assert_eq!(answer["status"], status.to_string(), "{name}: {text}");
        assert_eq!(answer.code(), Some(code), "{name}: {text}");
        answer
    }

    /// Asserts a problem answer (RFC 9457) with this status and code, and hands it on.
    #[track_caller]
    pub fn expect_problem(self, status: u16, code: &str) -> Self {
        if self.is_scim() {
            return self.expect_scim_error(status, code);
        }
        let answer = self.expect(status);
        let name = &answer.request;
        assert_eq!(
            media_type(&answer.headers),
            Some("application/problem+json"),
            "{name}: {}",
            answer.text()
        );
        assert_eq!(
            answer["status"],
            status,
            "{name}: status in the body: {}",
            answer.text()
        );
        assert_eq!(answer["code"], code, "{name}: {}", answer.text());
        answer
    }

    /// Asserts a 422 with exactly these faults of fields, as pointer and code.
    #[track_caller]
    pub fn expect_faults(self, expected: &[(&str, &str)]) {
        let answer = self.expect_problem(422, "invalid");
        let text = |fault: &Value, field: &str| fault[field].as_str().expect("text").to_owned();
        let faults = answer["errors"].as_array().expect("errors").iter();
        let found: Vec<_> = faults
            .map(|fault| (text(fault, "pointer"), text(fault, "code")))
            .collect();
        let found: Vec<_> = found
            .iter()
            .map(|(pointer, code)| (pointer.as_str(), code.as_str()))
            .collect();
        assert_eq!(found, expected, "{}: {}", answer.request, answer.text());
    }

    /// The body as text.
    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.bytes).into_owned()
    }

    /// A header field, if it was sent.
    pub fn header(&self, name: &str) -> Option<&str> {
        self.headers
            .get(name)
            .map(|value| value.to_str().expect("header fields are ASCII"))
    }

    /// The entity tag, as `If-Match` wants it.
    #[track_caller]
    pub fn etag(&self) -> &str {
        self.header("etag")
            .unwrap_or_else(|| panic!("{}: no ETag", self.request))
    }

    /// A field of the body that holds text, for example an id.
    #[track_caller]
    pub fn string(&self, field: &str) -> String {
        let value = self[field].as_str();
        value
            .unwrap_or_else(|| panic!("{}: no text in {field}: {}", self.request, self.text()))
            .to_owned()
    }
}

/// A field of the body; `null` where there is none.
impl Index<&str> for Answer {
    type Output = Value;

    fn index(&self, field: &str) -> &Value {
        &self.body[field]
    }
}

fn media_type(headers: &HeaderMap) -> Option<&str> {
    headers
        .get("content-type")?
        .to_str()
        .ok()?
        .split(';')
        .next()
        .map(str::trim)
}
