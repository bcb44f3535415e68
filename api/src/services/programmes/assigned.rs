//! What one athlete is to do: her programmes on their dates, with her changes, and what is not signed off.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use plimsoll_domain::IsoWeek;
use plimsoll_domain::programme::{Changes, Dated, Missing, dated, missing};
use serde::Serialize;
use utoipa::ToSchema;

use super::answer::{ProgrammeItem, ProgrammeSession};
use super::assignments::changes_of;
use super::input::weekday_name;
use super::{NOTE, ReadProgramme};
use crate::error::Problem;
use crate::ids::{AthleteId, ProgrammeAssignmentId, ProgrammeId};
use crate::services::exercises::ClubCatalogue;
use crate::services::sign_offs::SignOffs;
use crate::store::programme_assignments::{self, Assignment};
use crate::store::{Conn, Known, Tenant, memberships, programmes};
use crate::web::figures::CAUTION;

/// How marks are to be read.
const MARKS: &str = "What is marked as not signed off is not done until somebody who may has watched it. An item without the mark is \
    not cleared: a sign-off says what somebody saw. Limits that a clinician has set come first.";

/// What an athlete is to do in some dates.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "from": "2026-06-01", "to": "2026-06-07", "sessions": [
    {"date": "2026-06-02", "assignment_id": "0199a1b2-9e9e-7e4f-8a5b-6c7d8e9f0a1b",
     "programme_id": "0199a1b2-9d9d-7e4f-8a5b-6c7d8e9f0a1b", "programme_version": 1, "programme": "Summer at home",
     "week": 1, "day": "tuesday", "session": {"number": 1, "name": "Legs", "setting": "prescribed_home", "kind": "strength",
        "start": null, "minutes": 45, "intended_rpe": 5.0, "load_au": 225.0, "warm_up": null, "items": []}, "items": []}],
    "marks": "What is marked as not signed off is not done …", "note": "A programme is an intention: …",
    "caution": "These figures describe what was logged. …"}))]
pub struct AssignedAnswer {
    /// The athlete.
    pub athlete_id: AthleteId,
    /// First date.
    #[schema(value_type = String, format = Date)]
    pub from: Date,
    /// Last date.
    #[schema(value_type = String, format = Date)]
    pub to: Date,
    /// The sessions, by date.
    pub sessions: Vec<AssignedSession>,
    /// How marks are to be read.
    pub marks: &'static str,
    /// What a programme is not.
    pub note: &'static str,
    /// What the figures are, and are not.
    pub caution: &'static str,
}

/// A session that an athlete is to do.
#[derive(Debug, Serialize, ToSchema)]
pub struct AssignedSession {
    /// Its date.
    #[schema(value_type = String, format = Date)]
    pub date: Date,
    /// By which assignment.
    pub assignment_id: ProgrammeAssignmentId,
    /// Of which programme.
    pub programme_id: ProgrammeId,
    /// In which version.
    pub programme_version: i32,
    /// What that is called.
    pub programme: String,
    /// The number of the week in it.
    pub week: u8,
    /// monday to sunday.
    #[schema(value_type = String)]
    pub day: &'static str,
    /// The session; its items stand beside it.
    pub session: ProgrammeSession,
    /// Its items, with her changes.
    pub items: Vec<AssignedItem>,
}

/// An item that an athlete is to do.
#[derive(Debug, Serialize, ToSchema)]
pub struct AssignedItem {
    /// What the exercise is called.
    pub name: String,
    /// Whether it is other than in the programme.
    pub changed: bool,
    /// Exercises of which the sign-off that it needs is not there: while there are any it is not to be done.
    pub not_signed_off: Vec<String>,
    /// The step of the landings of which no exercise is signed off, where it is a jump that gets its load in the programme.
    #[schema(value_type = Option<String>)]
    pub step_not_signed_off: Option<&'static str>,
    /// Why it is not to be done yet, in a sentence; null where no sign-off is wanting.
    pub mark: Option<String>,
    /// How it is done; null where the exercise is in the catalogue no more.
    pub description: Option<String>,
    /// Whether repetitions are counted for both sides at once or for each: both or each.
    #[schema(value_type = Option<String>)]
    pub sides: Option<&'static str>,
    /// What to look out for.
    pub caution: Option<String>,
    /// The club's film of it.
    pub film_url: Option<String>,
    /// The item.
    pub item: ProgrammeItem,
}

/// A programme of an athlete with the dates that count for her.
pub(super) struct Mine {
    assignment: Assignment,
    read: ReadProgramme,
    changes: Changes,
}

/// What an athlete is to do in some dates: a query a table, whatever the number of programmes.
pub fn read(
    conn: &mut Conn,
    tenant: Tenant,
    athlete: AthleteId,
    (from, to): (Date, Date),
    known: Known,
) -> Result<AssignedAnswer, Problem> {
    let signed = SignOffs::read(conn, tenant, athlete, known)?;
    let progress = signed.progress();
    let mut sessions = Vec::new();
    for (date, mine, dated) in of_dates(conn, tenant, athlete, (from, to), known)?.sessions()? {
        let placed = dated.placed;
        let items = mine.changes.items(&placed).into_iter().map(|theirs| {
            let found = missing(
                theirs.item,
                &signed.catalogue.catalogue,
                progress.standing(),
            );
            let item = ProgrammeItem::of(theirs.place.item, theirs.item);
            AssignedItem::of((item, theirs.changed), &found, &signed.catalogue)
        });
        sessions.push(AssignedSession {
            date,
            assignment_id: mine.assignment.assignment_id,
            programme_id: mine.assignment.programme_id,
            programme_version: mine.assignment.programme_version,
            programme: mine.read.programme.name().to_owned(),
            week: placed.week,
            day: weekday_name(placed.weekday),
            session: ProgrammeSession::with(placed.number, placed.session, Vec::new()),
            items: items.collect::<Result<_, _>>()?,
        });
    }
    Ok(AssignedAnswer {
        athlete_id: athlete,
        from,
        to,
        sessions,
        marks: MARKS,
        note: NOTE,
        caution: CAUTION,
    })
}

impl AssignedItem {
    fn of(
        (item, changed): (ProgrammeItem, bool),
        missing: &Missing,
        catalogue: &ClubCatalogue,
    ) -> Result<Self, Problem> {
        let code = plimsoll_domain::exercises::ExerciseCode::parse(&item.exercise).ok();
        let exercise = code.and_then(|code| catalogue.find(&code).ok());
        Ok(Self {
            name: catalogue.name(&item.exercise)?,
            changed,
            not_signed_off: missing.exercises.iter().map(ToString::to_string).collect(),
            step_not_signed_off: missing.step.map(|step| step.code()),
            mark: mark(missing, catalogue)?,
            description: exercise.as_ref().map(|one| one.description.clone()),
            sides: exercise.as_ref().map(|one| one.sides),
            caution: exercise.as_ref().and_then(|one| one.caution.clone()),
            film_url: exercise.and_then(|one| one.film_url),
            item,
        })
    }
}

/// Says which sign-offs are wanting.
fn mark(missing: &Missing, catalogue: &ClubCatalogue) -> Result<Option<String>, Problem> {
    let names = missing.exercises.iter();
    let names = names.map(|code| catalogue.name(code.as_str()));
    let mut wanting = names.collect::<Result<Vec<_>, _>>()?;
    let step = missing.step.map(|step| step.code().replace('_', " "));
    wanting.extend(step.map(|step| format!("any exercise that lands on {step}")));
    Ok(match wanting.is_empty() {
        true => None,
        false => Some(format!(
            "Not to be done yet, since this is not signed off: {}.",
            wanting.join(", ")
        )),
    })
}

/// The programmes of an athlete that have a day in some dates.
pub(super) struct OfDates {
    mine: Vec<Mine>,
    member: Vec<memberships::Membership>,
    dates: (Date, Date),
}

/// Reads them.
pub(super) fn of_dates(
    conn: &mut Conn,
    tenant: Tenant,
    athlete: AthleteId,
    dates: (Date, Date),
    known: Known,
) -> Result<OfDates, Problem> {
    let member = memberships::of_athletes(conn, tenant, &[athlete], known)?;
    let member: Vec<_> = member.into_iter().map(|(one, _)| one.content).collect();
    let squads: BTreeSet<_> = member.iter().map(|one| one.squad_id).collect();
    let squads: Vec<_> = squads.into_iter().collect();
    let found = programme_assignments::of_athlete(conn, tenant, (athlete, &squads), dates, known)?;
    let asked = found
        .iter()
        .map(|one| (one.content.programme_id, one.content.programme_version));
    let asked: BTreeSet<_> = asked.collect();
    let asked: Vec<_> = asked.into_iter().collect();
    let read = programmes::in_versions(conn, tenant, &asked)?.into_iter();
    let read: Vec<ReadProgramme> = read.map(ReadProgramme::of).collect::<Result<_, _>>()?;
    let of = |assignment: Assignment| {
        let key = (assignment.programme_id, assignment.programme_version);
        let read = read
            .iter()
            .find(|read| (read.id, read.version.number) == key)?;
        let changes = changes_of(&assignment, &read.programme);
        Some(changes.map(|changes| Mine {
            assignment,
            read: read.clone(),
            changes,
        }))
    };
    let mine = found.into_iter().filter_map(|one| of(one.content));
    Ok(OfDates {
        mine: mine.collect::<Result<_, Problem>>()?,
        member,
        dates,
    })
}

impl OfDates {
    /// The sessions that count, by date: on each date a programme counts once, by the athlete's own assignment, else by the one that
    /// began last of those of the squads she is in then.
    pub(super) fn sessions(&self) -> Result<Vec<(Date, &Mine, Dated<'_>)>, Problem> {
        let mut chosen: BTreeMap<(Date, ProgrammeId), (bool, Date, usize)> = BTreeMap::new();
        let mut all = Vec::new();
        for (place, mine) in self.mine.iter().enumerate() {
            let first = IsoWeek::of(mine.assignment.from_date);
            let first = first.map_err(|error| Problem::internal(&error))?;
            let own = mine.assignment.athlete_id.is_some();
            for date in self.dates_of(mine) {
                let rank = (own, mine.assignment.from_date, place);
                let best = chosen
                    .entry((date, mine.assignment.programme_id))
                    .or_insert(rank);
                *best = rank.max(*best);
            }
            let sessions = dated(&mine.read.programme, first);
            all.extend(sessions.map(|dated| (dated.date, place, dated)));
        }
        let counts = |(date, place, _): &(Date, usize, Dated<'_>)| {
            let programme = self.mine[*place].assignment.programme_id;
            let best = chosen.get(&(*date, programme));
            best.is_some_and(|(_, _, best)| best == place)
        };
        all.retain(counts);
        all.sort_by_key(|(date, place, dated)| (*date, *place, dated.placed.number));
        Ok(all
            .into_iter()
            .map(|(date, place, dated)| (date, &self.mine[place], dated))
            .collect())
    }

    /// The dates asked for on which an assignment is hers.
    fn dates_of<'a>(&'a self, mine: &'a Mine) -> impl Iterator<Item = Date> + 'a {
        let first = self.dates.0.max(mine.assignment.from_date);
        let last = self.dates.1.min(mine.assignment.until_date);
        let dates = first.series(jiff::Span::new().days(1));
        let dates = dates.take_while(move |date| *date <= last);
        dates.filter(|date| match mine.assignment.squad_id {
            None => true,
            Some(squad) => self.member.iter().any(|member| {
                let goes_on = member.to_date.is_none_or(|to| *date <= to);
                member.squad_id == squad && member.from_date <= *date && goes_on
            }),
        })
    }
}
