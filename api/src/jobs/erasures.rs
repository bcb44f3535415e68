//! Does again what could not be done right after an erasure: the line outside the database, and making the database forget the bytes.
//!
//! Any number of instances may do it at once: a line may then stand in their files twice, and is replayed once.

use std::time::Duration;

use crate::app::App;
use crate::services::erasure;

/// How often the job looks.
const EVERY: Duration = Duration::from_secs(60);

/// Looks again and again until the task is ended.
pub async fn run(app: App) {
    let mut every = tokio::time::interval(EVERY);
    loop {
        every.tick().await;
        erasure::finish(&app).await;
    }
}
