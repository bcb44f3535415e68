//! `GET …/flags`.

use actix_web::{HttpRequest, HttpResponse, get, web};
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use super::answer::FlagAnswer;
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{AthleteId, ClubId, FlagId};
use crate::services::audit::Reading;
use crate::services::reach;
use crate::store::FlagState;
use crate::store::flags::{self, FlagFilter};
use crate::web::page::PageRequest;
use crate::web::query::{Query, bad};
use crate::web::range;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadFlags;

/// Which flags are listed.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct FlagQuery {
    /// Of this athlete.
    #[param(value_type = Option<AthleteId>)]
    athlete: Option<String>,
    /// Of this ISO week.
    #[param(example = "2026-W45")]
    week: Option<String>,
    /// raised or withdrawn.
    state: Option<String>,
    /// Rows of a page, 1 to 500; 50 unless given.
    #[param(value_type = Option<u16>, minimum = 1, maximum = 500)]
    limit: Option<String>,
    /// The `next` of the page before.
    after: Option<String>,
}

/// A page of flags, the newest week first.
#[derive(Debug, Serialize, ToSchema)]
pub struct FlagPage {
    /// The flags.
    pub items: Vec<FlagAnswer>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// List flags
///
/// Flags of closed weeks within the caller's reach, the newest week first. Asked for one athlete, the
/// read is entered in the audit list first.
#[utoipa::path(
    tag = "Figures",
    operation_id = "list_flags",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), FlagQuery),
    responses(
        (status = 200, description = "A page", body = FlagPage,
            headers(("Link", description = "The next page, rel=next"))),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/flags")]
pub async fn list(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
    query: Query<FlagQuery>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let query = query.0;
    let athlete = query.athlete.as_deref().map(range::athlete).transpose()?;
    let week = query
        .week
        .as_deref()
        .map(|text| range::week("?week", text))
        .transpose()?;
    let state = query.state.as_deref().map(flag_state).transpose()?;
    let filter = format!("{athlete:?} {week:?} {state:?}");
    let page =
        PageRequest::<(Date, FlagId)>::new(query.limit.as_deref(), query.after.as_deref(), filter)?;
    let (after, fetch, caller) = (page.after, page.fetch(), scope.caller.clone());
    let monday = week.map(plimsoll_domain::IsoWeek::monday);
    let (rows, acknowledgements) = app
        .store
        .read(scope.caller.tenant, move |conn| {
            let reached = reach::listed(conn, &caller, athlete)?;
            let tenant = caller.tenant;
            let filter = FlagFilter {
                who: reached.who(),
                monday,
                state,
            };
            let rows = flags::page(conn, tenant, filter, after, fetch)?;
            let ids: Vec<FlagId> = rows.iter().map(|row| row.flag.flag_id).collect();
            let acknowledgements = flags::acknowledgements(conn, tenant, &ids)?;
            Ok::<_, Problem>((rows, acknowledgements))
        })
        .await?;
    if let Some(athlete) = athlete {
        let reading = Reading {
            athlete,
            action: "list_flags",
            purpose: None,
        };
        app.audit.record(&app, &scope.caller, reading).await?;
    }
    let page = page.page(rows, |row| (row.flag.monday, row.flag.flag_id));
    page.try_map(|row| FlagAnswer::new(row, &acknowledgements))?
        .answer(&request)
}

fn flag_state(text: &str) -> Result<FlagState, Problem> {
    FlagState::parse(text).ok_or_else(|| {
        bad(FieldProblem::new(
            "?state",
            Code::UnknownValue,
            crate::web::json::shorten_text(text),
        )
        .allowed("raised, withdrawn"))
    })
}
