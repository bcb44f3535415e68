//! The answer of a write, in a form that can be stored and given again byte for byte.

use actix_web::body::BoxBody;
use actix_web::http::{StatusCode, header};
use actix_web::{HttpRequest, HttpResponse, HttpResponseBuilder, Responder};
use serde::Serialize;
use serde_json::{Value, json};

#[cfg(not(feature = "pdf"))]
use crate::error::Code;
use crate::error::Problem;
use crate::pages::html::SECURITY_POLICY;
use crate::pages::paper::Paper;
#[cfg(feature = "pdf")]
use crate::pages::pdf::write as print;
use crate::pages::sheet::Sheet;
use crate::web::representation::PDF;

/// Status, a few headers and a finished body.
#[derive(Debug, Clone, PartialEq)]
pub struct Reply {
    /// HTTP status.
    pub status: u16,
    /// Media type of the body.
    pub content_type: String,
    /// The resource's version as a strong ETag, quotes included.
    pub etag: Option<String>,
    /// Where the new resource is.
    pub location: Option<String>,
    /// The body's bytes.
    pub body: Vec<u8>,
    /// Whether this is a stored answer given again.
    pub replayed: bool,
}

impl Reply {
    /// An answer with a JSON body.
    pub fn json(status: u16, body: &impl Serialize) -> Result<Self, Problem> {
        let body = serde_json::to_vec(body).map_err(|error| Problem::internal(&error))?;
        Ok(Self {
            status,
            content_type: "application/json".to_owned(),
            etag: None,
            location: None,
            body,
            replayed: false,
        })
    }

    /// 204.
    pub fn empty() -> Self {
        Self {
            status: 204,
            content_type: "application/json".to_owned(),
            etag: None,
            location: None,
            body: Vec::new(),
            replayed: false,
        }
    }

    /// 200 with one JSON document a line.
    pub fn lines(documents: &[impl Serialize]) -> Result<Self, Problem> {
        let mut body = Vec::new();
        for document in documents {
            serde_json::to_writer(&mut body, document)
                .map_err(|error| Problem::internal(&error))?;
            body.push(b'\n');
        }
        let content_type = "application/x-ndjson".to_owned();
        Ok(Self {
            status: 200,
            content_type,
            body,
            ..Self::empty()
        })
    }

    /// 200 with a table.
    pub fn csv(body: Vec<u8>) -> Self {
        let content_type = "text/csv; charset=utf-8; header=present".to_owned();
        Self {
            status: 200,
            content_type,
            body,
            ..Self::empty()
        }
    }

    /// 303: go on there.
    pub fn see_other(location: String) -> Self {
        Self {
            status: 303,
            location: Some(location),
            ..Self::empty()
        }
    }

    /// 201 with the new resource.
    pub fn created(location: String, version: i32, body: &impl Serialize) -> Result<Self, Problem> {
        Ok(Self {
            location: Some(location),
            ..Self::json(201, body)?.version(version)
        })
    }

    /// 200 with the resource as it now is.
    pub fn ok(version: i32, body: &impl Serialize) -> Result<Self, Problem> {
        Ok(Self::json(200, body)?.version(version))
    }

    /// Adds the version as ETag.
    #[must_use]
    pub fn version(mut self, version: i32) -> Self {
        self.etag = Some(etag(version));
        self
    }

    /// A refusal as it would be sent, so that it can be stored.
    pub fn problem(problem: &Problem) -> Result<Self, Problem> {
        let content_type = "application/problem+json".to_owned();
        Ok(Self {
            content_type,
            ..Self::json(problem.code.status(), &problem.body())?
        })
    }

    /// The headers to store beside the body.
    pub fn headers(&self) -> Value {
        json!({ "content_type": self.content_type, "etag": self.etag, "location": self.location })
    }

    /// A stored answer.
    pub fn stored(status: u16, headers: &Value, body: Vec<u8>) -> Self {
        let text = |name: &str| headers.get(name).and_then(Value::as_str).map(str::to_owned);
        Self {
            status,
            content_type: text("content_type").unwrap_or_default(),
            etag: text("etag"),
            location: text("location"),
            body,
            replayed: true,
        }
    }
}

/// A version as a strong ETag.
pub fn etag(version: i32) -> String {
    format!("\"{version}\"")
}

impl Responder for Reply {
    type Body = BoxBody;

    fn respond_to(self, _: &HttpRequest) -> HttpResponse<BoxBody> {
        let status = StatusCode::from_u16(self.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
        let mut response = HttpResponse::build(status);
        if !self.body.is_empty() {
            response.insert_header((header::CONTENT_TYPE, self.content_type));
        }
        response.insert_header((header::CACHE_CONTROL, "no-store"));
        if let Some(etag) = self.etag {
            response.insert_header((header::ETAG, etag));
        }
        if let Some(location) = self.location {
            response.insert_header((header::LOCATION, location));
        }
        if self.replayed {
            response.insert_header(("Idempotent-Replayed", "true"));
        }
        response.body(self.body)
    }
}

/// The head of an answer that is a page: never kept by anybody on the way, its address told to nobody outside.
pub fn page(status: StatusCode) -> HttpResponseBuilder {
    let mut response = HttpResponse::build(status);
    response
        .content_type("text/html; charset=utf-8")
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .insert_header((header::X_CONTENT_TYPE_OPTIONS, "nosniff"))
        .insert_header((header::CONTENT_SECURITY_POLICY, SECURITY_POLICY.as_str()))
        // Not `no-referrer`: with it browsers send forms with the Origin `null` (Fetch, section 3.2.1).
        .insert_header((header::REFERRER_POLICY, "same-origin"));
    response
}

/// The head of an answer that is sent as what `Accept` asks for; never kept by anybody on the way either.
pub fn represented(is_page: bool) -> HttpResponseBuilder {
    let mut response = match is_page {
        true => page(StatusCode::OK),
        false => HttpResponse::Ok(),
    };
    response
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .insert_header((header::VARY, "Accept"))
        .insert_header((header::X_CONTENT_TYPE_OPTIONS, "nosniff"));
    response
}

/// The answer as a CSV file of this name.
pub fn csv(mut head: HttpResponseBuilder, name: &str, file: Vec<u8>) -> HttpResponse {
    let disposition = format!("attachment; filename=\"{name}.csv\"");
    head.content_type("text/csv; charset=utf-8; header=present")
        .insert_header((header::CONTENT_DISPOSITION, disposition))
        .body(file)
}

/// The answer as a sheet to print, of this name.
///
/// # Errors
/// Those of setting it; 406 where the program was built without PDF, which `Representation::of` has refused before.
pub async fn sheet(
    mut head: HttpResponseBuilder,
    name: &str,
    sheet: Sheet,
    paper: Paper,
) -> Result<HttpResponse, Problem> {
    let file = print(sheet, paper).await?;
    let disposition = format!("inline; filename=\"{name}.pdf\"");
    Ok(head
        .content_type(PDF)
        .insert_header((header::CONTENT_DISPOSITION, disposition))
        .body(file))
}

#[cfg(not(feature = "pdf"))]
async fn print(_: Sheet, _: Paper) -> Result<Vec<u8>, Problem> {
    Err(Problem::new(Code::NotAcceptable, PDF))
}

/// The answer of a read of one resource: 200 with its version as ETag.
pub fn found(version: i32, body: &impl Serialize) -> HttpResponse {
    HttpResponse::Ok()
        .insert_header((header::ETAG, etag(version)))
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .json(body)
}
