//! `plimsoll read-calendars`.

use super::{Failure, say, start};
use crate::config::Config;
use crate::delivery::client::GuardedClient;
use crate::jobs::calendars;

/// Reads the calendars that are due now, as the service does by itself, and tells of each whether it could be.
pub(super) fn run(config: &Config) -> Result<(), Failure> {
    let config = config.clone();
    actix_web::rt::System::new().block_on(async move {
        let app = start::app(config, start::Migrations::BySetting).await?;
        let client = GuardedClient::new(app.config.webhook_reach());
        let looked = calendars::look(&app, &client).await;
        let looked = looked.map_err(Failure::found)?;
        for (calendar, read) in &looked {
            let outcome = if *read { "read" } else { "could not be read" };
            say(&format!("{calendar} {outcome}"))?;
        }
        match looked.iter().filter(|(_, read)| !read).count() {
            0 => Ok(()),
            failed => Err(Failure::Found(format!(
                "{failed} calendar(s) could not be read; each says why as failing_why"
            ))),
        }
    })
}
