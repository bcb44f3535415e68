//! Goes through clubs for a job.

use std::future::Future;

use crate::app::App;
use crate::ids::ClubId;
use crate::store::{Clubs, Conn, StoreError};

/// Clubs read at a time.
const PAGE: i64 = 500;

/// Reads some of what a job works through, by the id of its club, from after one club on.
pub(super) type Read<T> = fn(&mut Conn, Option<ClubId>, i64) -> Result<Vec<T>, StoreError>;

/// Does the work for each club, and says for how many it failed; one more where the clubs could not all be read. One
/// club's failure does not keep the others waiting.
pub(super) async fn each_club<T, F>(
    app: &App,
    job: &'static str,
    read: Read<T>,
    id: fn(&T) -> ClubId,
    succeeds: impl Fn(T) -> F,
) -> usize
where
    T: Send + 'static,
    F: Future<Output = bool>,
{
    let (mut failing, mut after) = (0, None);
    loop {
        let page = app
            .store
            .read(Clubs::Every, move |conn| read(conn, after, PAGE))
            .await;
        let page = match page {
            Ok(page) => page,
            Err(error) => {
                tracing::warn!(%error, job, "the clubs could not be read, so some were left out");
                return failing + 1;
            }
        };
        match page.last() {
            Some(last) => after = Some(id(last)),
            None => return failing,
        }
        for one in page {
            failing += usize::from(!succeeds(one).await);
        }
    }
}
