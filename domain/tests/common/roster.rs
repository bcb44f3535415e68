//! Rosters written briefly, and what carrying out a plan makes of one.

use jiff::civil::{Date, date};
use plimsoll_domain::roster::{
    Current, Dated, Details, Incoming, KnownPerson, KnownSquad, Link, LinkChange, MembershipRole,
    Mode, Outcome, PersonRow, Plan, SquadRow, Terms,
};

pub const TODAY: Date = date(2026, 11, 9);
pub const MEMBER: Terms = Terms {
    role: MembershipRole::Member,
    primary: false,
};
pub const MAIN: Terms = Terms {
    role: MembershipRole::Member,
    primary: true,
};

pub fn squad_row(row: usize, key: &str, name: &str) -> SquadRow {
    SquadRow {
        row,
        key: key.to_owned(),
        is_readable: true,
        name: Some(name.to_owned()),
    }
}

pub fn row(row: usize, key: &str, name: &str) -> PersonRow {
    PersonRow {
        row,
        key: key.to_owned(),
        is_readable: true,
        details: Details {
            name: Some(name.to_owned()),
            ..Details::default()
        },
        memberships: Vec::new(),
        guardians: Vec::new(),
    }
}

pub fn link<T>(key: &str, from: Option<Date>, to: Option<Date>, terms: T) -> Link<T> {
    Link {
        key: key.to_owned(),
        from,
        to,
        is_over: false,
        terms,
    }
}

pub fn dated<T>(key: &str, from: Date, to: Option<Date>, terms: T) -> Dated<T> {
    Dated {
        key: Some(key.to_owned()),
        from,
        to,
        terms,
    }
}

/// A member of the squad since the beginning of 2026.
pub fn known(key: &str, name: &str, squad: &str) -> KnownPerson {
    KnownPerson {
        key: Some(key.to_owned()),
        is_own: true,
        name: name.to_owned(),
        birth_date: None,
        joined_on: date(2026, 1, 1),
        time_zone: None,
        memberships: vec![dated(squad, date(2026, 1, 1), None, MEMBER)],
        guardians: Vec::new(),
    }
}

pub fn roster(squads: &[&str], people: Vec<KnownPerson>) -> Current {
    let squads = squads.iter().map(|key| KnownSquad {
        key: (*key).to_owned(),
        name: format!("Squad {key}"),
    });
    Current {
        squads: squads.collect(),
        people,
    }
}

pub fn incoming(mode: Mode, people: Vec<PersonRow>) -> Incoming {
    Incoming {
        mode,
        today: TODAY,
        squads: Vec::new(),
        people,
        has_nameless: false,
    }
}

/// The roster once the plan was carried out.
pub fn carried_out(current: &Current, plan: &Plan) -> Current {
    let mut after = current.clone();
    for squad in plan.squads.iter().filter(|squad| !squad.is_rejected()) {
        let made = KnownSquad {
            key: squad.key.clone(),
            name: squad.name.clone(),
        };
        match squad.known {
            Some(at) => after.squads[at] = made,
            None => after.squads.push(made),
        }
    }
    for person in &plan.people {
        match (&person.outcome, person.known) {
            (Outcome::Rejected(_), _) => {}
            (_, None) => after.people.push(KnownPerson {
                key: Some(person.key.clone()),
                is_own: true,
                name: person.name().to_owned(),
                birth_date: person.details.birth_date,
                joined_on: person.details.joined_on.unwrap(),
                time_zone: person.details.time_zone.clone(),
                memberships: linked(&[], &person.memberships),
                guardians: linked(&[], &person.guardians),
            }),
            (_, Some(at)) => {
                let one = &mut after.people[at];
                one.name = person.name().to_owned();
                one.birth_date = person.details.birth_date;
                one.joined_on = person.details.joined_on.unwrap();
                one.time_zone.clone_from(&person.details.time_zone);
                one.memberships = linked(&one.memberships, &person.memberships);
                one.guardians = linked(&one.guardians, &person.guardians);
            }
        }
    }
    after
}

fn linked<T: Clone>(before: &[Dated<T>], changes: &[LinkChange<T>]) -> Vec<Dated<T>> {
    let mut links: Vec<Option<Dated<T>>> = before.iter().cloned().map(Some).collect();
    for change in changes {
        match change {
            LinkChange::Begin(link) => links.push(Some(link.clone())),
            LinkChange::Change { known, to } => links[*known] = Some(to.clone()),
            LinkChange::Withdraw { known } => links[*known] = None,
        }
    }
    links.into_iter().flatten().collect()
}
