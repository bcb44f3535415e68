//! What was planned, stored: a batch a table, then the days that it reaches.

use std::collections::BTreeMap;

use plimsoll_domain::roster::{
    Dated, Details, LinkChange, Outcome, PersonPlan, Plan, SquadPlan, Terms,
};

use super::current::Stored;
use crate::error::Problem;
use crate::ids::{AthleteId, SquadId};
use crate::services::sessions::recount::recount;
use crate::services::write::Change;
use crate::services::{flags, schedule};
use crate::store::athletes::{self, Athlete};
use crate::store::guardian_links::{self, GuardianLink};
use crate::store::memberships::{self, Membership};
use crate::store::squads::{self, SquadContent};
use crate::store::{self, DaySet, NameKey, Versioned};

/// The ids of those in the plan, by place in it; `None` for who is rejected.
#[derive(Debug)]
pub struct Applied {
    /// Of squads.
    pub squads: Vec<Option<SquadId>>,
    /// Of people.
    pub people: Vec<Option<AthleteId>>,
}

/// New rows, and next versions of old ones.
#[derive(Debug)]
struct Rows<T> {
    new: Vec<T>,
    next: Vec<store::Change<T>>,
}

impl<T> Default for Rows<T> {
    fn default() -> Self {
        Self {
            new: Vec::new(),
            next: Vec::new(),
        }
    }
}

/// Stores what was planned.
pub fn apply(change: &mut Change<'_>, stored: &Stored, plan: &Plan) -> Result<Applied, Problem> {
    let squad_ids = apply_squads(change, stored, &plan.squads)?;
    let known = stored
        .squads
        .iter()
        .filter_map(|squad| Some((stored.squad_key(squad)?, squad.squad_id)));
    let made = plan
        .squads
        .iter()
        .zip(&squad_ids)
        .filter_map(|(squad, id)| Some((squad.key.clone(), (*id)?)));
    let squads: BTreeMap<String, SquadId> = known.chain(made).collect();
    let source = change.source().to_owned();
    let mut athletes = Rows::<Athlete>::default();
    let mut memberships = Rows::<Membership>::default();
    let mut guardians = Rows::<GuardianLink>::default();
    let mut ids = Vec::with_capacity(plan.people.len());
    for person in &plan.people {
        if person.is_rejected() {
            ids.push(None);
            continue;
        }
        let before = person.known.map(|at| &stored.athletes[at]);
        let athlete_id = before.map_or_else(|| change.new_id(), |before| before.content.athlete_id);
        ids.push(Some(athlete_id));
        add_athlete(&mut athletes, athlete_id, before, person, &source)?;
        let known = stored
            .memberships
            .get(&athlete_id)
            .map_or(&[][..], Vec::as_slice);
        add_links(
            &mut memberships,
            change,
            known,
            &person.memberships,
            |change, before, link| membership(change, before, link, athlete_id, &squads),
        )?;
        let known = stored
            .guardians
            .get(&athlete_id)
            .map_or(&[][..], Vec::as_slice);
        add_links(
            &mut guardians,
            change,
            known,
            &person.guardians,
            |change, before, link| guardian(change, before, link, athlete_id),
        )?;
    }
    change.store_with(|conn, tenant, moment, author| {
        athletes::insert(conn, tenant, moment, author, &athletes.new)?;
        athletes::supersede(conn, tenant, moment, author, &athletes.next)?;
        memberships::supersede(conn, tenant, moment, author, &memberships.next)?;
        memberships::insert(conn, tenant, moment, author, &memberships.new)?;
        guardian_links::supersede(conn, tenant, moment, author, &guardians.next)?;
        guardian_links::insert(conn, tenant, moment, author, &guardians.new)
    })?;
    follow(change, stored, &athletes, &memberships)?;
    Ok(Applied {
        squads: squad_ids,
        people: ids,
    })
}

fn apply_squads(
    change: &mut Change<'_>,
    stored: &Stored,
    plans: &[SquadPlan],
) -> Result<Vec<Option<SquadId>>, Problem> {
    let (mut new, mut renamed, mut ids) = (Vec::new(), Vec::new(), Vec::with_capacity(plans.len()));
    for plan in plans {
        let known = plan.known.map(|at| &stored.squads[at]);
        let squad_id = match (&plan.outcome, known) {
            (Outcome::Rejected(_), known) => known.map(|squad| squad.squad_id),
            (Outcome::Changed(_), Some(known)) => {
                renamed.push(squads::Squad {
                    name: plan.name.clone(),
                    ..known.clone()
                });
                Some(known.squad_id)
            }
            (_, Some(known)) => Some(known.squad_id),
            (_, None) => {
                let squad_id = change.new_id();
                let external_id = Some(plan.key.clone());
                new.push(SquadContent {
                    squad_id,
                    name: plan.name.clone(),
                    external_id,
                });
                Some(squad_id)
            }
        };
        ids.push(squad_id);
    }
    change.store_with(|conn, tenant, moment, _| {
        squads::insert(conn, tenant, moment, &new)?;
        squads::rename(conn, tenant, moment, &renamed)
    })?;
    Ok(ids)
}

fn add_athlete(
    rows: &mut Rows<Athlete>,
    athlete_id: AthleteId,
    before: Option<&Versioned<Athlete>>,
    person: &PersonPlan,
    source: &str,
) -> Result<(), Problem> {
    let Details {
        name,
        birth_date,
        joined_on,
        time_zone,
        ..
    } = person.details.clone();
    let joined_on =
        joined_on.ok_or_else(|| Problem::internal(&"a planned athlete has no first day"))?;
    let display_name = name.ok_or_else(|| Problem::internal(&"a planned athlete has no name"))?;
    // Who is known keeps key and source, which are what a roster knows her by.
    let (external_id, source) = match before {
        None => (Some(person.key.clone()), source.to_owned()),
        Some(before) => (
            before.content.external_id.clone(),
            before.content.source.clone(),
        ),
    };
    let athlete = Athlete {
        athlete_id,
        external_id,
        source,
        name_key: NameKey::of(&display_name),
        display_name,
        birth_date,
        joined_on,
        time_zone,
    };
    match before {
        None => rows.new.push(athlete),
        Some(before) if before.content != athlete => {
            rows.next.push(store::Change {
                replaces: before.version.number,
                content: athlete,
                deleted: false,
            });
        }
        Some(_) => {}
    }
    Ok(())
}

/// Adds the rows of one athlete's links; `row` makes one of a link, of the known one where there is one.
fn add_links<T: Clone, D>(
    rows: &mut Rows<T>,
    change: &Change<'_>,
    known: &[Versioned<T>],
    changes: &[LinkChange<D>],
    row: impl Fn(&Change<'_>, Option<&T>, &Dated<D>) -> Option<T>,
) -> Result<(), Problem> {
    let lost = || Problem::internal(&"a planned link names nothing that is there");
    for planned in changes {
        match planned {
            LinkChange::Begin(link) => rows.new.push(row(change, None, link).ok_or_else(lost)?),
            LinkChange::Change { known: at, to } => {
                let before = known.get(*at).ok_or_else(lost)?;
                let content = row(change, Some(&before.content), to).ok_or_else(lost)?;
                rows.next.push(store::Change {
                    replaces: before.version.number,
                    content,
                    deleted: false,
                });
            }
            LinkChange::Withdraw { known: at } => {
                rows.next.push(store::Change::tombstone(
                    known.get(*at).ok_or_else(lost)?.clone(),
                ));
            }
        }
    }
    Ok(())
}

fn membership(
    change: &Change<'_>,
    before: Option<&Membership>,
    link: &Dated<Terms>,
    athlete_id: AthleteId,
    squads: &BTreeMap<String, SquadId>,
) -> Option<Membership> {
    let squad_id = match before {
        Some(before) => before.squad_id,
        None => *squads.get(link.key.as_deref()?)?,
    };
    Some(Membership {
        membership_id: before.map_or_else(|| change.new_id(), |before| before.membership_id),
        squad_id,
        athlete_id,
        role: link.terms.role,
        from_date: link.from,
        to_date: link.to,
        is_primary: link.terms.primary,
    })
}

fn guardian(
    change: &Change<'_>,
    before: Option<&GuardianLink>,
    link: &Dated<()>,
    athlete_id: AthleteId,
) -> Option<GuardianLink> {
    Some(GuardianLink {
        guardian_link_id: before.map_or_else(|| change.new_id(), |before| before.guardian_link_id),
        athlete_id,
        external_id: link.key.clone()?,
        from_date: link.from,
        to_date: link.to,
    })
}

/// What is expected of whom on the days that changed, and the flags of closed weeks that they reach.
fn follow(
    change: &mut Change<'_>,
    stored: &Stored,
    athletes: &Rows<Athlete>,
    memberships: &Rows<Membership>,
) -> Result<(), Problem> {
    let before: BTreeMap<_, &Membership> = stored
        .memberships
        .values()
        .flatten()
        .map(|one| (one.content.membership_id, &one.content))
        .collect();
    let begun = memberships.new.iter().map(|after| (None, Some(after)));
    let changed = memberships.next.iter().map(|next| {
        let after = (!next.deleted).then_some(&next.content);
        (before.get(&next.content.membership_id).copied(), after)
    });
    let mut touched =
        schedule::days_of_memberships(change, &begun.chain(changed).collect::<Vec<_>>())?;
    recount(change, &touched)?;
    let first_days: BTreeMap<_, _> = stored
        .athletes
        .iter()
        .map(|one| (one.content.athlete_id, one.content.joined_on))
        .collect();
    moved(athletes, &first_days)
        .iter()
        .for_each(|(athlete, date)| touched.add(athlete, date));
    flags::rejudge(change, &touched)
}

/// The first days that are others now, as they were and as they are.
fn moved(athletes: &Rows<Athlete>, before: &BTreeMap<AthleteId, jiff::civil::Date>) -> DaySet {
    let moved = athletes
        .next
        .iter()
        .map(|next| &next.content)
        .filter_map(|athlete| {
            let first = *before.get(&athlete.athlete_id)?;
            let days = [
                (athlete.athlete_id, first),
                (athlete.athlete_id, athlete.joined_on),
            ];
            (first != athlete.joined_on).then_some(days)
        });
    moved.flatten().collect()
}
