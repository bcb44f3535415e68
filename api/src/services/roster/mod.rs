//! Rosters: read, held against the roster that is there, and taken over in one transaction.

pub mod answer;
mod apply;
mod check;
pub mod csv_rows;
mod current;
pub mod input;
pub mod oneroster;
pub mod sources;

use std::collections::BTreeSet;

use plimsoll_domain::roster::{self, Incoming, Mode};

use crate::error::{Code, Problem};
use crate::services::write::Change;
use crate::services::zones;
use answer::RosterAnswer;
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

/// Takes a roster over.
///
/// # Errors
/// 422 where more than a fifth would leave and nobody has confirmed it; what is wrong with rows is in the answer.
pub fn import(
    change: &mut Change<'_>,
    sent: &Sent,
    taking: Taking,
) -> Result<RosterAnswer, Problem> {
    let (tenant, at) = (change.tenant(), change.at());
    let today = zones::club_date(change.conn, tenant, at)?;
    let stored = Stored::read(change)?;
    let mut checked = check::check(sent, today);
    let known: BTreeSet<&str> = stored.external_ids().collect();
    let is_meant = |key: &str| !sent.only_if_known.contains(key) || known.contains(key);
    checked.people.retain(|person| is_meant(&person.key));
    let source = change.source().to_owned();
    let incoming = Incoming {
        mode: taking.mode,
        today,
        squads: checked.squads.clone(),
        people: checked.people.clone(),
        has_nameless: !checked.nameless.is_empty(),
    };
    let plan = roster::plan(&stored.current(&source), &incoming);
    if plan.is_large_removal() && taking.mode == Mode::Full && !taking.confirm_large_removal {
        let (leaving, members) = (plan.leaving, plan.members);
        let detail = format!(
            "{leaving} of {members} members would leave, which needs confirm_large_removal=true."
        );
        return Err(Problem::new(Code::LargeRemoval, detail));
    }
    let applied = apply::apply(change, &stored, &plan)?;
    let terms = (&incoming, source, taking.dry_run);
    Ok(answer::answer(
        sent,
        &checked,
        (&plan, &applied),
        &stored,
        terms,
    ))
}
