//! What became of each row of a roster.

use std::collections::{BTreeMap, BTreeSet};

use plimsoll_domain::roster::{Fault, Field, Incoming, Outcome, Plan};
use serde::Serialize;
use utoipa::ToSchema;

use super::apply::Applied;
use super::check::{self, Checked, Problems};
use super::csv_rows;
use super::input::{AthleteRow, Numbered, Sent};
use crate::error::FieldProblem;
use crate::ids::{AthleteId, SecondCopyId, SquadId};

/// The answer of a roster import. The counts are of athletes' rows, and of athletes who were removed without one.
#[derive(Debug, Clone, Default, Serialize, ToSchema)]
#[schema(example = json!({
    "dry_run": false, "mode": "delta", "source": "club-app", "rows": 2, "created": 1, "changed": 0,
    "unchanged": 0, "removed": 0, "rejected": 1, "leaving_judged": false,
    "squads": [{"row": 1, "external_id": "u16-g", "outcome": "created",
        "squad_id": "0199a1b2-0000-7e4f-8a5b-6c7d8e9f0a1b"}],
    "athletes": [
        {"row": 1, "external_id": "P-07", "outcome": "created",
         "athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b"},
        {"row": 2, "external_id": "P-08", "outcome": "rejected", "athlete_id": null, "problems": [
            {"pointer": "/memberships/0/squad_external_id", "code": "unknown_squad",
             "detail": "No such squad in this club.", "given": "u61-g", "allowed": "a squad of the club, or of this roster"}]}],
    "second_copies": []}))]
pub struct RosterAnswer {
    /// Whether nothing was stored because the call was a trial.
    pub dry_run: bool,
    /// full or delta.
    #[schema(value_type = String)]
    pub mode: &'static str,
    /// The client whose roster it is: external ids are its keys.
    pub source: String,
    /// Athletes' rows read.
    pub rows: usize,
    /// Rows of athletes who are new.
    pub created: usize,
    /// Rows of athletes of whom something changed.
    pub changed: usize,
    /// Rows that said what was known.
    pub unchanged: usize,
    /// Athletes who left: their memberships ended, their history stays.
    pub removed: usize,
    /// Rows refused.
    pub rejected: usize,
    /// Whether who is not named was taken to have left: in a full roster of which every row tells whom it is about.
    pub leaving_judged: bool,
    /// One result a row about a squad, by row.
    pub squads: Vec<SquadResult>,
    /// One result a row about an athlete, by row; then those who left without one, by external id.
    pub athletes: Vec<AthleteResult>,
    /// New athletes who are perhaps the same person as another: the same birth date and a similar name. Nothing was merged;
    /// somebody who knows them decides.
    pub second_copies: Vec<SecondCopyAnswer>,
}

/// What became of one row about a squad.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct SquadResult {
    /// Its number, from 1.
    pub row: usize,
    /// The roster's own key, where it could be read.
    pub external_id: Option<String>,
    /// `created`, `changed`, `unchanged` or `rejected`.
    #[schema(value_type = String)]
    pub outcome: &'static str,
    /// The squad; in a trial the id of a new one is not kept.
    pub squad_id: Option<SquadId>,
    /// What is wrong with it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schema(required = false)]
    pub problems: Vec<FieldProblem>,
}

/// What became of one row about an athlete.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct AthleteResult {
    /// Its number, from 1; null for who left because a full roster does not name her.
    pub row: Option<usize>,
    /// The roster's own key, where it could be read.
    pub external_id: Option<String>,
    /// `created`, `changed`, `unchanged`, `removed` or `rejected`.
    #[schema(value_type = String)]
    pub outcome: &'static str,
    /// The athlete; in a trial the id of a new one is not kept.
    pub athlete_id: Option<AthleteId>,
    /// What changed: display_name, birth_date, joined_on, time_zone, memberships, guardians.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schema(value_type = Vec<String>, required = false)]
    pub fields: Vec<&'static str>,
    /// What is wrong with it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schema(required = false)]
    pub problems: Vec<FieldProblem>,
}

/// A new athlete, and who she may be.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct SecondCopyAnswer {
    /// The proposal, to be decided under `…/roster/second-copies/{second_copy_id}`; in a trial the id is not kept.
    pub second_copy_id: SecondCopyId,
    /// The new athlete; in a trial the id is not kept.
    pub athlete_id: AthleteId,
    /// Her external id.
    pub external_id: String,
    /// Who she may be.
    pub of_athlete_id: AthleteId,
    /// That one's external id.
    pub of_external_id: Option<String>,
}

fn code(outcome: &Outcome) -> &'static str {
    match outcome {
        Outcome::Created => "created",
        Outcome::Changed(_) => "changed",
        Outcome::Unchanged => "unchanged",
        Outcome::Removed => "removed",
        Outcome::Rejected(_) => "rejected",
    }
}

/// The answer for a roster that was taken over.
pub fn answer(
    sent: &Sent,
    checked: &Checked,
    (plan, applied): (&Plan, &Applied),
    second_copies: Vec<SecondCopyAnswer>,
    (incoming, source, dry_run): (&Incoming, String, bool),
) -> RosterAnswer {
    let athletes = athletes(sent, checked, plan, applied);
    let count = |outcome| athletes.iter().filter(|one| one.outcome == outcome).count();
    RosterAnswer {
        dry_run,
        mode: incoming.mode.code(),
        source,
        rows: athletes.iter().filter(|one| one.row.is_some()).count(),
        created: count("created"),
        changed: count("changed"),
        unchanged: count("unchanged"),
        removed: count("removed"),
        rejected: count("rejected"),
        leaving_judged: incoming.judges_leaving(),
        squads: squads(sent, checked, plan, applied),
        second_copies,
        athletes,
    }
}

fn athletes(sent: &Sent, checked: &Checked, plan: &Plan, applied: &Applied) -> Vec<AthleteResult> {
    let unnamed: BTreeSet<usize> = checked.nameless.iter().copied().collect();
    let unnamed = sent
        .athletes
        .iter()
        .filter(|one| unnamed.contains(&one.row));
    let mut results: Vec<AthleteResult> = unnamed.map(|one| nameless(one, checked)).collect();
    let rows = sent.athletes.iter();
    let rows = rows.filter_map(|one| Some((one.row, one.content.as_ref().ok()?)));
    let rows: BTreeMap<usize, &AthleteRow> = rows.collect();
    for (person, id) in plan.people.iter().zip(&applied.people) {
        let problems = problems(&person.outcome, &checked.of_athletes, |fault| {
            let problem = check::problem(fault, sent.form)?;
            let given = rows
                .get(&fault.row)
                .and_then(|row| check::given(fault, row));
            Some(FieldProblem { given, ..problem })
        });
        let fields = match &person.outcome {
            Outcome::Changed(fields) => fields.iter().map(|field: &Field| field.code()).collect(),
            _ => Vec::new(),
        };
        let result = |row| AthleteResult {
            row,
            external_id: Some(checked.key_sent(row).unwrap_or(&person.key).to_owned()),
            outcome: code(&person.outcome),
            athlete_id: *id,
            fields: fields.clone(),
            problems: row
                .and_then(|row| problems.get(&row).cloned())
                .unwrap_or_default(),
        };
        match person.rows.is_empty() {
            true => results.push(result(None)),
            false => results.extend(person.rows.iter().map(|row| result(Some(*row)))),
        }
    }
    // Who has no row comes last.
    results.sort_by_key(|result| result.row.unwrap_or(usize::MAX));
    results
}

fn nameless(one: &Numbered<AthleteRow>, checked: &Checked) -> AthleteResult {
    let content = one.content.as_ref().ok();
    AthleteResult {
        row: Some(one.row),
        external_id: content.and_then(|content| content.external_id.clone()),
        outcome: "rejected",
        athlete_id: None,
        fields: Vec::new(),
        problems: checked
            .of_athletes
            .get(&one.row)
            .cloned()
            .unwrap_or_default(),
    }
}

fn squads(sent: &Sent, checked: &Checked, plan: &Plan, applied: &Applied) -> Vec<SquadResult> {
    let mut results = Vec::new();
    for (squad, id) in plan.squads.iter().zip(&applied.squads) {
        let problems = problems(&squad.outcome, &checked.of_squads, |fault| {
            check::problem_of_squad(fault, sent.form)
        });
        results.extend(squad.rows.iter().map(|row| SquadResult {
            row: *row,
            external_id: Some(squad.key.clone()),
            outcome: code(&squad.outcome),
            squad_id: *id,
            problems: problems.get(row).cloned().unwrap_or_default(),
        }));
    }
    let planned: BTreeSet<usize> = results
        .iter()
        .map(|result: &SquadResult| result.row)
        .collect();
    let unreadable = checked
        .of_squads
        .iter()
        .filter(|(row, _)| !planned.contains(row));
    results.extend(unreadable.map(|(row, problems)| SquadResult {
        row: *row,
        external_id: None,
        outcome: "rejected",
        squad_id: None,
        problems: problems.clone(),
    }));
    results.sort_by_key(|result| result.row);
    results
}

/// What is wrong with the rows of somebody who is rejected: what could not be read, and what the plan refused.
fn problems(
    outcome: &Outcome,
    unread: &Problems,
    worded: impl Fn(&Fault) -> Option<FieldProblem>,
) -> Problems {
    let Outcome::Rejected(faults) = outcome else {
        return Problems::new();
    };
    let mut problems = Problems::new();
    for fault in faults {
        let of_row = problems
            .entry(fault.row)
            .or_insert_with(|| unread.get(&fault.row).cloned().unwrap_or_default());
        of_row.extend(worded(fault));
    }
    problems
}

/// The rejected rows of athletes as a file in our own columns, to be mended and sent again as a delta.
pub fn rejected_rows(sent: &Sent, answer: &RosterAnswer) -> Vec<u8> {
    let rows: BTreeMap<usize, Option<&AthleteRow>> = sent
        .athletes
        .iter()
        .map(|one| (one.row, one.content.as_ref().ok()))
        .collect();
    let mut file = csv_rows::header();
    let empty = AthleteRow::default();
    for result in answer
        .athletes
        .iter()
        .filter(|result| result.outcome == "rejected")
    {
        let Some(row) = result.row else { continue };
        let athlete = rows.get(&row).copied().flatten().unwrap_or(&empty);
        let codes: Vec<&str> = result
            .problems
            .iter()
            .map(|problem| problem.code.code())
            .collect();
        let details: Vec<String> = result
            .problems
            .iter()
            .map(|problem| format!("{}: {}", problem.pointer, problem.detail))
            .collect();
        let number = row.to_string();
        file.extend(csv_rows::lines(
            athlete,
            [&number, &codes.join(" "), &details.join(" ")],
        ));
    }
    file
}
