//! `plimsoll audit verify [--club ID]`.

use clap::Subcommand;

use super::{Failure, say, start};
use crate::app::App;
use crate::config::Config;
use crate::ids::ClubId;
use crate::services::audit_chain::{self, Break, ChainKey};
use crate::store::audit::AuditHead;
use crate::store::{StoreError, Tenant};

/// Arguments of `audit`.
#[derive(Debug, Subcommand)]
pub(super) enum Arguments {
    /// Recompute the chain of the audit list and name the first bad row.
    Verify {
        /// Only this club; every club unless given.
        #[arg(long)]
        club: Option<ClubId>,
    },
}

pub(super) fn run(config: &Config, arguments: &Arguments) -> Result<(), Failure> {
    let Arguments::Verify { club } = arguments;
    let (config, club) = (config.clone(), *club);
    actix_web::rt::System::new().block_on(async move {
        let app = start::app(config, start::Migrations::BySetting).await?;
        let key = start::chain_key(&app.config, &app.store).await?;
        let clubs = match club {
            Some(club) => vec![start::club(&app, club).await?],
            None => start::every_club(&app).await?,
        };
        let mut broken = 0;
        for tenant in clubs {
            let found = verify(&app, tenant, key.clone()).await;
            let found = found.map_err(Failure::found)?;
            broken += usize::from(found.is_err());
            say(&format!("{} {}", tenant.club_id(), line(&found)))?;
        }
        match broken {
            0 => Ok(()),
            _ => Err(Failure::Found(format!(
                "the audit list of {broken} club(s) is not what was written; keep the database as it \
                 is and find out who could write to it"
            ))),
        }
    })
}

async fn verify(
    app: &App,
    tenant: Tenant,
    key: ChainKey,
) -> Result<Result<AuditHead, Break>, StoreError> {
    let work = move |conn: &mut _| audit_chain::verify(conn, tenant, &key);
    app.store.snapshot(work).await
}

/// The end of a whole chain is printed to be kept elsewhere and compared later.
fn line(found: &Result<AuditHead, Break>) -> String {
    match found {
        Ok(head) => {
            let link = head.link.iter().map(|octet| format!("{octet:02x}"));
            format!("whole, {} rows, {}", head.number, link.collect::<String>())
        }
        Err(broken) => format!("broken: {broken}"),
    }
}
