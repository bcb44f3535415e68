//! One batch of checked reports, stored and counted: the way of every report, single or bulk.

use crate::error::{Code, FieldProblem, Problem};
use crate::services::flags;
use crate::services::people::People;
use crate::services::schedule::standing::ReportStanding;
use crate::services::write::Change;
use crate::store::DaySet;

use super::capacity::Capacity;
use super::draft::{Draft, Entry};
use super::record::{Outcome, Recorded, Recorder, Target};
use super::recount::recount;
use super::warnings::DeclaredDays;

/// One report after the batch, with all that is odd about it.
#[derive(Debug, Clone)]
pub struct Applied {
    /// What was stored.
    pub recorded: Recorded,
    /// How it stands beside the plan and other reports, where it or a neighbour changed.
    pub standing: Option<ReportStanding>,
    /// What is odd about it.
    pub warnings: Vec<Code>,
}

/// Stores the drafts of a source in their order. Each comes back stored or with what is wrong beside
/// its fields; totals and flags follow in the same transaction. With a target the only draft is
/// stored under that id.
pub fn apply(
    change: &mut Change<'_>,
    people: &People,
    entry: Entry,
    source: String,
    drafts: &[Draft],
    target: Option<Target>,
) -> Result<Vec<Result<Applied, FieldProblem>>, Problem> {
    let tenant = change.tenant();
    let mut capacity = Capacity::read(change.conn, tenant, drafts.iter())?;
    let mut recorder = Recorder::new(change, source, entry, drafts.iter())?;
    if let (Some(target), [only]) = (target, drafts)
        && let Err(taken) = recorder.pin(only, target)
    {
        return Ok(vec![Err(taken)]);
    }
    let mut touched = DaySet::default();
    let mut recorded = Vec::with_capacity(drafts.len());
    for draft in drafts {
        let room = capacity.check(draft, recorder.replaced_by(draft));
        let outcome = match room {
            Ok(()) => recorder.take(draft)?,
            Err(full) => Err(full),
        };
        if let Ok(taken) = &outcome
            && taken.outcome == Outcome::Accepted
        {
            capacity.take(draft, taken.before.as_ref());
            for session in taken.before.iter().chain([&taken.session]) {
                touched.add(session.athlete_id, session.load_date);
            }
        }
        recorded.push(outcome);
    }
    recorder.flush()?;
    let mut standings = recount(change, &touched)?;
    let declared = DeclaredDays::read(change.conn, tenant, drafts)?;
    flags::rejudge(change, &touched)?;
    let mut warned = |(draft, outcome): (&Draft, Result<Recorded, FieldProblem>)| {
        outcome.map(|recorded| {
            let mut warnings = draft.warnings();
            let standing = standings.remove(&recorded.session.session_id);
            warnings.extend(standing.iter().flat_map(|one| one.warnings.iter().copied()));
            if people
                .joined_on(draft.athlete_id)
                .is_some_and(|joined| draft.start.date < joined)
            {
                warnings.push(Code::BeforeJoining);
            }
            if declared.include(draft.athlete_id, draft.start.date) {
                warnings.push(Code::DuringRestOrAbsence);
            }
            Applied {
                recorded,
                standing,
                warnings,
            }
        })
    };
    Ok(drafts.iter().zip(recorded).map(&mut warned).collect())
}
