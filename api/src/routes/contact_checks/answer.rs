//! What planned items come to, as it is sent.

use plimsoll_domain::contacts::{Contacts, Work, contacts, distance};
use plimsoll_domain::{Fraction, Places};
use serde::Serialize;
use utoipa::ToSchema;

use super::programme::ProgrammeContacts;
use crate::routes::contacts::{AgainstJumpRule, NOTE};
use crate::services::contact_checks::{ContactCheck, Item};
use crate::web::figures::CAUTION;

/// Landings and metres of planned items.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({
    "items": [{"exercise": "hurdle_hop_both_feet", "events": 20, "left_leg": 20, "right_leg": 20, "hands": 0, "distance_m": null,
        "reason": null}],
    "both_feet": 20, "one_foot": 0, "events": 20, "left_leg": 20, "right_leg": 20, "loaded": 0, "hands": 0, "at_least": false,
    "distance_m": 0.0, "distance_at_least": false, "hours_since_last_jumps": 46.5, "policy_version": 1,
    "landing_contacts": {"limit": 100.0, "beyond_by": -80.0, "outcome": "not_raised", "reason": null, "enabled": false,
        "source_note": "club choice"},
    "jump_gap": {"limit": 48.0, "beyond_by": 1.5, "outcome": "certain", "reason": null, "enabled": false,
        "source_note": "club choice"},
    "programme": null,
    "note": "Only what somebody counted or estimated stands here; …", "caution": "These figures describe what was logged. …"}))]
pub struct ContactCheckAnswer {
    /// Each item; none where a programme was asked about.
    pub items: Vec<CheckedItem>,
    /// Landings on both feet.
    pub both_feet: u32,
    /// Landings on one foot.
    pub one_foot: u32,
    /// Landings on feet, each once.
    pub events: u32,
    /// Landings that the left leg takes, those on both feet included.
    pub left_leg: u32,
    /// Landings that the right leg takes, those on both feet included.
    pub right_leg: u32,
    /// How many of those on feet are under load.
    pub loaded: u32,
    /// Landings on hands.
    pub hands: u32,
    /// Whether an item's landings cannot be told: the numbers are then "at least".
    pub at_least: bool,
    /// Metres of the items with a distance.
    pub distance_m: f64,
    /// Whether one of these has a leg that is not measured.
    pub distance_at_least: bool,
    /// From the end of the last jumps to the start; null where either is not given.
    pub hours_since_last_jumps: Option<f64>,
    /// The policy in force on the date; null where the club has none.
    pub policy_version: Option<u32>,
    /// The landings on feet against the policy (rule `landing_contacts`); null where it has no such rule.
    pub landing_contacts: Option<AgainstJumpRule>,
    /// The hours since the last jumps against it (rule `jump_gap`); null where it has no such rule, and of items without landings.
    pub jump_gap: Option<AgainstJumpRule>,
    /// Its sessions and weeks, where a programme was asked about: the numbers above are then those of all of it.
    pub programme: Option<ProgrammeContacts>,
    /// Where limits come from.
    pub note: &'static str,
    /// What the figures are, and are not.
    pub caution: &'static str,
}

/// A planned item. Null is not known.
#[derive(Debug, Serialize, ToSchema)]
pub struct CheckedItem {
    /// The code of the exercise; null where it was described.
    pub exercise: Option<String>,
    /// Landings on feet, each once.
    pub events: Option<u32>,
    /// Landings that the left leg takes.
    pub left_leg: Option<u32>,
    /// Landings that the right leg takes.
    pub right_leg: Option<u32>,
    /// Landings on hands.
    pub hands: Option<u32>,
    /// Metres; null where it has no distance, or a leg is not measured.
    pub distance_m: Option<f64>,
    /// Why landings are not known: landing_not_known, or not_in_repetitions of a time or a distance.
    #[schema(value_type = Option<String>)]
    pub reason: Option<&'static str>,
}

impl ContactCheckAnswer {
    pub(super) fn new(found: &ContactCheck) -> Self {
        let planned: Vec<_> = found.items.iter().map(|item| item.planned).collect();
        let (length, not_measured) = distance(&planned);
        let all = &found.contacts;
        let programme = found.programme.as_ref().map(ProgrammeContacts::of);
        let length = match &programme {
            Some(programme) => programme.sessions.iter().map(|one| one.distance_m).sum(),
            None => four(length.to_metres()),
        };
        let hours = |seconds| Fraction::new(seconds, 60 * 60);
        Self {
            items: found.items.iter().map(CheckedItem::of).collect(),
            both_feet: all.both_feet,
            one_foot: all.one_foot(),
            events: all.events(),
            left_leg: all.left_leg(),
            right_leg: all.right_leg(),
            loaded: all.loaded,
            hands: all.hands,
            at_least: all.not_known > 0,
            distance_m: length,
            distance_at_least: not_measured > 0,
            hours_since_last_jumps: found.since_last_jumps.and_then(hours).map(four),
            policy_version: found.policy_version,
            landing_contacts: found.landing_contacts.as_ref().map(AgainstJumpRule::new),
            jump_gap: found.jump_gap.as_ref().map(AgainstJumpRule::new),
            programme,
            note: NOTE,
            caution: CAUTION,
        }
    }
}

impl CheckedItem {
    fn of(item: &Item) -> Self {
        let alone = [item.planned];
        let landings = contacts(&alone);
        let known =
            |number: fn(&Contacts) -> u32| (landings.not_known == 0).then(|| number(&landings));
        let way = match item.planned.work {
            Work::Distance(Some(_)) => Some(four(distance(&alone).0.to_metres())),
            Work::Distance(None) | Work::Reps(_) | Work::Time => None,
        };
        Self {
            exercise: item.exercise.as_ref().map(|one| one.code.to_string()),
            events: known(Contacts::events),
            left_leg: known(Contacts::left_leg),
            right_leg: known(Contacts::right_leg),
            hands: known(|landings| landings.hands),
            distance_m: way,
            reason: match (landings.not_known, item.planned.landing) {
                (0, _) => None,
                (_, None) => Some("landing_not_known"),
                (_, Some(_)) => Some("not_in_repetitions"),
            },
        }
    }
}

/// Metres and hours have four decimals: a tenth of a millimetre is the unit of lengths.
pub(super) fn four(value: Fraction) -> f64 {
    value.round(Places::Four).to_f64()
}
