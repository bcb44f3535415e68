//! Rosters: read, held against the roster that is there, and taken over in one transaction.

pub mod answer;
mod apply;
mod check;
pub mod csv_rows;
mod current;
pub mod input;
pub mod links;
pub mod oneroster;
pub mod second_copies;
pub mod sources;

use std::collections::BTreeSet;

use plimsoll_domain::roster::{self, Incoming, Mode, Plan};

use crate::error::{Code, Problem};
use crate::services::write::Change;
use crate::services::zones;
use answer::RosterAnswer;
use check::Checked;
use current::Stored;
use input::Sent;

/// How a roster is to be taken.
#[derive(Debug, Clone, Copy)]
pub struct Taking {
    /// Whether it names everybody.
    pub mode: Mode,
    /// Whether more than a fifth of the members may leave.
    pub confirm_large_removal: bool,
    /// Whether nothing is to be stored.
    pub dry_run: bool,
}

/// A roster held against the one that is there, before anything is changed.
pub struct Planned<'a> {
    sent: &'a Sent,
    stored: Stored,
    checked: Checked,
    incoming: Incoming,
    source: String,
    plan: Plan,
}

impl<'a> Planned<'a> {
    /// Reads what is there and plans how it becomes what was sent.
    ///
    /// # Errors
    /// Those of the database.
    pub fn new(change: &mut Change<'_>, sent: &'a Sent, mode: Mode) -> Result<Self, Problem> {
        let (tenant, at) = (change.tenant(), change.at());
        let today = zones::club_date(change.conn, tenant, at)?;
        let stored = Stored::read(change)?;
        let mut checked = check::check(sent, today);
        checked.under_first_keys(&stored.other_keys);
        let known: BTreeSet<&str> = stored.external_ids().collect();
        let is_meant = |key: &str| !sent.only_if_known.contains(key) || known.contains(key);
        checked.people.retain(|person| is_meant(&person.key));
        let source = change.source().to_owned();
        let incoming = Incoming {
            mode,
            today,
            squads: checked.squads.clone(),
            people: checked.people.clone(),
            has_nameless: !checked.nameless.is_empty(),
        };
        let plan = roster::plan(&stored.current(&source), &incoming);
        Ok(Self {
            sent,
            stored,
            checked,
            incoming,
            source,
            plan,
        })
    }

    /// Whether it names everybody and more than a fifth of the members would leave.
    pub fn is_large_removal(&self) -> bool {
        self.incoming.mode == Mode::Full && self.plan.is_large_removal()
    }

    /// Whether it has rows of athletes and none of them can be taken.
    pub fn takes_nobody(&self) -> bool {
        !self.sent.athletes.is_empty() && !self.plan.takes_somebody()
    }

    /// Takes it over.
    ///
    /// # Errors
    /// Those of the database; what is wrong with rows is in the answer.
    pub fn apply(self, change: &mut Change<'_>, dry_run: bool) -> Result<RosterAnswer, Problem> {
        let applied = apply::apply(change, &self.stored, &self.plan)?;
        let copies = second_copies::propose(change, &self.plan, &applied, &self.stored)?;
        let terms = (&self.incoming, self.source, dry_run);
        Ok(answer::answer(
            self.sent,
            &self.checked,
            (&self.plan, &applied),
            copies,
            terms,
        ))
    }
}

/// Takes a roster over.
///
/// # Errors
/// 422 where more than a fifth would leave and nobody has confirmed it; what is wrong with rows is in the answer.
pub fn import(
    change: &mut Change<'_>,
    sent: &Sent,
    taking: Taking,
) -> Result<RosterAnswer, Problem> {
    let planned = Planned::new(change, sent, taking.mode)?;
    if planned.is_large_removal() && !taking.confirm_large_removal {
        let (leaving, members) = (planned.plan.leaving, planned.plan.members);
        let detail = format!(
            "{leaving} of {members} members would leave, which needs confirm_large_removal=true."
        );
        return Err(Problem::new(Code::LargeRemoval, detail));
    }
    planned.apply(change, taking.dry_run)
}
