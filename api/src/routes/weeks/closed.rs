//! What the weekly list says of corrections after the close.

use jiff::Timestamp;
use serde::Serialize;
use utoipa::ToSchema;

use crate::ids::{AthleteId, FlagId};
use crate::services::weekly_list::SquadWeek;
use crate::store::flags::Judged;

/// Flags of the squad that were judged otherwise after the close.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"at": "2026-09-16T17:10:00Z", "withdrawn": [{
    "flag_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b",
    "athlete_id": "0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b", "display_name": "Ida",
    "rule": "week_end_ratio", "cause": "data_changed"}], "raised": [], "changed": [],
    "sentence": "Corrected after the close, because what is known of the week changed: 1 flag was \
        withdrawn."}))]
pub struct CorrectionNote {
    /// When the last of them was judged.
    #[schema(value_type = String, format = DateTime)]
    pub at: Timestamp,
    /// Raised at the close, withdrawn since: the data changed.
    pub withdrawn: Vec<CorrectedFlag>,
    /// Not raised at the close, raised since.
    pub raised: Vec<CorrectedFlag>,
    /// Raised at the close and now, on other figures.
    pub changed: Vec<CorrectedFlag>,
    /// One plain sentence.
    pub sentence: String,
}

/// A flag that was corrected; its own page holds every judgement.
#[derive(Debug, Serialize, ToSchema)]
pub struct CorrectedFlag {
    /// The flag.
    pub flag_id: FlagId,
    /// Whose week.
    pub athlete_id: AthleteId,
    /// The name shown.
    pub display_name: String,
    /// The rule.
    #[schema(example = "week_end_ratio")]
    pub rule: String,
    /// Why it was judged again: data_changed or policy_changed.
    #[schema(example = "data_changed")]
    pub cause: String,
}

impl CorrectionNote {
    /// The note of a list; `None` where the week is not closed or nothing was corrected.
    pub(super) fn of(squad_week: &SquadWeek) -> Option<Self> {
        let correction = squad_week.closed.as_ref()?.correction.as_ref()?;
        let flags = |judged: &[Judged]| -> Vec<CorrectedFlag> {
            let flag = |judged: &Judged| CorrectedFlag {
                flag_id: judged.flag.flag_id,
                athlete_id: judged.flag.athlete_id,
                display_name: squad_week
                    .name_of(judged.flag.athlete_id)
                    .unwrap_or_default()
                    .to_owned(),
                rule: judged.flag.rule.clone(),
                cause: judged.version.cause.clone(),
            };
            judged.iter().map(flag).collect()
        };
        let parts = [
            (correction.withdrawn.len(), "withdrawn"),
            (correction.raised.len(), "raised"),
            (correction.changed.len(), "judged on other figures"),
        ];
        Some(Self {
            at: correction.at,
            withdrawn: flags(&correction.withdrawn),
            raised: flags(&correction.raised),
            changed: flags(&correction.changed),
            sentence: sentence(parts),
        })
    }
}

fn sentence(parts: [(usize, &str); 3]) -> String {
    let some = parts.into_iter().filter(|(count, _)| *count > 0);
    let said = some.map(|(count, what)| match count {
        1 => format!("1 flag was {what}"),
        more => format!("{more} flags were {what}"),
    });
    let said: Vec<String> = said.collect();
    format!(
        "Corrected after the close, because what is known of the week changed: {}.",
        said.join(", ")
    )
}
