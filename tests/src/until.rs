//! Waiting for what comes by itself: a look of a job, a delivery, a line of the log.

use std::fmt::Debug;
use std::time::{Duration, Instant};

/// Ends a hang. No test passes or fails by speed, so it is long for a machine with much else to do.
const PATIENCE: Duration = Duration::from_secs(180);
const POLL: Duration = Duration::from_millis(50);

/// Looks until what is waited for is there, and gives it.
///
/// # Panics
/// When it does not come, with what was there instead.
pub async fn until<T, Instead: Debug>(mut look: impl AsyncFnMut() -> Result<T, Instead>) -> T {
    let start = Instant::now();
    loop {
        match look().await {
            Ok(there) => return there,
            Err(instead) if start.elapsed() > PATIENCE => panic!("waited in vain: {instead:?}"),
            Err(_) => tokio::time::sleep(POLL).await,
        }
    }
}
