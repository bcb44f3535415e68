//! The parts of SCIM 2.0 (RFC 7643, RFC 7644) that know nothing of a club: schemas, filters, paths, patches, and which attributes of
//! a resource are returned. `services/directory` says what of a roster they are applied to.

pub mod attributes;
pub mod canonical;
pub mod discovery;
pub mod filter;
pub mod kept;
pub mod matching;
pub mod parse;
pub mod patch;
pub mod projection;
pub mod search;

/// The media type of requests and answers (RFC 7644, section 3.1).
pub const MEDIA_TYPE: &str = "application/scim+json";
/// The schema of an error (RFC 7644, section 3.12).
pub const ERROR: &str = "urn:ietf:params:scim:api:messages:2.0:Error";
/// The schema of a list (RFC 7644, section 3.4.2).
pub const LIST: &str = "urn:ietf:params:scim:api:messages:2.0:ListResponse";
/// The schema of a patch (RFC 7644, section 3.5.2).
pub const PATCH: &str = "urn:ietf:params:scim:api:messages:2.0:PatchOp";
/// The schema of a search (RFC 7644, section 3.4.3).
pub const SEARCH: &str = "urn:ietf:params:scim:api:messages:2.0:SearchRequest";

/// What is wrong with a request, as RFC 7644, table 9, tells it apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// The filter cannot be read, or asks what cannot be compared.
    Filter,
    /// The path cannot be read, or names what no schema has.
    Path,
    /// The path leads to nothing.
    Target,
    /// What is named cannot be changed.
    Mutability,
    /// The body does not have the form of its schema.
    Syntax,
    /// A value is not what its attribute takes.
    Value,
}

/// A refusal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// Of which kind.
    pub kind: Kind,
    /// The attribute at fault, or what was given in its place.
    pub given: String,
    /// One sentence for a person.
    pub detail: String,
}

impl Fault {
    /// A refusal of something given.
    pub fn new(kind: Kind, given: impl Into<String>, detail: impl Into<String>) -> Self {
        Self {
            kind,
            given: given.into(),
            detail: detail.into(),
        }
    }
}
