//! An invented club with something to find: for a first look, for trials, for the README's tour.
//!
//! An amateur handball club with three girls' squads and 26 whole weeks of sessions, ending with the
//! last complete ISO week before today. Names, codes and figures are made up; the same seed and date
//! give the same club. Sessions go in through the same code as the bulk calls of the service.

mod clinic;
mod next_week;
mod people;
mod plan;
mod programme;
mod season;
mod story;
#[cfg(test)]
mod tests;
mod tokens;

use std::collections::BTreeMap;

use jiff::Span;
use jiff::civil::Date;
use plimsoll_domain::{GivenBy, IsoWeek};

use crate::app::App;
use crate::auth::tenant::Caller;
use crate::config::MailApproval;
use crate::delivery::guard::Reach;
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId, SquadId};
use crate::services::events::{self, EventInput};
use crate::services::notice_endpoints::{self, NoticeEndpointInput, Ways};
use crate::services::policy::body::PolicyBody;
use crate::services::sessions::{SessionInput, bulk};
use crate::services::weekly_close;
use crate::services::write::{self, Change};
use crate::store::absences::{self, Absence};
use crate::store::athletes::{self, Athlete};
use crate::store::memberships::{self, Membership};
use crate::store::notices::endpoints::Endpoint;
use crate::store::policies::{self, NewPolicy};
use crate::store::rest_days::{self, RestDay};
use crate::store::squads::{self, SquadContent};
use crate::store::{MembershipRole, NameKey, Tenant, clubs};

use people::Person;
use season::{Away, Season};
use story::Story;
pub use tokens::token;

/// Weeks of sessions.
const WEEKS: i64 = 26;
/// Weeks closed, so that flags have a history: all that have the 28 days before them which a ratio
/// needs.
const CLOSED: i64 = WEEKS - 3;
/// Weeks behind whose schedule the club's app has sent: the last one and the three that its figures
/// look at. The week after is planned too.
const SCHEDULED: i64 = 4;
/// Sessions stored in one transaction.
const BATCH: usize = 2_000;
/// Who would get the weekly mail (RFC 2606: an address that is nobody's).
const COACH: &str = "coach@havneby.example";
/// The club's home zone.
pub const ZONE: &str = "Europe/Copenhagen";

/// The club that was made.
#[derive(Debug)]
pub struct DemoClub {
    /// Its id.
    pub club_id: ClubId,
    /// Its name.
    pub name: &'static str,
    /// The squads with their names, youngest first.
    pub squads: Vec<(SquadId, String)>,
    /// The athletes by the club's code.
    pub athletes: BTreeMap<String, AthleteId>,
    /// The athlete whose week only the whole picture explains: squad, id, name.
    pub example: (SquadId, AthleteId, &'static str),
    /// The last complete week.
    pub week: IsoWeek,
}

/// Makes the club as it stands on `today`, with the first `CLOSED` weeks before it closed.
pub async fn build(app: &App, today: Date, seed: u64) -> Result<DemoClub, Problem> {
    let week = last_complete_week(today)?;
    let people = people::all(week);
    let season = Season::of(&people, week, seed);
    let returned = people.iter().find(|person| person.story == Story::Return);
    let returned = returned.map(|person| person.code.clone());
    let tenant = Tenant::granted(app.ids.next(app.clock.now()).into());
    let now = app.clock.now();
    app.store
        .write(tenant, move |conn| {
            clubs::insert(conn, tenant, people::CLUB, ZONE, now)
        })
        .await?;
    // The club's own app, as it would send sessions.
    let caller = Caller::system(tenant, "club-app", now);
    let (rest, absent) = (season.rest_days, season.absences);
    let club = write::job(app, caller.clone(), move |change| {
        let mut club = add_people(change, &people, week)?;
        add_days_off(change, &club.athletes, &rest, &absent)?;
        add_policy(change, week)?;
        club.club_id = tenant.club_id();
        Ok(club)
    })
    .await?;
    for batch in season.sessions.chunks(BATCH) {
        report(app, caller.clone(), batch.to_vec()).await?;
    }
    // The schedule comes after the reports, as from an app that was connected later.
    let held = season.events.iter();
    let held = held.map(|event| event.event(&club.athletes)).collect();
    plan(app, caller.clone(), held).await?;
    plan(app, caller, next_week::planned(week, &club.squads)).await?;
    for back in (0..CLOSED).rev() {
        let earlier = i32::try_from(-back).ok().and_then(|weeks| week.plus(weeks));
        weekly_close::close(app, tenant, earlier.unwrap_or(week)).await?;
    }
    if let Some(athlete) = returned.and_then(|code| club.athletes.get(&code).copied()) {
        let trainer = Caller::system(tenant, "athletic-trainer", now);
        write::job(app, trainer, move |change| {
            clinic::enter(change, athlete, week)
        })
        .await?;
    }
    let (squad, athlete, _) = club.example;
    programme::enter(app, tenant, (squad, athlete), week).await?;
    Ok(club)
}

/// Somebody to whom a link to a list can be signed. Named once the weeks are closed: no notice waits
/// for an address that is nobody's.
pub async fn recipient(app: &App, club: &DemoClub) -> Result<Endpoint, Problem> {
    let tenant = Tenant::granted(club.club_id);
    let caller = Caller::system(tenant, "club-app", app.clock.now());
    write::job(app, caller, |change| {
        let input = NoticeEndpointInput {
            channel: Some("email".to_owned()),
            address: Some(COACH.to_owned()),
            ..NoticeEndpointInput::default()
        };
        let ways = Ways {
            reach: Reach::Global,
            missing_for_mail: Vec::new(),
            approval: MailApproval::First,
        };
        let made = notice_endpoints::create(change, change.new_id(), &input, &ways)?;
        notice_endpoints::find(change, made.endpoint_id)
    })
    .await
}

/// The last ISO week that is over on `today`.
pub fn last_complete_week(today: Date) -> Result<IsoWeek, Problem> {
    let running = IsoWeek::of(today).map_err(|error| Problem::internal(&error))?;
    running
        .previous()
        .ok_or_else(|| Problem::internal(&"there is no week before"))
}

async fn report(app: &App, caller: Caller, batch: Vec<SessionInput>) -> Result<(), Problem> {
    let rows: Vec<bulk::Row> = batch.into_iter().map(Ok).collect();
    let results = write::job(app, caller, move |change| bulk::store(change, &rows, 1)).await?;
    match results.iter().find(|result| result.outcome == "rejected") {
        None => Ok(()),
        Some(refused) => Err(Problem::internal(&format!(
            "a demo row was refused: {refused:?}"
        ))),
    }
}

async fn plan(app: &App, caller: Caller, events: Vec<EventInput>) -> Result<(), Problem> {
    write::job(app, caller, move |change| {
        for event in &events {
            events::create(change, event)?;
        }
        Ok(())
    })
    .await
}

fn add_people(
    change: &mut Change<'_>,
    people: &[Person],
    week: IsoWeek,
) -> Result<DemoClub, Problem> {
    let tenant = change.tenant();
    let squads: Vec<SquadContent> = people::SQUADS
        .iter()
        .map(|name| SquadContent {
            squad_id: change.new_id(),
            name: (*name).to_owned(),
            external_id: Some((*name).to_owned()),
        })
        .collect();
    change.store_with(|conn, tenant, moment, _| squads::insert(conn, tenant, moment, &squads))?;
    let rows: Vec<Athlete> = people
        .iter()
        .map(|person| athlete(change, person))
        .collect();
    let members: Vec<Membership> = people
        .iter()
        .zip(&rows)
        .map(|(person, row)| Membership {
            membership_id: change.new_id(),
            squad_id: squads[person.squad].squad_id,
            athlete_id: row.athlete_id,
            role: MembershipRole::Member,
            from_date: row.joined_on,
            to_date: None,
            is_primary: true,
        })
        .collect();
    change.store_with(|conn, tenant, moment, author| {
        athletes::insert(conn, tenant, moment, author, &rows)?;
        memberships::insert(conn, tenant, moment, author, &members)
    })?;
    let codes = people.iter().map(|person| person.code.clone());
    Ok(DemoClub {
        example: example(people, &squads, &rows)?,
        club_id: tenant.club_id(),
        name: people::CLUB,
        squads: squads
            .into_iter()
            .map(|squad| (squad.squad_id, squad.name))
            .collect(),
        athletes: codes.zip(rows.iter().map(|row| row.athlete_id)).collect(),
        week,
    })
}

fn example(
    people: &[Person],
    squads: &[SquadContent],
    athletes: &[Athlete],
) -> Result<(SquadId, AthleteId, &'static str), Problem> {
    let mut pairs = people.iter().zip(athletes);
    let (person, athlete) = pairs
        .find(|(person, _)| person.story == Story::SchoolTournament)
        .ok_or_else(|| Problem::internal(&"nobody has the story of the tournament"))?;
    let squad = squads[person.squad].squad_id;
    Ok((squad, athlete.athlete_id, person.name))
}

fn athlete(change: &Change<'_>, person: &Person) -> Athlete {
    Athlete {
        athlete_id: change.new_id(),
        external_id: Some(person.code.clone()),
        source: "club-app".to_owned(),
        display_name: person.name.to_owned(),
        name_key: NameKey::of(person.name),
        birth_date: Some(person.born),
        joined_on: person.joined_on,
        time_zone: None,
    }
}

fn add_days_off(
    change: &mut Change<'_>,
    athletes: &BTreeMap<String, AthleteId>,
    rest: &[(String, Date)],
    absent: &[Away],
) -> Result<(), Problem> {
    let rest: Vec<RestDay> = rest
        .iter()
        .filter_map(|(code, date)| {
            Some(RestDay {
                rest_day_id: change.new_id(),
                athlete_id: *athletes.get(code)?,
                date: *date,
                given_by: GivenBy::Athlete,
            })
        })
        .collect();
    let absent: Vec<Absence> = absent
        .iter()
        .filter_map(|away| {
            Some(Absence {
                absence_id: change.new_id(),
                athlete_id: *athletes.get(&away.code)?,
                from_date: away.from,
                to_date: away.to,
                category: away.category,
                given_by: GivenBy::Guardian,
            })
        })
        .collect();
    change.store_with(|conn, tenant, moment, author| {
        rest_days::insert(conn, tenant, moment, author, &rest)?;
        absences::insert(conn, tenant, moment, author, &absent)
    })?;
    Ok(())
}

fn add_policy(change: &mut Change<'_>, week: IsoWeek) -> Result<(), Problem> {
    let effective_from = first_monday(week);
    let body = PolicyBody::example(effective_from, "I. Holm, head of youth");
    let new = NewPolicy {
        effective_from,
        approved_by: body.approved_by.clone(),
        source_note: body.source_note.clone(),
        body: serde_json::to_value(&body).map_err(|error| Problem::internal(&error))?,
        approver: None,
    };
    change.store_with(|conn, tenant, moment, author| {
        policies::append(conn, tenant, moment, author, &new)
    })?;
    Ok(())
}

/// The Monday of the first of the weeks that end with `last`.
pub(crate) fn first_monday(last: IsoWeek) -> Date {
    last.monday()
        .saturating_sub(Span::new().days(7 * (WEEKS - 1)))
}
