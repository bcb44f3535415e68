//! What is particular to the paths under `/scim`: refusals in the form of RFC 7644, section 3.12, and what its reads and writes take.

use actix_web::body::{BoxBody, MessageBody};
use actix_web::dev::{Payload, ServiceRequest, ServiceResponse};
use actix_web::error::InternalError;
use actix_web::http::StatusCode;
use actix_web::http::header::{self, HeaderValue};
use actix_web::middleware::Next;
use actix_web::{Error, HttpRequest, HttpResponse};
use serde::Deserialize;
use serde_json::{Map, Value, json};
use utoipa::IntoParams;

use super::object::Unambiguous;
use super::reply::Reply;
use super::write::WriteRequest;
use super::{body, json, panics, query};
use crate::error::{Code, Problem};
use crate::scim::projection::Projection;
use crate::scim::{ERROR, MEDIA_TYPE};
use crate::services::directory::tag;

/// Middleware: sends what is refused under `/scim` in SCIM's form, whoever refused it. The page of the code, with cause and remedy, is
/// named in `Link`.
pub async fn errors(
    request: ServiceRequest,
    next: Next<impl MessageBody + 'static>,
) -> Result<ServiceResponse<BoxBody>, Error> {
    if !request.path().starts_with("/scim/") {
        return Ok(next.call(request).await?.map_into_boxed_body());
    }
    // The request is not held beside the call: the layers within it change it.
    match panics::contained(next.call(request)).await {
        Ok(response) => {
            let (request, response) = response.map_into_boxed_body().into_parts();
            Ok(ServiceResponse::new(request, as_scim(response)))
        }
        Err(error) => {
            let response = as_scim(error.error_response());
            Err(InternalError::from_response("refused", response).into())
        }
    }
}

/// A problem in the form of SCIM; any other answer as it is.
fn as_scim(response: HttpResponse<BoxBody>) -> HttpResponse<BoxBody> {
    let content_type = response.headers().get(header::CONTENT_TYPE);
    if content_type.is_none_or(|value| value.as_bytes() != b"application/problem+json") {
        return response;
    }
    let (head, body) = response.into_parts();
    let body = body.try_into_bytes().unwrap_or_default();
    let problem: Value = serde_json::from_slice(&body).unwrap_or_default();
    let (status, kind) = status_and_kind(head.status().as_u16(), &problem);
    let mut told =
        json!({ "schemas": [ERROR], "status": status.to_string(), "detail": detail(&problem) });
    if let Some(kind) = kind {
        told["scimType"] = kind.into();
    }
    let page = problem["code"]
        .as_str()
        .map(|code| format!("</problems/{code}>; rel=\"help\""));
    let mut answer = head.set_body(BoxBody::new(told.to_string()));
    *answer.status_mut() =
        StatusCode::from_u16(status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
    let headers = answer.headers_mut();
    headers.insert(header::CONTENT_TYPE, HeaderValue::from_static(MEDIA_TYPE));
    if let Some(page) = page.and_then(|page| HeaderValue::from_str(&page).ok()) {
        headers.insert(header::LINK, page);
    }
    answer
}

/// Status and `scimType` of a refusal: where fields are wrong the RFC has 400, and 409 for a value that is taken.
fn status_and_kind(status: u16, problem: &Value) -> (u16, Option<&'static str>) {
    let code = |value: &Value| {
        let text = value["code"].as_str()?;
        Code::ALL.iter().copied().find(|code| code.code() == text)
    };
    let errors = problem["errors"].as_array().into_iter().flatten();
    let errors: Vec<Code> = errors.filter_map(code).collect();
    match code(problem) {
        Some(Code::InvalidFilter) => (400, Some("invalidFilter")),
        Some(Code::InvalidPath) => (400, Some("invalidPath")),
        Some(Code::NoTarget) => (400, Some("noTarget")),
        Some(Code::NotToBeSet) => (400, Some("mutability")),
        Some(Code::NotOfSchema | Code::NotJson) => (400, Some("invalidSyntax")),
        Some(Code::Conflict) => (409, Some("uniqueness")),
        _ if errors.contains(&Code::NotUnique) => (409, Some("uniqueness")),
        Some(Code::Invalid) if errors.iter().any(is_of_form) => (400, Some("invalidSyntax")),
        Some(Code::InvalidValue | Code::BadQuery) => (400, Some("invalidValue")),
        _ if status == 422 => (400, Some("invalidValue")),
        _ => (status, None),
    }
}

const fn is_of_form(code: &Code) -> bool {
    matches!(
        code,
        Code::WrongType | Code::UnknownField | Code::DuplicateField
    )
}

/// One text of what is wrong: a SCIM error has no list of fields.
fn detail(problem: &Value) -> String {
    let text = |value: &Value, name: &str| value[name].as_str().unwrap_or_default().to_owned();
    let errors = problem["errors"].as_array().into_iter().flatten();
    let errors = errors.map(|error| {
        let (pointer, detail) = (text(error, "pointer"), text(error, "detail"));
        match error["allowed"].as_str() {
            Some(allowed) => format!(
                "{}: {detail} Allowed: {allowed}.",
                pointer.trim_start_matches('/')
            ),
            None => format!("{}: {detail}", pointer.trim_start_matches('/')),
        }
    });
    let errors: Vec<String> = errors.collect();
    match errors.is_empty() {
        true => text(problem, "detail"),
        false => errors.join(" "),
    }
}

/// What of a resource is shown.
#[derive(Debug, Clone, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct ShownParams {
    /// Only these attributes, with commas between, beside those that are always there.
    #[param(example = "userName")]
    attributes: Option<String>,
    /// Not these attributes. Of the two only one may be there.
    #[serde(rename = "excludedAttributes")]
    #[param(rename = "excludedAttributes", example = "members")]
    excluded_attributes: Option<String>,
}

impl ShownParams {
    /// Reads them.
    ///
    /// # Errors
    /// 400.
    pub fn read(&self) -> Result<Projection, Problem> {
        let (attributes, excluded) = (
            self.attributes.as_deref(),
            self.excluded_attributes.as_deref(),
        );
        Ok(Projection::read(attributes, excluded)?)
    }
}

/// Whether a write is a trial, and what of the resource is shown.
#[derive(Debug, Clone, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct WriteParams {
    /// `true` runs all checks and answers the same, but stores nothing.
    #[param(value_type = Option<bool>)]
    dry_run: Option<String>,
    /// Only these attributes, with commas between, beside those that are always there.
    #[param(example = "userName")]
    attributes: Option<String>,
    /// Not these attributes. Of the two only one may be there.
    #[serde(rename = "excludedAttributes")]
    #[param(rename = "excludedAttributes", example = "members")]
    excluded_attributes: Option<String>,
}

/// Which resources are listed, and what of each is shown.
#[derive(Debug, Clone, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct ListParams {
    /// A filter of RFC 7644, section 3.4.2.2: eq, ne, co, sw, ew, gt, ge, lt, le, pr, and, or, not, brackets, and values in square
    /// brackets.
    #[param(example = "userName eq \"runa.falk\"")]
    pub filter: Option<String>,
    /// The number of the first, from 1; less is 1.
    #[serde(rename = "startIndex")]
    #[param(rename = "startIndex", value_type = Option<i64>)]
    start_index: Option<String>,
    /// How many at most, 500 of what is more; 100 unless given, and less than 0 is 0.
    #[param(value_type = Option<i64>)]
    count: Option<String>,
    /// Only these attributes, with commas between, beside those that are always there.
    #[param(example = "userName")]
    attributes: Option<String>,
    /// Not these attributes. Of the two only one may be there.
    #[serde(rename = "excludedAttributes")]
    #[param(rename = "excludedAttributes", example = "members")]
    excluded_attributes: Option<String>,
}

impl ListParams {
    /// What of each is shown.
    ///
    /// # Errors
    /// 400.
    pub fn projection(&self) -> Result<Projection, Problem> {
        let (attributes, excluded) = (
            self.attributes.as_deref(),
            self.excluded_attributes.as_deref(),
        );
        Ok(Projection::read(attributes, excluded)?)
    }

    /// The number of the first, and how many.
    ///
    /// # Errors
    /// 400.
    pub fn place(&self) -> Result<(Option<i64>, Option<i64>), Problem> {
        let number = |name: &str, given: &Option<String>| {
            let number = given.as_deref().map(str::parse::<i64>).transpose();
            number.map_err(|_| {
                let given = json::shorten_text(given.as_deref().unwrap_or_default());
                let fault = crate::error::FieldProblem::new(name, Code::WrongType, given);
                query::bad(fault.allowed("a whole number"))
            })
        };
        Ok((
            number("?startIndex", &self.start_index)?,
            number("?count", &self.count)?,
        ))
    }
}

/// A write under `/scim`: its content, and what of the resource is shown.
#[derive(Debug, Clone)]
pub struct ScimWrite {
    /// As every write.
    pub request: WriteRequest,
    /// What of the resource is shown.
    pub projection: Projection,
}

impl ScimWrite {
    /// Reads a write.
    ///
    /// # Errors
    /// As other writes, and for a query of another form.
    pub async fn read(
        params: &WriteParams,
        request: &HttpRequest,
        payload: Payload,
    ) -> Result<Self, Problem> {
        let dry_run = query::truth("?dry_run", params.dry_run.as_deref())?;
        let (attributes, excluded) = (
            params.attributes.as_deref(),
            params.excluded_attributes.as_deref(),
        );
        Ok(Self {
            projection: Projection::read(attributes, excluded)?,
            request: WriteRequest::read_as(dry_run, request, payload, body::LIMIT).await?,
        })
    }

    /// The body, an object.
    ///
    /// # Errors
    /// 415 for another type, 400 for what is no JSON.
    pub fn body(&self) -> Result<Map<String, Value>, Problem> {
        self.request
            .expect_type(&[MEDIA_TYPE, "application/json"])?;
        let Unambiguous(value) = json::from_slice(self.request.bytes())?;
        match value {
            Value::Object(members) => Ok(members),
            _ => Err(Problem::internal(&"a body that is no object was read")),
        }
    }

    /// Refuses what was meant for another state; without `If-Match` it is meant for any.
    ///
    /// # Errors
    /// 412.
    pub fn require_match(&self, resource: &Map<String, Value>) -> Result<(), Problem> {
        tag::require(self.request.if_match(), &tag::of(resource))
    }
}

/// The answer of a write.
///
/// # Errors
/// Those of writing it.
pub fn reply(status: u16, tag: &str, resource: &Map<String, Value>) -> Result<Reply, Problem> {
    Ok(Reply {
        content_type: MEDIA_TYPE.to_owned(),
        etag: Some(tag.to_owned()),
        ..Reply::json(status, resource)?
    })
}

/// The answer of a read of one resource.
pub fn found(request: &HttpRequest, tag: &str, resource: &Map<String, Value>) -> HttpResponse {
    let known = request.headers().get(header::IF_NONE_MATCH);
    let is_known = known
        .and_then(|value| value.to_str().ok())
        .is_some_and(|given| tag::is_among(given, tag));
    let mut answer = match is_known {
        true => HttpResponse::NotModified(),
        false => HttpResponse::Ok(),
    };
    answer
        .insert_header((header::ETAG, tag))
        .insert_header((header::CACHE_CONTROL, "no-store"));
    match is_known {
        true => answer.finish(),
        false => answer
            .content_type(MEDIA_TYPE)
            .body(Value::from(resource.clone()).to_string()),
    }
}

/// The answer of a read of anything else.
pub fn told(body: &Value) -> HttpResponse {
    HttpResponse::Ok()
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .content_type(MEDIA_TYPE)
        .body(body.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn refusals_have_the_types_of_the_rfc() {
        let of = |status: u16, problem: Value| status_and_kind(status, &problem);
        let field = |code: &str| json!({ "code": "invalid", "errors": [{ "code": code }] });
        for (given, expected) in [
            (
                of(400, json!({ "code": "invalid_filter" })),
                (400, Some("invalidFilter")),
            ),
            (
                of(400, json!({ "code": "not_json" })),
                (400, Some("invalidSyntax")),
            ),
            (of(422, field("not_unique")), (409, Some("uniqueness"))),
            (
                of(422, field("unknown_field")),
                (400, Some("invalidSyntax")),
            ),
            (
                of(422, field("too_young_or_old")),
                (400, Some("invalidValue")),
            ),
            (of(404, json!({ "code": "not_found" })), (404, None)),
            (
                of(412, json!({ "code": "precondition_failed" })),
                (412, None),
            ),
            (of(500, Value::Null), (500, None)),
        ] {
            assert_eq!(given, expected);
        }
    }
}
