//! Doses of neuromuscular warm-up, as they are sent.

use jiff::civil::Date;
use plimsoll_domain::neuromuscular::{Dose, DoseParts, LeastDose, WeekWarmUps};
use plimsoll_domain::{Outcome, Places, Rule};
use serde::Serialize;
use utoipa::ToSchema;

use crate::services::warm_ups::dose::{DoseWeek, Doses};

/// What a dose is, and is not.
pub const NOTE: &str = "Counted are planned sessions whose warm-up was entered; what was done beside the schedule is not known. Who was there in \
    part may have missed the warm-up. The dose follows trials of groups (Sugimoto et al. 2014, Sports Med 44:551-562; value from memory), the \
    categories and feedback a position statement (Padua et al. 2018, J Athl Train 53:5-19). Both are about knee ligaments of groups and \
    promise nothing to one person. The least dose is the club's and no medical one.";

/// Warm-ups of a week.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"sessions": 2, "minutes": 30, "categories": ["strength", "jump", "agility"], "feedback": true}))]
pub struct WarmUpDose {
    /// How many.
    pub sessions: u32,
    /// Their minutes.
    pub minutes: u32,
    /// All they held: strength, jump, agility, balance, flexibility.
    #[schema(value_type = Vec<String>)]
    pub categories: Vec<&'static str>,
    /// Whether feedback on technique was given in one of them.
    pub feedback: bool,
}

/// A week's warm-ups against the policy's rule (`neuromuscular_dose`), each part by itself.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"least_sessions": 2, "least_minutes": 30.0, "least_categories": 3,
    "short_by_sessions": 1, "short_by_minutes": 5.0, "short_by_categories": 0,
    "met": {"sessions": "no", "minutes": "no", "categories": "yes", "feedback": "yes", "dose": "no", "all_parts": "no"},
    "outcome": "certain", "reason": null, "enabled": false, "source_note": "club choice"}))]
pub struct AgainstDose {
    /// The least number of sessions.
    pub least_sessions: u32,
    /// The least minutes.
    pub least_minutes: f64,
    /// The least number of the five categories.
    pub least_categories: u32,
    /// Sessions that are wanting by what is known; null where the week is not judged, as are the next three.
    pub short_by_sessions: Option<u32>,
    /// Minutes that are.
    pub short_by_minutes: Option<f64>,
    /// Categories that are.
    pub short_by_categories: Option<u32>,
    /// Which parts are met.
    pub met: Option<MetParts>,
    /// certain, possible, not_raised or not_computable.
    #[schema(value_type = String)]
    pub outcome: &'static str,
    /// Why it is not_computable: nothing_expected (no session was planned, or rest or absence kept from all of them), or of a plan
    /// nothing_said (no session of the week says anything of a warm-up).
    #[schema(value_type = Option<String>)]
    pub reason: Option<&'static str>,
    /// Whether the rule is switched on.
    pub enabled: bool,
    /// Where the club has the limit from.
    pub source_note: String,
}

/// Which parts of the least dose are met: yes, no, or not_known where that hangs on what nobody said.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"sessions": "yes", "minutes": "yes", "categories": "no", "feedback": "yes", "dose": "yes", "all_parts": "no"}))]
pub struct MetParts {
    /// Sessions.
    #[schema(value_type = String)]
    pub sessions: &'static str,
    /// Minutes.
    #[schema(value_type = String)]
    pub minutes: &'static str,
    /// Categories.
    #[schema(value_type = String)]
    pub categories: &'static str,
    /// Feedback on technique.
    #[schema(value_type = String)]
    pub feedback: &'static str,
    /// Sessions and minutes together.
    #[schema(value_type = String)]
    pub dose: &'static str,
    /// All together.
    #[schema(value_type = String)]
    pub all_parts: &'static str,
}

/// The warm-ups of one ISO week.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"week": "2026-W36", "is_over": true, "expected": true,
    "warm_ups": {"sessions": 1, "minutes": 25, "categories": ["strength", "jump", "agility", "balance"], "feedback": true},
    "at_most": {"sessions": 1, "minutes": 25, "categories": ["strength", "jump", "agility", "balance"], "feedback": true},
    "sessions_not_said": 0, "policy_version": 1, "against": null}))]
pub struct WarmUpWeek {
    /// The week.
    pub week: String,
    /// Whether it is over.
    pub is_over: bool,
    /// Whether a session was planned, from which rest or absence did not keep.
    pub expected: bool,
    /// Those that are known: attended by the athlete; of a squad held, whoever was there.
    pub warm_ups: WarmUpDose,
    /// The same with those of which it is not known whether she was there.
    pub at_most: WarmUpDose,
    /// Planned sessions that were attended, or may have been, and of whose warm-up nobody said anything: there may have been one.
    pub sessions_not_said: u32,
    /// The policy of its Sunday; null where the club has none.
    pub policy_version: Option<u32>,
    /// Against the rule of that policy; null where it has no such rule. To staff only.
    pub against: Option<AgainstDose>,
}

/// The warm-ups of a season: the weeks asked for that are over.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"weeks_expected": 4, "weeks_met": 1, "weeks_not_known": 0, "first_warm_up": "2026-08-10",
    "first_game": "2026-09-26", "began_6_weeks_before": true}))]
pub struct WarmUpSeason {
    /// Weeks with a planned session, from which rest or absence did not keep.
    pub weeks_expected: usize,
    /// Those of them that met every part of the rule; null where one has no such rule. To staff only.
    pub weeks_met: Option<u32>,
    /// Those of which that is not known. To staff only.
    pub weeks_not_known: Option<u32>,
    /// The first warm-up of the weeks asked for that is known.
    #[schema(value_type = Option<String>, format = Date)]
    pub first_warm_up: Option<Date>,
    /// The first game planned from the first of these weeks on, up to half a year after the last.
    #[schema(value_type = Option<String>, format = Date)]
    pub first_game: Option<Date>,
    /// Whether they began at least six weeks before the first game (common practice, no source); null where that is not known, there is
    /// no game or no warm-up. To staff only.
    pub began_6_weeks_before: Option<bool>,
}

impl WarmUpDose {
    /// A dose.
    pub fn of(dose: &Dose) -> Self {
        Self {
            sessions: dose.sessions,
            minutes: dose.minutes,
            categories: dose.categories.iter().map(|one| one.code()).collect(),
            feedback: dose.feedback,
        }
    }
}

impl AgainstDose {
    /// The warm-ups of a week against a rule that says this of them; `None` where it is about something else.
    pub fn of(rule: &Rule, outcome: Outcome, week: &WeekWarmUps) -> Option<Self> {
        let least = LeastDose::of(rule)?;
        let (outcome, reason) = match outcome {
            Outcome::Raised(certainty) => (certainty.code(), None),
            Outcome::NotRaised => ("not_raised", None),
            Outcome::NotComputable(reason) => ("not_computable", Some(reason.code())),
        };
        let is_judged = reason.is_none();
        let short = is_judged.then(|| least.short(&week.dose()));
        Some(Self {
            least_sessions: least.sessions,
            least_minutes: least.minutes.to_f64(),
            least_categories: least.categories,
            short_by_sessions: short.map(|short| short.sessions),
            short_by_minutes: short.map(|short| short.minutes.round(Places::Two).to_f64()),
            short_by_categories: short.map(|short| short.categories),
            met: is_judged.then(|| MetParts::of(least.parts(week))),
            outcome,
            reason,
            enabled: rule.enabled,
            source_note: rule.source_note.clone(),
        })
    }
}

impl MetParts {
    fn of(parts: DoseParts) -> Self {
        Self {
            sessions: parts.sessions.code(),
            minutes: parts.minutes.code(),
            categories: parts.categories.code(),
            feedback: parts.feedback.code(),
            dose: parts.dose().code(),
            all_parts: parts.all().code(),
        }
    }
}

impl WarmUpWeek {
    /// The weeks, with limits for those who may see them.
    pub fn all(doses: &Doses, sees_limits: bool) -> Vec<Self> {
        let weeks = doses.weeks.iter();
        weeks.map(|week| Self::of(week, sees_limits)).collect()
    }

    fn of(week: &DoseWeek, sees_limits: bool) -> Self {
        let rule = week.rule.as_ref().filter(|_| sees_limits);
        Self {
            week: week.week.to_string(),
            is_over: week.is_over,
            expected: week.is_expected,
            warm_ups: WarmUpDose::of(&week.warm_ups.dose()),
            at_most: WarmUpDose::of(&week.warm_ups.at_most()),
            sessions_not_said: week.warm_ups.not_said,
            policy_version: week.policy_version,
            against: rule.and_then(|rule| AgainstDose::of(rule, week.outcome()?, &week.warm_ups)),
        }
    }
}

impl WarmUpSeason {
    /// The season of these weeks, with limits for those who may see them.
    pub fn of(doses: &Doses, sees_limits: bool) -> Self {
        let season = doses.season().filter(|_| sees_limits);
        Self {
            weeks_expected: doses.expected().count(),
            weeks_met: season.map(|season| season.weeks_met),
            weeks_not_known: season.map(|season| season.weeks_not_known),
            first_warm_up: doses.first_warm_up,
            first_game: doses.first_game,
            began_6_weeks_before: doses.began_in_time().filter(|_| sees_limits),
        }
    }
}
