//! A letter on its way out: read when it is sent, as of the instant that it tells of.

use jiff::Timestamp;
use plimsoll_domain::IsoWeek;
use serde::{Deserialize, Serialize};

use super::as_of::AsOf;
use crate::app::App;
use crate::auth::principal::Principal;
use crate::auth::tenant::Caller;
use crate::auth::{Reference, Role};
use crate::error::Problem;
use crate::ids::{AthleteId, SquadId};
use crate::pages::letter::{
    Ahead, Disabled, Letter, Told, disabled_letter, look_ahead_letter, questions_letter,
    week_letter,
};
use crate::routes::weeks::answer_of;
use crate::services::notices::PlannedOver;
use crate::services::page_link::{Link, LinkKey, ListId};
use crate::services::{questions, weekly_list};
use crate::store::notices::deliveries::{self, Delivery, StoredNotice};
use crate::store::notices::endpoints::Endpoint;
use crate::store::{Conn, Known, NoticeKind, Tenant, clubs, mail, squads};

/// What the outbox holds of a letter: neither names nor figures nor links.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Body {
    /// The instant whose knowledge it tells.
    pub as_of: Timestamp,
}

impl Body {
    /// As it is stored.
    pub fn text(self) -> String {
        serde_json::json!(self).to_string()
    }
}

/// Which letter.
#[derive(Debug, Clone)]
pub struct Wanted {
    /// For whom.
    pub endpoint: Endpoint,
    /// The delivery.
    pub delivery: Delivery,
    /// What links begin with.
    pub public_url: String,
    /// When it is sent.
    pub at: Timestamp,
}

/// A letter and what stands around it.
#[derive(Debug)]
pub struct Made {
    /// What it says.
    pub letter: Letter,
    /// The name it comes under.
    pub sender_name: String,
    /// Where answers go.
    pub reply_to: Option<String>,
    /// The instant it tells of.
    pub date: Timestamp,
    /// The athletes it names.
    named: Vec<AthleteId>,
}

/// Makes a letter. Where it names athletes, that is entered in the audit list first.
///
/// # Errors
/// It cannot be read, or the audit list cannot be written.
pub async fn make(app: &App, tenant: Tenant, wanted: Wanted) -> Result<Made, Problem> {
    let (reader, links) = (reader(tenant, &wanted), app.links.clone());
    let made = app
        .store
        .read(tenant, move |conn| read(conn, tenant, &wanted, &links))
        .await?;
    let shown = made.named.iter().copied();
    app.audit
        .record_shown(app, &reader, "mail_weekly_list", shown)
        .await?;
    Ok(made)
}

/// The recipient, who reads as a coach does.
fn reader(tenant: Tenant, wanted: &Wanted) -> Caller {
    let principal = Principal {
        issuer: "plimsoll".to_owned(),
        subject: format!("notice-endpoint/{}", wanted.endpoint.endpoint_id),
        client: "mail".to_owned(),
        token_id: None,
        role: Role::Coach,
        club: Some(Reference::Id(tenant.club_id().uuid())),
        squads: None,
        athletes: Vec::new(),
    };
    Caller::acting(principal, tenant, wanted.at)
}

fn read(
    conn: &mut Conn,
    tenant: Tenant,
    wanted: &Wanted,
    links: &LinkKey,
) -> Result<Made, Problem> {
    let body: Body =
        serde_json::from_str(&wanted.delivery.body).map_err(|error| Problem::internal(&error))?;
    let notice = deliveries::find_notice(conn, tenant, wanted.delivery.notice_id)?;
    let notice = notice.ok_or_else(Problem::not_found)?;
    let club = clubs::find(conn, tenant)?.ok_or_else(Problem::not_found)?;
    let settings = mail::settings(conn, tenant)?;
    let link = |list| {
        let link = Link::to(&wanted.endpoint, list, wanted.at);
        format!("{}{}", wanted.public_url, links.path(&link))
    };
    let (letter, named) = match notice.kind {
        NoticeKind::Test | NoticeKind::Challenge => (Letter::test(&club.name), Vec::new()),
        NoticeKind::EndpointDisabled => {
            let disabled: Disabled = serde_json::from_value(notice.payload)
                .map_err(|error| Problem::internal(&error))?;
            (disabled_letter(&club.name, &disabled), Vec::new())
        }
        NoticeKind::QuestionAsked => {
            let list = format!("{}{}", wanted.public_url, questions::open_list(tenant));
            (questions_letter(&club.name, &list), Vec::new())
        }
        NoticeKind::LookAhead => {
            let about = (club.name.as_str(), &notice);
            let letter = ahead(conn, tenant, &wanted.endpoint, about, link)?;
            (letter, Vec::new())
        }
        NoticeKind::WeekClosed | NoticeKind::WeekCorrected => {
            let about = (club.name.as_str(), &notice, body.as_of);
            of_week(conn, tenant, &wanted.endpoint, about, link)?
        }
    };
    Ok(Made {
        letter,
        named,
        sender_name: settings.sender_name.unwrap_or(club.name),
        reply_to: settings.reply_to,
        date: body.as_of,
    })
}

fn of_week(
    conn: &mut Conn,
    tenant: Tenant,
    recipient: &Endpoint,
    (club_name, notice, as_of): (&str, &StoredNotice, Timestamp),
    link: impl Fn(ListId) -> String,
) -> Result<(Letter, Vec<AthleteId>), Problem> {
    let week = IsoWeek::of(notice.monday).map_err(|error| Problem::internal(&error))?;
    let names = mail::names(conn, tenant)?.allowed;
    let mut told = Told {
        club_name,
        week,
        corrected: notice.kind == NoticeKind::WeekCorrected,
        names,
        squads: Vec::new(),
    };
    for squad in squads::all(conn, tenant)? {
        if !recipient.wants(&[squad.squad_id]) {
            continue;
        }
        let list = weekly_list::Wanted {
            squad_id: squad.squad_id,
            week,
            as_of: AsOf {
                known: Known::AsOf(as_of),
                now: as_of,
            },
        };
        let opened = ListId {
            club: tenant.club_id(),
            squad: squad.squad_id,
            week,
        };
        let list = answer_of(conn, tenant, list)?;
        told.squads.push((squad.name, list, link(opened)));
    }
    let lists = told.squads.iter().filter(|_| names);
    let named = lists.flat_map(|(_, list, _)| &list.entries);
    let named = named.map(|entry| entry.athlete_id).collect();
    Ok((week_letter(&told), named))
}

/// What the payload of a look-ahead says of a squad.
#[derive(Debug, Deserialize)]
struct OfSquad {
    squad_id: SquadId,
    certain: u32,
    possible: u32,
}

fn ahead(
    conn: &mut Conn,
    tenant: Tenant,
    recipient: &Endpoint,
    (club_name, notice): (&str, &StoredNotice),
    link: impl Fn(ListId) -> String,
) -> Result<Letter, Problem> {
    let week = IsoWeek::of(notice.monday).map_err(|error| Problem::internal(&error))?;
    let over: Vec<OfSquad> = serde_json::from_value(notice.payload["over"].clone())
        .map_err(|error| Problem::internal(&error))?;
    let mut told = Vec::new();
    for squad in squads::all(conn, tenant)? {
        let counted = over.iter().find(|one| one.squad_id == squad.squad_id);
        let Some(counted) = counted.filter(|_| recipient.wants(&[squad.squad_id])) else {
            continue;
        };
        let over = PlannedOver {
            certain: counted.certain,
            possible: counted.possible,
        };
        let opened = ListId {
            club: tenant.club_id(),
            squad: squad.squad_id,
            week,
        };
        told.push((squad.name, over, link(opened)));
    }
    Ok(look_ahead_letter(&Ahead {
        club_name,
        week,
        squads: told,
    }))
}
