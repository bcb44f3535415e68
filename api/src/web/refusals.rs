//! The refusals that routes document: a table for what every call, every body and every write may meet.

use std::collections::BTreeMap;

use utoipa::openapi::response::Response;
use utoipa::openapi::{Content, Ref, RefOr, ResponseBuilder};
use utoipa::{IntoResponses, PartialSchema, ToSchema};

use crate::error::ProblemBody;
use crate::routes::scim::shapes::ScimError;
use crate::scim::MEDIA_TYPE;

/// What a read may be refused with.
pub struct ReadRefusals;

/// What the read of a page may be refused with: told as a page to whoever asks for one without a token.
pub struct PageRefusals;

/// What the form of a page may be refused with, told likewise.
pub struct FormRefusals;

/// What a read that is asked for with a body may be refused with.
pub struct QuestionRefusals;

/// What a write may be refused with.
pub struct WriteRefusals;

/// What a read of a directory may be refused with, in the form of SCIM.
pub struct ScimReadRefusals;

/// What a search of a directory may be refused with.
pub struct ScimQuestionRefusals;

/// What a write of a directory may be refused with.
pub struct ScimWriteRefusals;

/// What a read that is about no club may be refused with.
pub struct ServiceRefusals;

/// What a call without a token may be refused with.
pub struct OpenRefusals;

const OPEN: &[(u16, &str)] = &[
    (429, "Too many requests"),
    (500, "A defect of ours"),
    (503, "Too busy, or the database is away"),
];

const TOKEN: &[(u16, &str)] = &[
    (401, "No token, or one that is not accepted"),
    (403, "The acting role may not do this"),
];

const READ: &[(u16, &str)] = &[
    (400, "The query cannot be read"),
    (404, "Absent, of another club, or out of reach"),
    (422, "Readable but wrong; `errors` names the fields"),
    (
        507,
        "The disk is full: without its audit row nothing is read",
    ),
];

const SCIM_READ: &[(u16, &str)] = &[
    (
        400,
        "The query, the body or a value in it is wrong; `scimType` says how",
    ),
    (404, "Absent, or of another club"),
    (
        507,
        "The disk is full: without its audit row nothing is read",
    ),
];

const SCIM_WRITE: &[(u16, &str)] = &[
    (409, "A value is taken by another resource"),
    (412, "It has changed since it was read"),
    (504, "It is not known whether it was stored"),
    (507, "The disk is full"),
];

const BODY: &[(u16, &str)] = &[
    (408, "The body came too slowly"),
    (413, "The body is too large"),
    (415, "The body has the wrong type or is compressed"),
];

const WRITE: &[(u16, &str)] = &[
    (409, "It collides with something that exists"),
    (412, "It has changed since it was read"),
    (428, "If-Match is missing"),
    (504, "It is not known whether it was stored"),
    (507, "The disk is full"),
];

impl IntoResponses for OpenRefusals {
    fn responses() -> BTreeMap<String, RefOr<Response>> {
        table(&[OPEN])
    }
}

impl IntoResponses for ServiceRefusals {
    fn responses() -> BTreeMap<String, RefOr<Response>> {
        table(&[TOKEN, OPEN])
    }
}

impl IntoResponses for ReadRefusals {
    fn responses() -> BTreeMap<String, RefOr<Response>> {
        table(&[TOKEN, READ, OPEN])
    }
}

impl IntoResponses for PageRefusals {
    fn responses() -> BTreeMap<String, RefOr<Response>> {
        also_as_pages(ReadRefusals::responses())
    }
}

impl IntoResponses for FormRefusals {
    fn responses() -> BTreeMap<String, RefOr<Response>> {
        also_as_pages(WriteRefusals::responses())
    }
}

fn also_as_pages(
    mut refusals: BTreeMap<String, RefOr<Response>>,
) -> BTreeMap<String, RefOr<Response>> {
    for refusal in refusals.values_mut() {
        if let RefOr::T(response) = refusal {
            let text = Content::new(Some(String::schema()));
            response.content.insert("text/html".to_owned(), text.into());
        }
    }
    refusals
}

impl IntoResponses for QuestionRefusals {
    fn responses() -> BTreeMap<String, RefOr<Response>> {
        table(&[TOKEN, READ, OPEN, BODY])
    }
}

impl IntoResponses for WriteRefusals {
    fn responses() -> BTreeMap<String, RefOr<Response>> {
        table(&[TOKEN, READ, OPEN, BODY, WRITE])
    }
}

impl IntoResponses for ScimReadRefusals {
    fn responses() -> BTreeMap<String, RefOr<Response>> {
        scim_table(&[TOKEN, SCIM_READ, OPEN])
    }
}

impl IntoResponses for ScimQuestionRefusals {
    fn responses() -> BTreeMap<String, RefOr<Response>> {
        scim_table(&[TOKEN, SCIM_READ, OPEN, BODY])
    }
}

impl IntoResponses for ScimWriteRefusals {
    fn responses() -> BTreeMap<String, RefOr<Response>> {
        scim_table(&[TOKEN, SCIM_READ, OPEN, BODY, SCIM_WRITE])
    }
}

fn table(parts: &[&[(u16, &str)]]) -> BTreeMap<String, RefOr<Response>> {
    table_of(parts, "application/problem+json", &ProblemBody::name())
}

fn scim_table(parts: &[&[(u16, &str)]]) -> BTreeMap<String, RefOr<Response>> {
    table_of(parts, MEDIA_TYPE, &ScimError::name())
}

fn table_of(
    parts: &[&[(u16, &str)]],
    media_type: &str,
    schema: &str,
) -> BTreeMap<String, RefOr<Response>> {
    let refusal = |(status, description): &(u16, &str)| {
        let schema = Ref::from_schema_name(schema);
        let content = Content::new(Some(RefOr::<utoipa::openapi::Schema>::Ref(schema)));
        let response = ResponseBuilder::new()
            .description(*description)
            .content(media_type, content)
            .build();
        (status.to_string(), RefOr::T(response))
    };
    parts.iter().copied().flatten().map(refusal).collect()
}
