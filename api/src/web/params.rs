//! Parameters that many routes share.

use jiff::civil::Date;
use serde::Deserialize;
use utoipa::IntoParams;

use super::range;
use crate::error::Problem;
use crate::ids::AthleteId;

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
    #[param(rename = "Idempotency-Key", value_type = String, required = false, max_length = 255)]
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
    #[param(rename = "If-Match", value_type = String, required = false, example = "\"1\"")]
    #[allow(
        dead_code,
        reason = "read by WriteRequest; named here for the document"
    )]
    if_match: Option<String>,
}

/// Which page of a list.
#[derive(Debug, Clone, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct PageParams {
    /// Rows of a page, 1 to 500; 50 unless given.
    #[param(value_type = Option<u16>, minimum = 1, maximum = 500)]
    pub limit: Option<String>,
    /// The `next` of the page before.
    pub after: Option<String>,
}

/// Whose records are listed.
#[derive(Debug, Clone, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct AthleteParams {
    /// Of this athlete; of everybody unless given.
    #[param(value_type = Option<AthleteId>)]
    pub athlete: Option<String>,
    /// Rows of a page, 1 to 500; 50 unless given.
    #[param(value_type = Option<u16>, minimum = 1, maximum = 500)]
    pub limit: Option<String>,
    /// The `next` of the page before.
    pub after: Option<String>,
}

/// Which days of whom are listed.
#[derive(Debug, Clone, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct DayParams {
    /// Of this athlete.
    #[param(value_type = Option<AthleteId>)]
    pub athlete: Option<String>,
    /// First date.
    #[param(value_type = Option<String>, format = Date)]
    pub from: Option<String>,
    /// Last date.
    #[param(value_type = Option<String>, format = Date)]
    pub to: Option<String>,
    /// Rows of a page, 1 to 500; 50 unless given.
    #[param(value_type = Option<u16>, minimum = 1, maximum = 500)]
    pub limit: Option<String>,
    /// The `next` of the page before.
    pub after: Option<String>,
}

/// Days of whom, as read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AskedDays {
    /// Only of this athlete.
    pub athlete: Option<AthleteId>,
    /// First date.
    pub from: Date,
    /// Last date.
    pub to: Date,
}

impl DayParams {
    /// Reads them; without dates, all days that can be stored.
    pub fn read(&self) -> Result<AskedDays, Problem> {
        let athlete = self.athlete.as_deref().map(range::athlete).transpose()?;
        let (from, to) = range::open_dates(self.from.as_deref(), self.to.as_deref())?;
        Ok(AskedDays { athlete, from, to })
    }
}
