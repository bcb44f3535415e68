//! The stored programme of a plan, and its sessions on their dates.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use plimsoll_domain::IsoWeek;
use plimsoll_domain::exercises::Catalogue;
use plimsoll_domain::programme::{Changes, NoEffort, dated, plan_sessions};

use super::in_body;
use super::input::PlanInput;
use super::sessions::NamedSession;
use crate::app::App;
use crate::auth::tenant::Caller;
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::AthleteId;
use crate::services::exercises::ClubCatalogue;
use crate::services::programmes::ReadProgramme;
use crate::services::programmes::assignments::changes_of;
use crate::services::{as_of, local_time};
use crate::store::programme_assignments::{self, Assignment};
use crate::store::{Conn, Known, Tenant};

/// Where it stands in the body.
pub(super) const PLACE: &str = "/plan/programme";

/// A programme with the exercises that its landings are counted by.
#[derive(Debug, Clone)]
pub struct StoredPlan {
    read: ReadProgramme,
    catalogue: Catalogue,
}

impl StoredPlan {
    /// Reads the programme that a plan names, as it stood at `as_of`; `None` where it names none. An instant that cannot be read is a
    /// fault of the plan, and told with its others.
    ///
    /// # Errors
    /// 422 where there is, or was, no such programme.
    pub async fn read(
        app: &App,
        caller: &Caller,
        (plan, as_of): (&PlanInput, Option<&str>),
    ) -> Result<Option<Self>, Problem> {
        let Some(named) = plan.programme.clone() else {
            return Ok(None);
        };
        let tenant = caller.tenant;
        let instant = as_of.and_then(|given| local_time::instant("/as_of", given).ok());
        let read = as_of::read(app, tenant, instant, move |conn, as_of| {
            let known = as_of.known;
            let read = named.read(conn, tenant, (PLACE, known))?;
            let read = read.map_err(Problem::field)?;
            let catalogue = ClubCatalogue::read(conn, tenant, known)?.catalogue;
            Ok(Some(Self { read, catalogue }))
        });
        read.await.map_err(in_body)
    }

    /// How many weeks it has.
    pub fn length(&self) -> u8 {
        self.read.programme.length()
    }

    /// Its sessions from a week on, with one athlete's changes.
    pub(super) fn sessions(
        &self,
        first: IsoWeek,
        changes: &Changes,
    ) -> Result<Vec<NamedSession>, FieldProblem> {
        let programme = &self.read.programme;
        let planned = plan_sessions((programme, changes), first, &self.catalogue);
        let planned = planned.map_err(|error| no_effort(&error))?;
        let names = dated(programme, first).map(|one| {
            let plain = || format!("{}, week {}", programme.name(), one.placed.week);
            one.placed.session.name.clone().unwrap_or_else(plain)
        });
        let named = planned.into_iter().zip(names);
        let named = named.map(|((start, session), name)| NamedSession {
            place: PLACE.to_owned(),
            name: Some(name),
            start,
            least: None,
            session,
        });
        Ok(named.collect())
    }
}

impl StoredPlan {
    /// What is different in it for athletes who are assigned this version of it in some dates, in a state of knowledge: of several
    /// assignments of hers the one that began last counts. A query, whatever the number of athletes.
    pub(super) fn changes(
        &self,
        conn: &mut Conn,
        tenant: Tenant,
        athletes: &[AthleteId],
        (dates, known): ((Date, Date), Known),
    ) -> Result<BTreeMap<AthleteId, Changes>, Problem> {
        let found =
            programme_assignments::own_of_programme(conn, tenant, self.read.id, dates, known)?;
        let found = found.into_iter().map(|one| one.content);
        let athletes: BTreeSet<&AthleteId> = athletes.iter().collect();
        let this = |one: &Assignment| one.programme_version == self.read.version.number;
        let mut changes = BTreeMap::new();
        for one in found.filter(this) {
            let Some(athlete) = one.athlete_id.filter(|id| athletes.contains(id)) else {
                continue;
            };
            changes.insert(athlete, changes_of(&one, &self.read.programme)?);
        }
        changes.retain(|_, theirs: &mut Changes| theirs.count() > 0);
        Ok(changes)
    }
}

fn no_effort(error: &NoEffort) -> FieldProblem {
    let detail = format!(
        "Minutes or intended RPE are not said of session {} on day {} of week {}.",
        error.session,
        error.day + 1,
        error.week
    );
    FieldProblem::new(PLACE, Code::EffortNotKnown, error.week)
        .detail(detail)
        .allowed("a programme that says minutes and intended RPE of each session")
}
