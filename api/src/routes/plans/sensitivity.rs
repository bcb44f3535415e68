//! What becomes of a planned week if sessions are rated otherwise than planned, as it is sent.

use plimsoll_domain::Outcome;
use plimsoll_domain::plan::Sensitivity;
use serde::Serialize;
use utoipa::ToSchema;

/// What the limit on the ratio says where sessions are rated otherwise than planned: certain, possible, not_over or not_computable.
#[derive(Debug, Serialize, ToSchema)]
pub struct PlanSensitivity {
    /// As planned.
    #[schema(value_type = String)]
    pub planned: &'static str,
    /// All planned ratings a point higher.
    #[schema(value_type = String)]
    pub all_harder: &'static str,
    /// All planned ratings a point lower.
    #[schema(value_type = String)]
    pub all_easier: &'static str,
    /// The week a point higher, the planned weeks before it a point lower.
    #[schema(value_type = String)]
    pub worst_order: &'static str,
    /// The week a point lower, the planned weeks before it a point higher.
    #[schema(value_type = String)]
    pub best_order: &'static str,
    /// Over the limit even in the best order.
    pub robust: bool,
    /// Over the limit in the worst order alone.
    pub fragile: bool,
}

impl PlanSensitivity {
    /// Of one week.
    pub fn of(of: &Sensitivity) -> Self {
        Self {
            planned: said(of.planned),
            all_harder: said(of.harder),
            all_easier: said(of.easier),
            worst_order: said(of.worst),
            best_order: said(of.best),
            robust: of.is_robust(),
            fragile: of.is_fragile(),
        }
    }
}

const fn said(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Raised(certainty) => certainty.code(),
        Outcome::NotRaised => "not_over",
        Outcome::NotComputable(_) => "not_computable",
    }
}
