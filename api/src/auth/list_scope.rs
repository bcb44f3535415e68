//! Who reads one weekly list: the holder of a token with the right, or the recipient of a link to that very list.
//!
//! A recipient acts as a coach of the list's squad, under the name of the notice endpoint that the link was sent to. Whether
//! that endpoint still is what it was is asked of the database with every request.

use std::future::Future;
use std::pin::Pin;

use actix_web::dev::Payload;
use actix_web::http::header;
use actix_web::{FromRequest, HttpRequest, web};

use super::principal::Principal;
use super::reference::Reference;
use super::role::Role;
use super::tenant::{Caller, ClubScope, right};
use crate::app::App;
use crate::error::{Code, Problem};
use crate::services::page_link::{self, Link, LinkError, ListId};
use crate::store::Tenant;
use crate::telemetry;
use crate::web::cookie;
use crate::web::page_problem::PageProblem;

/// A reader of the weekly list in the path.
#[derive(Debug)]
pub struct ListScope {
    /// Who reads.
    pub caller: Caller,
    /// The link it is read by; none with a token.
    pub link: Option<String>,
}

impl FromRequest for ListScope {
    type Error = PageProblem;
    type Future = Pin<Box<dyn Future<Output = Result<Self, PageProblem>>>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let request = request.clone();
        Box::pin(async move {
            let reader = match cookie::kept(&request) {
                Some(link) if !has_token(&request) => by_link(&request, link).await,
                _ => by_token(&request).await,
            };
            reader.map_err(|problem| PageProblem::to(&request, problem))
        })
    }
}

/// Whether the caller brings a token, so is a program.
pub fn has_token(request: &HttpRequest) -> bool {
    request.headers().contains_key(header::AUTHORIZATION)
}

async fn by_token(request: &HttpRequest) -> Result<ListScope, Problem> {
    let scope = ClubScope::<right::ReadWeeklyList>::extract(request).await?;
    Ok(ListScope {
        caller: scope.caller,
        link: None,
    })
}

async fn by_link(request: &HttpRequest, text: &str) -> Result<ListScope, Problem> {
    let app = request
        .app_data::<web::Data<App>>()
        .ok_or_else(|| Problem::internal(&"the application is not registered"))?;
    let (link, caller) = recipient(app, text).await?;
    if asked(request) != Some(link.list) {
        return Err(Problem::not_found());
    }
    telemetry::note_role(caller.principal.role.code());
    Ok(ListScope {
        caller,
        link: Some(text.to_owned()),
    })
}

fn asked(request: &HttpRequest) -> Option<ListId> {
    let part = |name| request.match_info().get(name);
    Some(ListId {
        club: part("club_id")?.parse().ok()?,
        squad: part("squad_id")?.parse().ok()?,
        week: part("week")?.parse().ok()?,
    })
}

/// What a link says, and the recipient as a caller, where it still opens its list.
///
/// # Errors
/// 401 for a link that was not signed here, has expired or was ended with its recipient.
pub async fn recipient(app: &App, text: &str) -> Result<(Link, Caller), Problem> {
    let now = app.clock.now();
    let link = app.links.read(text, now).map_err(refused)?;
    let (asked, tenant) = (link.clone(), Tenant::granted(link.list.club));
    let holds = app
        .store
        .read(tenant, move |conn| page_link::holds(conn, &asked))
        .await;
    let principal = principal(&link);
    if !holds? || app.revocations.include(link.list.club, &principal) {
        return Err(Problem::new(
            Code::Unauthenticated,
            "The link was ended with its recipient.",
        ));
    }
    let caller = Caller::acting(principal, tenant, now);
    Ok((link, caller))
}

fn refused(error: LinkError) -> Problem {
    Problem::new(Code::Unauthenticated, format!("Not opened: {error}."))
}

fn principal(link: &Link) -> Principal {
    Principal {
        issuer: "plimsoll".to_owned(),
        subject: format!("notice-endpoint/{}", link.recipient),
        client: "weekly-list-page".to_owned(),
        token_id: None,
        role: Role::Coach,
        club: Some(Reference::Id(link.list.club.uuid())),
        squads: Some(vec![Reference::Id(link.list.squad.uuid())]),
        athletes: Vec::new(),
    }
}
