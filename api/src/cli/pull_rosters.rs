//! `plimsoll pull-rosters`.

use super::{Failure, say, start};
use crate::config::Config;
use crate::delivery::client::GuardedClient;
use crate::jobs::roster_sources;

/// Pulls the roster sources that are due now, as the service does by itself, and tells of each whether it could be.
pub(super) fn run(config: &Config) -> Result<(), Failure> {
    let config = config.clone();
    actix_web::rt::System::new().block_on(async move {
        let app = start::app(config, start::Migrations::BySetting).await?;
        let client = GuardedClient::new(app.config.webhook_reach());
        let looked = roster_sources::look(&app, &client).await;
        let looked = looked.map_err(Failure::found)?;
        for (source, pulled) in &looked {
            let outcome = if *pulled {
                "pulled"
            } else {
                "could not be pulled"
            };
            say(&format!("{source} {outcome}"))?;
        }
        match looked.iter().filter(|(_, pulled)| !pulled).count() {
            0 => Ok(()),
            failed => Err(Failure::Found(format!(
                "{failed} roster source(s) could not be pulled; each says why as last_problem"
            ))),
        }
    })
}
