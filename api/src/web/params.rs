//! Parameters that many routes share.

use serde::Deserialize;
use utoipa::IntoParams;

/// What every write takes beside its content.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct WriteParams {
    /// `true` runs all checks and answers the same, but stores nothing.
    #[allow(
        dead_code,
        reason = "read by WriteRequest; named here for the document"
    )]
    dry_run: Option<bool>,
}

/// Makes a `POST` safe to repeat.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[into_params(parameter_in = Header)]
pub struct KeyHeader {
    /// The same key with the same body gives the first answer again, for 24 hours.
    #[param(rename = "Idempotency-Key", max_length = 255)]
    #[allow(
        dead_code,
        reason = "read by WriteRequest; named here for the document"
    )]
    idempotency_key: Option<String>,
}

/// Says which version is changed.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[into_params(parameter_in = Header)]
pub struct MatchHeader {
    /// The ETag as read; needed to change or delete what exists.
    #[param(rename = "If-Match", example = "\"1\"")]
    #[allow(
        dead_code,
        reason = "read by WriteRequest; named here for the document"
    )]
    if_match: Option<String>,
}

/// Which page of a list.
#[derive(Debug, Clone, Default, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct PageParams {
    /// Rows of a page, 1 to 500; 50 unless given.
    #[param(value_type = Option<u16>, minimum = 1, maximum = 500)]
    pub limit: Option<String>,
    /// The `next` of the page before.
    pub after: Option<String>,
}
