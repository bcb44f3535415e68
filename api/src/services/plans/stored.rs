//! The stored programme of a plan, and its sessions on their dates.

use plimsoll_domain::IsoWeek;
use plimsoll_domain::exercises::Catalogue;
use plimsoll_domain::programme::{NoEffort, dated, plan_sessions};

use super::input::PlanInput;
use super::sessions::NamedSession;
use crate::app::App;
use crate::auth::tenant::Caller;
use crate::error::{Code, FieldProblem, Problem};
use crate::services::exercises::ClubCatalogue;
use crate::services::programmes::ReadProgramme;
use crate::store::Known;

const PLACE: &str = "/plan/programme";

/// A programme with the exercises that its landings are counted by.
#[derive(Debug, Clone)]
pub struct StoredPlan {
    read: ReadProgramme,
    catalogue: Catalogue,
}

impl StoredPlan {
    /// Reads the programme that a plan names; `None` where it names none.
    ///
    /// # Errors
    /// 422 where there is no such programme.
    pub async fn read(
        app: &App,
        caller: &Caller,
        plan: &PlanInput,
    ) -> Result<Option<Self>, Problem> {
        let Some(named) = plan.programme.clone() else {
            return Ok(None);
        };
        let tenant = caller.tenant;
        app.store
            .read(tenant, move |conn| {
                let read = named.read(conn, tenant, PLACE)?.map_err(Problem::field)?;
                let catalogue = ClubCatalogue::read(conn, tenant, Known::Now)?.catalogue;
                Ok(Some(Self { read, catalogue }))
            })
            .await
    }

    /// How many weeks it has.
    pub fn length(&self) -> u8 {
        self.read.programme.length()
    }

    /// Its sessions from a week on.
    pub(super) fn sessions(&self, first: IsoWeek) -> Result<Vec<NamedSession>, FieldProblem> {
        let programme = &self.read.programme;
        let planned = plan_sessions(programme, first, &self.catalogue);
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
