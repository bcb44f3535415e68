//! The one way to read figures: as of an instant whose answer no later write can change.
//!
//! Of two instants the later one counts: the clock's, and that of the last write the read sees. A
//! write that is still under way has an instant too, so it is waited for; one that begins later
//! takes a later one. With several servers that holds as far as their clocks agree.

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

use crate::app::App;
use crate::error::{Code, FieldProblem, Problem};
use crate::store::{Conn, Known, StoreError, Tenant, clubs};

/// Which state of knowledge a read refers to, and when "now" is for it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AsOf {
    /// What had been received.
    pub known: Known,
    /// Now: when it was asked.
    pub now: Timestamp,
}

impl AsOf {
    /// The instant the answer refers to; asked for again, it gives the same answer.
    pub fn at(self) -> Timestamp {
        match self.known {
            Known::Now => self.now,
            Known::AsOf(at) => at,
        }
    }

    /// Today in a zone, at that instant.
    pub fn today(self, zone: &TimeZone) -> Date {
        zone.to_datetime(self.at()).date()
    }

    /// The state asked for, in a snapshot of the club, or `None` where a write under way may still
    /// change it.
    fn of(
        conn: &mut Conn,
        tenant: Tenant,
        asked: Option<Timestamp>,
        clock: Timestamp,
        settled: bool,
    ) -> Result<Option<Self>, Problem> {
        let last = clubs::last_received(conn, tenant)?;
        let now = clock.max(last);
        let Some(at) = asked else {
            // Nothing can still be received by the last instant that was.
            let now = if settled { now } else { last };
            return Ok(Some(Self {
                known: Known::Now,
                now,
            }));
        };
        if at > now {
            return Err(in_future(at, now));
        }
        let known = Known::AsOf(at);
        Ok((settled || at <= last).then_some(Self { known, now }))
    }
}

fn in_future(at: Timestamp, now: Timestamp) -> Problem {
    let field = FieldProblem::new("?as_of", Code::InFuture, at.to_string());
    Problem::field(field.allowed(format!("not after {now}")))
}

/// Reads a club in one snapshot, as of `asked` or, without it, as of now.
///
/// # Errors
/// Those of `work`; `in_future`; busy where an instant was named that a write under way for long
/// may still change.
pub async fn read<T: Send + 'static>(
    app: &App,
    tenant: Tenant,
    asked: Option<Timestamp>,
    work: impl Fn(&mut Conn, AsOf) -> Result<T, Problem> + Send + 'static,
) -> Result<T, Problem> {
    // Taken before the wait: writes that begin during it come later.
    let clock = app.clock.now();
    let read = move |conn: &mut Conn, settled: bool| match AsOf::of(
        conn, tenant, asked, clock, settled,
    )? {
        Some(as_of) => work(conn, as_of),
        None => Err(StoreError::Busy.into()),
    };
    app.store.settled(tenant, read).await
}
