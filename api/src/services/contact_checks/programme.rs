//! Landing contacts of a stored programme: of each session and each week, with the time between sessions with jumps.

use std::collections::BTreeMap;
use std::ops::Add;

use jiff::civil::Weekday;
use plimsoll_domain::contacts::Contacts;
use plimsoll_domain::exercises::Catalogue;
use plimsoll_domain::jump_rules::{jump_gap_between, landing_contacts};
use plimsoll_domain::measure::Length;
use plimsoll_domain::programme::{SessionJumps, session_jumps, week_jumps};
use plimsoll_domain::{Bounds, Policy, Reason, RuleCode};

use super::ContactCheck;
use crate::ids::ProgrammeId;
use crate::services::contacts::athlete::JudgedRule;
use crate::services::programmes::ReadProgramme;

/// What a programme comes to.
#[derive(Debug)]
pub struct CheckedProgramme {
    /// Its id.
    pub id: ProgrammeId,
    /// Which version of it.
    pub version: i32,
    /// Its sessions in order.
    pub sessions: Vec<CheckedSession>,
    /// The landings of each week that has a session.
    pub weeks: BTreeMap<u8, Contacts>,
}

/// What one of its sessions comes to.
#[derive(Debug)]
pub struct CheckedSession {
    /// The number of its week.
    pub week: u8,
    /// Its day.
    pub weekday: Weekday,
    /// Its number on the day.
    pub number: u8,
    /// Its landings.
    pub contacts: Contacts,
    /// How far its ways go.
    pub length: Length,
    /// Seconds since the last jumps; `None` without jumps, and for the first with any.
    pub since_jumps: Option<Bounds<i64>>,
    /// What the policy says of the landings.
    pub landing_contacts: Option<JudgedRule>,
    /// What it says of the time since the last jumps; `None` too where nothing is jumped.
    pub jump_gap: Option<JudgedRule>,
}

/// Counts a programme and holds it against a policy.
pub(super) fn check(
    read: &ReadProgramme,
    catalogue: &Catalogue,
    policy: Option<&Policy>,
) -> ContactCheck {
    let found = session_jumps(&read.programme, catalogue);
    let weeks = week_jumps(&found);
    let contacts = found.iter().map(|one| one.contacts);
    ContactCheck {
        items: Vec::new(),
        contacts: contacts.fold(Contacts::default(), Add::add),
        since_last_jumps: None,
        policy_version: policy.map(|policy| policy.version),
        landing_contacts: None,
        jump_gap: None,
        programme: Some(CheckedProgramme {
            id: read.id,
            version: read.version.number,
            sessions: found.iter().map(|one| session(one, policy)).collect(),
            weeks,
        }),
    }
}

fn session(found: &SessionJumps<'_>, policy: Option<&Policy>) -> CheckedSession {
    let rule = |code| policy.and_then(|policy| policy.rule(code)).cloned();
    let jumps = found.contacts.events() > 0 || found.contacts.not_known > 0;
    CheckedSession {
        week: found.placed.week,
        weekday: found.placed.weekday,
        number: found.placed.number,
        contacts: found.contacts,
        length: found.length,
        since_jumps: found.since_jumps,
        landing_contacts: rule(RuleCode::LandingContacts).map(|rule| JudgedRule {
            judged: Ok(landing_contacts(rule.limit, &found.contacts)),
            rule,
        }),
        jump_gap: rule(RuleCode::JumpGap)
            .filter(|_| jumps)
            .map(|rule| JudgedRule {
                judged: match found.since_jumps {
                    Some(since) => Ok(jump_gap_between(rule.limit, since)),
                    None => Err(Reason::NothingBefore),
                },
                rule,
            }),
    }
}
