//! What was counted in an athlete's sessions, as it is sent.

use jiff::Timestamp;
use jiff::civil::Date;
use plimsoll_domain::{Fraction, Outcome, Places};
use serde::Serialize;
use utoipa::ToSchema;

use crate::error::Problem;
use crate::ids::{AthleteId, SessionId};
use crate::services::contacts::athlete::{CountedDates, CountedSession, JudgedRule};
use crate::services::sessions::answer::started_at;
use crate::web::figures::CAUTION;

/// What the counts are, and where limits come from.
pub const NOTE: &str = "Only what somebody counted or estimated stands here; landings and throws that nobody counted are not known, \
    those of games among them. Limits by level are handbook ranges for trained adults, of planned jumps (NSCA, Essentials of Strength \
    Training and Conditioning, 4th ed. 2016; value from memory); youths start lower, as their coach judges. This describes what was \
    logged; it predicts no injury.";

/// What was counted in an athlete's sessions of some dates.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({
    "athlete_id": "0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b", "from": "2026-09-07", "to": "2026-09-13", "as_of": "2026-09-13T20:00:00Z",
    "policy_version": 1,
    "sessions": [{"session_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "date": "2026-09-10",
        "started_at": "2026-09-10T17:30:00+02:00", "setting": "club", "kind": "practice", "events": 163, "both_feet": 61,
        "left_foot": 51, "right_foot": 51, "left_leg": 112, "right_leg": 112, "loaded": 15, "hands": 24, "throws": 80,
        "basis": "counted", "hours_since_last_jumps": 46.5,
        "landing_contacts": {"limit": 100.0, "beyond_by": 63.0, "outcome": "certain", "reason": null, "enabled": false,
            "source_note": "club choice"},
        "jump_gap": {"limit": 48.0, "beyond_by": 1.5, "outcome": "certain", "reason": null, "enabled": false,
            "source_note": "club choice"}}],
    "totals": {"events": 163, "both_feet": 61, "left_foot": 51, "right_foot": 51, "left_leg": 112, "right_leg": 112,
        "loaded": 15, "hands": 24, "throws": 80},
    "sessions_not_counted": 2, "note": "Only what somebody counted or estimated stands here; …",
    "caution": "These figures describe what was logged. …"}))]
pub struct AthleteContacts {
    /// Whose.
    pub athlete_id: AthleteId,
    /// First date.
    #[schema(value_type = String, format = Date)]
    pub from: Date,
    /// Last date.
    #[schema(value_type = String, format = Date)]
    pub to: Date,
    /// The state of knowledge.
    #[schema(value_type = String, format = DateTime)]
    pub as_of: Timestamp,
    /// The policy in force on the last date; null where the club has none. Each session is held against the policy of its own date.
    pub policy_version: Option<u32>,
    /// One entry a session that somebody counted, by start.
    pub sessions: Vec<ContactsOfSession>,
    /// The sum of these entries; "at least" where sessions were not counted.
    pub totals: ContactTotals,
    /// Reported sessions of the dates that nobody counted.
    pub sessions_not_counted: usize,
    /// What the counts are, and where limits come from.
    pub note: &'static str,
    /// What the figures are, and are not.
    pub caution: &'static str,
}

/// A session that somebody counted. What was not counted in it is null.
#[derive(Debug, Serialize, ToSchema)]
pub struct ContactsOfSession {
    /// The report it was counted for.
    pub session_id: SessionId,
    /// The load date of that.
    #[schema(value_type = String, format = Date)]
    pub date: Date,
    /// Start, with the offset of the place.
    #[schema(format = DateTime)]
    pub started_at: String,
    /// Who ran it.
    #[schema(value_type = String)]
    pub setting: &'static str,
    /// What it was.
    #[schema(value_type = String)]
    pub kind: &'static str,
    /// Landings on feet, each once.
    pub events: Option<u32>,
    /// On both feet.
    pub both_feet: Option<u32>,
    /// On the left foot alone.
    pub left_foot: Option<u32>,
    /// On the right foot alone.
    pub right_foot: Option<u32>,
    /// Landings that the left leg took, those on both feet included.
    pub left_leg: Option<u32>,
    /// Landings that the right leg took, those on both feet included.
    pub right_leg: Option<u32>,
    /// How many of those on feet were under load.
    pub loaded: Option<u32>,
    /// Landings on hands.
    pub hands: Option<u32>,
    /// Throws.
    pub throws: Option<u32>,
    /// counted or estimated.
    #[schema(value_type = String)]
    pub basis: &'static str,
    /// From the end of the last counted session with landings on feet to the start of this one, as reported, also where that lies before
    /// `from`; negative where the two overlap, null where there is none. Sessions between that nobody counted may have had jumps.
    pub hours_since_last_jumps: Option<f64>,
    /// The landings on feet against the policy of the date (rule `landing_contacts`); null where it has no such rule. To staff only.
    pub landing_contacts: Option<AgainstJumpRule>,
    /// The hours since the last jumps against it (rule `jump_gap`); null where it has no such rule, and of a session without landings on
    /// feet. To staff only.
    pub jump_gap: Option<AgainstJumpRule>,
}

/// What was counted in all. Null where it was counted in no session.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"events": 163, "both_feet": 61, "left_foot": 51, "right_foot": 51, "left_leg": 112, "right_leg": 112,
    "loaded": 15, "hands": 24, "throws": 80}))]
pub struct ContactTotals {
    /// Landings on feet, each once.
    pub events: Option<u32>,
    /// On both feet.
    pub both_feet: Option<u32>,
    /// On the left foot alone.
    pub left_foot: Option<u32>,
    /// On the right foot alone.
    pub right_foot: Option<u32>,
    /// Landings that the left leg took, those on both feet included.
    pub left_leg: Option<u32>,
    /// Landings that the right leg took, those on both feet included.
    pub right_leg: Option<u32>,
    /// How many of those on feet were under load.
    pub loaded: Option<u32>,
    /// Landings on hands.
    pub hands: Option<u32>,
    /// Throws.
    pub throws: Option<u32>,
}

/// A session against a rule about jumps.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"limit": 100.0, "beyond_by": 63.0, "outcome": "certain", "reason": null, "enabled": false,
    "source_note": "club choice"}))]
pub struct AgainstJumpRule {
    /// The limit: landings, or the least hours.
    pub limit: f64,
    /// Landings above it, or hours short of it; negative while within, null where it cannot be told.
    pub beyond_by: Option<f64>,
    /// certain, not_raised or not_computable.
    #[schema(value_type = String)]
    pub outcome: &'static str,
    /// Why it is not computable.
    #[schema(value_type = Option<String>)]
    pub reason: Option<&'static str>,
    /// Whether the rule is switched on.
    pub enabled: bool,
    /// Where the club has the limit from.
    pub source_note: String,
}

impl AthleteContacts {
    /// What was counted of an athlete in some dates; limits for those who may see them.
    pub(super) fn new(
        found: &CountedDates,
        (athlete_id, (from, to)): (AthleteId, (Date, Date)),
        as_of: Timestamp,
        sees_limits: bool,
    ) -> Result<Self, Problem> {
        let sessions = found.sessions.iter();
        let sessions = sessions.map(|one| ContactsOfSession::new(one, sees_limits));
        let sessions = sessions.collect::<Result<Vec<_>, _>>()?;
        Ok(Self {
            athlete_id,
            from,
            to,
            as_of,
            policy_version: found.policy_version,
            totals: ContactTotals::of(&sessions),
            sessions,
            sessions_not_counted: found.not_counted,
            note: NOTE,
            caution: CAUTION,
        })
    }
}

impl ContactsOfSession {
    fn new(one: &CountedSession, sees_limits: bool) -> Result<Self, Problem> {
        let report = &one.report;
        let rule = |rule: &Option<JudgedRule>| {
            let shown = rule.as_ref().filter(|_| sees_limits);
            shown.map(AgainstJumpRule::new)
        };
        let hours = |seconds| Fraction::new(seconds, 60 * 60);
        let landings = one.counts.landings();
        let contacts = landings.map(|landings| landings.contacts());
        Ok(Self {
            session_id: report.session_id,
            date: report.load_date,
            started_at: started_at(report)?,
            setting: report.setting.code(),
            kind: report.kind.code(),
            events: contacts.map(|contacts| contacts.events()),
            both_feet: contacts.map(|contacts| contacts.both_feet),
            left_foot: contacts.map(|contacts| contacts.left_foot),
            right_foot: contacts.map(|contacts| contacts.right_foot),
            left_leg: contacts.map(|contacts| contacts.left_leg()),
            right_leg: contacts.map(|contacts| contacts.right_leg()),
            loaded: landings.and_then(|landings| landings.loaded()),
            hands: landings.and_then(|landings| landings.hands()),
            throws: one.counts.throws(),
            basis: one.counts.basis().code(),
            hours_since_last_jumps: one.since_last_jumps.and_then(hours).map(four),
            landing_contacts: rule(&one.landing_contacts),
            jump_gap: rule(&one.jump_gap),
        })
    }
}

impl ContactTotals {
    fn of(sessions: &[ContactsOfSession]) -> Self {
        let sum = |of: fn(&ContactsOfSession) -> Option<u32>| {
            let counted = sessions.iter().filter_map(of);
            counted.reduce(|sum, one| sum + one)
        };
        Self {
            events: sum(|one| one.events),
            both_feet: sum(|one| one.both_feet),
            left_foot: sum(|one| one.left_foot),
            right_foot: sum(|one| one.right_foot),
            left_leg: sum(|one| one.left_leg),
            right_leg: sum(|one| one.right_leg),
            loaded: sum(|one| one.loaded),
            hands: sum(|one| one.hands),
            throws: sum(|one| one.throws),
        }
    }
}

impl AgainstJumpRule {
    /// A judged rule.
    pub fn new(judged: &JudgedRule) -> Self {
        let (rule, found) = (&judged.rule, judged.judged);
        Self {
            limit: rule.limit.to_f64(),
            beyond_by: found.ok().map(|found| four(found.beyond)),
            outcome: match found.map(|found| found.outcome) {
                Ok(Outcome::Raised(certainty)) => certainty.code(),
                Ok(Outcome::NotRaised) => "not_raised",
                Ok(Outcome::NotComputable(_)) | Err(_) => "not_computable",
            },
            reason: found.err().map(|reason| reason.code()),
            enabled: rule.enabled,
            source_note: rule.source_note.clone(),
        }
    }
}

/// Hours and landings have four decimals, as ratios have.
fn four(value: Fraction) -> f64 {
    value.round(Places::Four).to_f64()
}
