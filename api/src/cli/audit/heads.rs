//! `plimsoll audit heads [--club ID]` and `plimsoll audit public-key`.

use crate::cli::{Failure, say, start};
use crate::config::Config;
use crate::ids::ClubId;
use crate::store::audit;

pub(super) fn run(config: &Config, club: Option<ClubId>) -> Result<(), Failure> {
    let key = start::sign_key(config)?;
    let config = config.clone();
    actix_web::rt::System::new().block_on(async move {
        let app = start::app(config, start::Migrations::BySetting).await?;
        for tenant in super::clubs(&app, club).await? {
            let head = app
                .store
                .read(tenant, move |conn| audit::head(conn, tenant))
                .await;
            let Some(head) = head.map_err(Failure::found)? else {
                continue;
            };
            let signed = key.sign(tenant.club_id(), &head, app.clock.now());
            let line = signed.and_then(|signed| signed.line());
            say(&line.map_err(Failure::found)?)?;
        }
        Ok(())
    })
}

pub(super) fn public_key(config: &Config) -> Result<(), Failure> {
    let key = start::sign_key(config)?;
    say(key.public().to_pem().trim_end())
}
