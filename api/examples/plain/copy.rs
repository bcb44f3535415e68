//! The rows of a bulk call written once more, batched, in one transaction and with nothing else.

use std::error::Error;
use std::io::Write;
use std::time::Instant;

use jiff::Timestamp;
use jiff::civil::Date;
use plimsoll_api::clock::Clock;
use plimsoll_api::ids::{ClubId, Ids};
use plimsoll_api::store::sessions::Session;
use plimsoll_api::store::{
    Author, Clubs, Conn, Known, Store, StoreError, Tenant, Who, athletes, clubs, day_totals,
    sessions,
};
use plimsoll_domain::Setting;

const AUTHOR: Author<'_> = Author {
    subject: "benchmark",
    acting_role: "integration",
};

/// Which rows.
#[derive(Debug, clap::Args)]
pub(super) struct Arguments {
    /// Whose.
    #[arg(long)]
    club: ClubId,
    /// First load date.
    #[arg(long)]
    from: Date,
    /// Last load date.
    #[arg(long)]
    to: Date,
}

/// What a bulk call left in the tables it writes.
#[derive(Debug, Clone)]
struct Rows {
    sessions: Vec<Session>,
    days: day_totals::Days,
}

/// Reads the rows, makes a club with the same athletes, and times the writing alone.
pub(super) async fn run(store: &Store, arguments: &Arguments) -> Result<(), Box<dyn Error>> {
    let from = Tenant::granted(arguments.club);
    let (first, last) = (arguments.from, arguments.to);
    let rows = store
        .read(from, move |conn| read(conn, from, first, last))
        .await?;
    let now = rows.sessions.first().ok_or("no rows")?.given_at;
    let club_id = ClubId::from(Ids::random()?.next(now));
    let to = Tenant::granted(club_id);
    store
        .write(Clubs::Two(from, to), move |conn| {
            make_club(conn, from, to, now)
        })
        .await?;

    let number = rows.sessions.len();
    let start = Instant::now();
    store
        .write(to, move |conn| write(conn, to, now, &rows))
        .await?;
    let seconds = start.elapsed().as_secs_f64();
    writeln!(std::io::stdout(), "{number} {seconds:.4}")?;
    Ok(())
}

fn read(conn: &mut Conn, tenant: Tenant, from: Date, to: Date) -> Result<Rows, StoreError> {
    let who = Who::WholeClub;
    let reports = sessions::in_dates(conn, tenant, who, from, to, Known::Now)?;
    let mut days = day_totals::Days::new();
    for row in day_totals::in_dates(conn, tenant, who, from, to)? {
        let settings: &mut std::collections::BTreeMap<Setting, _> =
            days.entry((row.athlete_id, row.date)).or_default();
        settings.insert(row.setting, row.totals);
    }
    let sessions = reports.into_iter().map(|report| report.content).collect();
    Ok(Rows { sessions, days })
}

fn make_club(conn: &mut Conn, from: Tenant, to: Tenant, now: Timestamp) -> Result<(), StoreError> {
    let people = athletes::known(conn, from, Who::WholeClub, Known::Now)?;
    let people: Vec<_> = people.into_iter().map(|person| person.content).collect();
    clubs::insert(conn, to, "Copy", "Europe/Copenhagen", now)?;
    let mut moment = clubs::lock(conn, to, Clock::Fixed(now))?;
    athletes::insert(conn, to, &mut moment, AUTHOR, &people)?;
    clubs::moment_save(conn, to, &moment)
}

fn write(conn: &mut Conn, to: Tenant, now: Timestamp, rows: &Rows) -> Result<(), StoreError> {
    let mut moment = clubs::lock(conn, to, Clock::Fixed(now))?;
    sessions::insert(conn, to, &mut moment, AUTHOR, &rows.sessions)?;
    day_totals::upsert(conn, to, &rows.days)?;
    clubs::moment_save(conn, to, &moment)
}
