//! What stands above a check, the same on its page and on its sheet.

use crate::routes::plans::PlanCheckAnswer;

/// Where there is nobody to check a plan for.
pub(super) const NOBODY: &str = "The squad has no member today.";
/// Above what is said of each athlete of a squad.
pub(super) const IN_WORDS: &str = "In words, who breaks a rule first";
/// Above the notes at the end.
pub(super) const WHAT_THIS_IS: &str = "What this is";

/// The title.
pub(super) fn title(checks: &[PlanCheckAnswer]) -> String {
    let first = checks.first();
    let of = |check: &PlanCheckAnswer| {
        format!("Plan check, {} to {}", check.first_week, check.last_week)
    };
    first.map_or_else(|| "Plan check".to_owned(), of)
}

/// Whose history it follows.
pub(super) fn whose(check: &PlanCheckAnswer) -> &str {
    let name = check.display_name.as_deref();
    name.unwrap_or("After a typed history")
}

/// What is logged before the plan, and what of the plan is hers alone.
pub(super) fn known(check: &PlanCheckAnswer) -> Vec<String> {
    let until = check.logged_until;
    let until = until.map(|until| format!("Logged until {until}."));
    let changes = match check.individual_changes {
        0 => None,
        1 => Some("1 item of the programme is other for her.".to_owned()),
        many => Some(format!("{many} items of the programme are other for her.")),
    };
    until.into_iter().chain(changes).collect()
}

/// The limit, and whose it is.
pub(super) fn judged_by(check: &PlanCheckAnswer) -> String {
    let version = check
        .policy_version
        .map(|version| format!("policy version {version}"));
    let version = version.unwrap_or_else(|| "no policy".to_owned());
    match &check.limit {
        Some(limit) => format!(
            "{} AU planned. Limit on the {} ratio: {} ({}); {version}.",
            check.total_au, limit.ratio_kind, limit.limit, limit.source_note
        ),
        None => format!(
            "{} AU planned. No limit on a ratio is judged; {version}.",
            check.total_au
        ),
    }
}

/// Above the one plot of a squad.
pub(super) fn plotted(check: &PlanCheckAnswer) -> String {
    format!(
        "The plan as it is for {}, with her limit; the limits of the others stand in the table.",
        whose(check)
    )
}
