//! `plimsoll page-link`: a link to one weekly list, as a notice carries it.

use plimsoll_domain::IsoWeek;

use super::close_week::week;
use super::{Failure, say, start};
use crate::config::Config;
use crate::ids::{ClubId, NoticeEndpointId, SquadId};
use crate::services::page_link::{Link, ListId};
use crate::store::notices::endpoints;

/// Arguments of `page-link`.
#[derive(Debug, clap::Args)]
pub(super) struct Arguments {
    /// The club.
    #[arg(long)]
    club: ClubId,
    /// Whose link it is: a notice endpoint of the club.
    #[arg(long)]
    recipient: NoticeEndpointId,
    /// The squad.
    #[arg(long)]
    squad: SquadId,
    /// The week, as 2026-W45.
    #[arg(long, value_parser = week)]
    week: IsoWeek,
}

pub(super) fn run(config: Config, arguments: &Arguments) -> Result<(), Failure> {
    if !config.local_issuer.is_on() {
        return Err(Failure::Usage(
            "the local issuer is off, so no link is signed; set PLIMSOLL_LOCAL_ISSUER=on".into(),
        ));
    }
    let &Arguments {
        club,
        recipient,
        squad,
        week,
    } = arguments;
    actix_web::rt::System::new().block_on(async move {
        let app = start::app(config, start::Migrations::BySetting).await?;
        let tenant = start::club(&app, club).await?;
        let found = app
            .store
            .read(tenant, move |conn| endpoints::find(conn, tenant, recipient))
            .await;
        let Some(recipient) = found.map_err(Failure::found)? else {
            return Err(Failure::Found(format!(
                "no notice endpoint of the club has the id {recipient}; look at the id"
            )));
        };
        let list = ListId { club, squad, week };
        let link = Link::to(&recipient, list, app.clock.now());
        say(&app.links.path(&link))
    })
}
