//! The limit on the ratio that a plan was judged by, as it is sent.

use serde::Serialize;
use utoipa::ToSchema;

use crate::services::plans::limit::JudgedBy;

/// A limit on the ratio.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({"ratio_kind": "coupled", "limit": 1.5, "source_note": "club choice"}))]
pub struct PlanLimit {
    /// coupled or uncoupled.
    #[schema(value_type = String)]
    pub ratio_kind: &'static str,
    /// The limit.
    pub limit: f64,
    /// Where the club has it from, or that it came with the question.
    pub source_note: String,
}

impl PlanLimit {
    /// The limit, where one is judged.
    pub fn of(by: &JudgedBy) -> Option<Self> {
        let rule = by.ratio_rule()?;
        Some(Self {
            ratio_kind: rule.ratio_kind?.code(),
            limit: rule.limit.to_f64(),
            source_note: rule.source_note.clone(),
        })
    }
}
