//! `PUT …/calendars/{calendar_id}`: its text.

use actix_web::{HttpRequest, put, web};
use serde::Deserialize;
use utoipa::IntoParams;

use super::location;
use crate::app::App;
use crate::auth::tenant::{ClubScope, right};
use crate::calendar::Bounds;
use crate::error::{Code, Problem};
use crate::ids::{CalendarId, ClubId};
use crate::services::calendars::{self as service, CalendarAnswer, turn};
use crate::services::write;
use crate::store::calendars;
use crate::web::params::MatchHeader;
use crate::web::query::{self, Query};
use crate::web::refusals::WriteRefusals;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

type Needed = right::ManageCalendars;

/// Whether it is a trial, and whether it is meant that much goes.
#[derive(Debug, Clone, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct CalendarQuery {
    /// `true` runs all checks and answers the same, but stores nothing.
    #[param(value_type = Option<bool>)]
    dry_run: Option<String>,
    /// `true` where it is meant that most of what is to come is cancelled; without it such a text is refused.
    #[param(value_type = Option<bool>)]
    confirm_large_removal: Option<String>,
}

impl CalendarQuery {
    /// Whether it is a trial, and whether it is meant.
    pub(super) fn read(&self) -> Result<(bool, bool), Problem> {
        let confirmed = self.confirm_large_removal.as_deref();
        Ok((
            query::truth("?dry_run", self.dry_run.as_deref())?,
            query::truth("?confirm_large_removal", confirmed)?,
        ))
    }
}

/// Send a calendar's text
///
/// The whole calendar as iCalendar (RFC 5545), at most 10 MiB: rules with exceptions and overrides, cancellations, zones. The schedule
/// of a year back and a year ahead is made to say what it says: an instance keeps its id when others change, what is no longer there is
/// cancelled when it is still to come, and reports stay. Under an id that is not there it is set up without rules, so that all of it is
/// listed at `…/unmapped` first. What cannot be read is counted in `rejected` and listed there too, and the rest lands.
#[utoipa::path(
    tag = "Schedule",
    operation_id = "put_calendar",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path), ("calendar_id" = CalendarId, Path), CalendarQuery, MatchHeader),
    request_body(content = String, content_type = "text/calendar",
        example = "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//Nordvang//EN\r\nBEGIN:VEVENT\r\nUID:practice-1@nordvang.example\r\nDTSTAMP:20260901T080000Z\r\nDTSTART;TZID=Europe/Copenhagen:20261013T173000\r\nDTEND;TZID=Europe/Copenhagen:20261013T190000\r\nRRULE:FREQ=WEEKLY;BYDAY=TU,TH;UNTIL=20261105T235959Z\r\nSUMMARY:U16 practice\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n"),
    responses(
        (status = 201, description = "Set up under the new id, and read", body = CalendarAnswer),
        (status = 200, description = "Unchanged, or read", body = CalendarAnswer,
            headers(("ETag", description = "The version"))),
        WriteRefusals,
    )
)]
#[put("/v1/clubs/{club_id}/calendars/{calendar_id}")]
pub async fn put(
    app: web::Data<App>,
    scope: ClubScope<Needed>,
    path: web::Path<(ClubId, CalendarId)>,
    asked: Query<CalendarQuery>,
    request: HttpRequest,
    payload: web::Payload,
) -> Result<Reply, Problem> {
    let (club, id) = path.into_inner();
    let (dry_run, confirmed) = asked.0.read()?;
    let (payload, most) = (payload.into_inner(), Bounds::default().bytes);
    let held = turn::to_send(club).await?;
    let sent = WriteRequest::read_as(dry_run, &request, payload, most).await?;
    let (request, read) = (sent.clone(), turn::to_read().await?);
    write::run(&app, scope.caller, &request, move |change| {
        let _turns = (held, read);
        let tenant = change.tenant();
        let current = calendars::find(change.conn, tenant, id)?;
        let before = current.as_ref().map(|calendar| calendar.version);
        match before {
            Some(version) => sent.put_precondition(version)?,
            None if calendars::is_taken(change.conn, tenant, id)? => {
                return Err(Problem::new(Code::IdTaken, "That calendar was deleted."));
            }
            None => sent.require_absent()?,
        }
        sent.expect_type(&["text/calendar"])?;
        let text = (sent.raw_body(), confirmed);
        let answer = service::send(change, id, current, text)?;
        match before {
            Some(before) => {
                sent.after_put(before, answer.version)?;
                Reply::ok(answer.version, &answer)
            }
            None => Reply::created(location(club, id), answer.version, &answer),
        }
    })
    .await
}
