//! Students, classes and enrolments as athletes, squads and memberships.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Span;
use plimsoll_domain::roster::{Mode, Status};

use super::package::{Enrolment, Package, User};
use crate::services::roster::input::{
    AthleteRow, Form, GuardianRow, MembershipRow, Numbered, Sent, SquadRow,
};

/// The roster of a package. Rows are numbered by the lines of classes and of users; who is a student without a line of users comes
/// after them.
pub fn sent(package: &Package, mode: Mode) -> Sent {
    let squads = package
        .classes
        .iter()
        .filter(|class| !class.is_gone)
        .map(|class| Numbered {
            row: number(class.line),
            content: Ok(SquadRow {
                external_id: Some(class.id.clone()),
                name: Some(class.title.clone()),
            }),
        });
    let mut memberships: BTreeMap<&str, Vec<MembershipRow>> = BTreeMap::new();
    for enrolment in &package.enrolments {
        memberships
            .entry(&enrolment.user)
            .or_default()
            .push(membership(enrolment));
    }
    let users: BTreeMap<&str, &User> = package
        .users
        .iter()
        .map(|user| (user.id.as_str(), user))
        .collect();
    let students: BTreeSet<&str> = package
        .students
        .keys()
        .map(String::as_str)
        .chain(memberships.keys().copied())
        .collect();
    // A delta may change the name of a student whose role it does not repeat.
    let perhaps: BTreeSet<&str> = match mode {
        Mode::Full => BTreeSet::new(),
        Mode::Delta => users
            .keys()
            .chain(
                &package
                    .birth_dates
                    .keys()
                    .map(String::as_str)
                    .collect::<Vec<_>>(),
            )
            .copied()
            .filter(|id| !students.contains(id) && !package.guardians.contains_key(*id))
            .collect(),
    };
    let last = package
        .users
        .iter()
        .map(|user| number(user.line))
        .max()
        .unwrap_or(1);
    let mut beyond = last + 1..;
    let athletes = students.iter().chain(&perhaps).map(|id| {
        let user = users.get(id).copied();
        let row = user
            .map(|user| number(user.line))
            .or_else(|| beyond.next())
            .unwrap_or(last);
        let of_squads = memberships.get(id).map(Vec::as_slice).unwrap_or_default();
        Numbered {
            row,
            content: Ok(athlete(package, id, user, of_squads, mode)),
        }
    });
    let athletes = athletes.collect();
    let is_over = |id: &str| {
        let mut of_squads = memberships.get(id).into_iter().flatten();
        of_squads.all(|one| one.is_over)
    };
    let no_more = package.students.iter();
    let no_more = no_more.filter(|(id, still)| !**still && is_over(id));
    let no_more = no_more.map(|(id, _)| id.as_str());
    let only_if_known = perhaps.iter().copied().chain(no_more);
    let only_if_known = only_if_known.map(str::to_owned).collect();
    Sent {
        form: Form::Nested,
        squads: squads.collect(),
        athletes,
        only_if_known,
    }
}

fn number(line: u64) -> usize {
    usize::try_from(line).unwrap_or(usize::MAX)
}

fn membership(enrolment: &Enrolment) -> MembershipRow {
    let last = enrolment
        .end
        .map(|end| end.saturating_sub(Span::new().days(1)));
    MembershipRow {
        squad_external_id: Some(enrolment.class.clone()),
        from: enrolment.from.map(|date| date.to_string()),
        to: last.map(|date| date.to_string()),
        is_over: enrolment.is_gone,
        ..MembershipRow::default()
    }
}

fn athlete(
    package: &Package,
    id: &str,
    user: Option<&User>,
    memberships: &[MembershipRow],
    mode: Mode,
) -> AthleteRow {
    // A role that is gone may be one of two; where she belongs is for her enrolments to say.
    let gone = user.is_some_and(|user| user.is_gone);
    let guardians = user.map(|user| {
        let is_guardian = |agent: &&String| {
            package
                .guardians
                .get(*agent)
                .copied()
                .unwrap_or(mode == Mode::Delta)
        };
        let agents = user.agents.iter().filter(is_guardian);
        agents
            .map(|agent| GuardianRow {
                external_id: Some(agent.clone()),
                ..GuardianRow::default()
            })
            .collect()
    });
    AthleteRow {
        external_id: Some(id.to_owned()),
        display_name: user.map(|user| user.name.clone()),
        birth_date: package.birth_dates.get(id).map(|date| date.to_string()),
        status: gone.then(|| Status::Left.code().to_owned()),
        memberships: (!gone).then(|| memberships.to_vec()),
        guardians,
        ..AthleteRow::default()
    }
}
