//! Bringing a club's totals to the club they are shared with, and keeping them as they are.

use std::collections::BTreeMap;

use jiff::civil::Date;
use plimsoll_domain::Setting;
use plimsoll_domain::consent::{Standing, standing};

use crate::app::App;
use crate::auth::tenant::Caller;
use crate::error::Problem;
use crate::ids::{ClubId, ConsentId, LinkId};
use crate::services::consents::instants;
use crate::services::flags;
use crate::services::local_time::{EARLIEST, LATEST};
use crate::services::write::{self, Beside, Change};
use crate::store::consents::{self, Consent};
use crate::store::shared_day_totals::{self, SharedTotal};
use crate::store::{DaySet, Tenant, Who, athletes, day_totals, shares, sharing_links};

/// Makes the copies in the other club what the club's totals now are, and judges again there what that reaches.
pub(super) fn bring(
    change: &mut Change<'_>,
    beside: &mut Beside,
    (consent, link_id): (&Consent, LinkId),
) -> Result<(), Problem> {
    let tenant = change.tenant();
    let totals = organised(change, consent)?;
    let copied_seq = change.moment.last_seq();
    shares::copied(change.conn, tenant, consent.consent_id, copied_seq)?;
    beside.change(change, |there| receive(there, link_id, &totals))
}

/// What the club itself has held on each day: load in half-AU, and minutes. What it knows of others is not its to share.
fn organised(
    change: &mut Change<'_>,
    consent: &Consent,
) -> Result<BTreeMap<Date, (i64, i32)>, Problem> {
    let (tenant, athletes) = (change.tenant(), [consent.athlete_id]);
    let who = Who::Athletes(&athletes);
    let rows = day_totals::in_dates(change.conn, tenant, who, EARLIEST, LATEST)?;
    let own = rows
        .into_iter()
        .filter(|row| row.setting == Setting::Club && row.totals.sessions > 0);
    let total =
        |row: day_totals::DayTotal| (row.date, (row.totals.logged_half, row.totals.minutes));
    Ok(own.map(total).collect())
}

fn receive(
    there: &mut Change<'_>,
    link_id: LinkId,
    totals: &BTreeMap<Date, (i64, i32)>,
) -> Result<(), Problem> {
    let tenant = there.tenant();
    let Some(link) = sharing_links::find(there.conn, tenant, link_id)? else {
        return Ok(());
    };
    let Some(athlete) = athletes::current(there.conn, tenant, link.athlete_id)? else {
        return Ok(());
    };
    let since = athlete.content.joined_on;
    let before = shared_day_totals::of_link(there.conn, tenant, link_id)?;
    let before: BTreeMap<Date, SharedTotal> =
        before.into_iter().map(|one| (one.date, one)).collect();
    let now = totals
        .range(since..)
        .map(|(date, (load_half, minutes))| SharedTotal {
            link_id,
            athlete_id: link.athlete_id,
            date: *date,
            load_half: *load_half,
            minutes: *minutes,
        });
    let copies: Vec<SharedTotal> = now
        .filter(|one| before.get(&one.date) != Some(one))
        .collect();
    let is_gone = |date: &&Date| **date < since || !totals.contains_key(*date);
    let gone: Vec<Date> = before.keys().filter(is_gone).copied().collect();
    let mut touched = DaySet::default();
    for date in copies
        .iter()
        .map(|one| one.date)
        .chain(gone.iter().copied())
    {
        touched.add(link.athlete_id, date);
    }
    let moment = &mut *there.moment;
    shared_day_totals::append(there.conn, tenant, moment, link_id, (&copies, &gone))?;
    flags::rejudge(there, &touched)
}

/// Brings later changes of what a consent shares to the other club. Says whether there was anything to follow.
pub async fn follow(app: &App, club: ClubId, id: ConsentId) -> Result<bool, Problem> {
    let tenant = Tenant::granted(club);
    let found = app
        .store
        .read(tenant, move |conn| consents::current(conn, tenant, id))
        .await?;
    let consent = found.map(|found| found.content);
    let Some((consent, beside)) = consent.and_then(|one| Some((one.clone(), one.recipient_club?)))
    else {
        return Ok(false);
    };
    let caller = Caller::job(tenant, "sharing", app.clock.now());
    let followed = write::job_beside(app, caller, beside, move |change, beside| {
        // It may have been withdrawn since it was read.
        let current = consents::current(change.conn, tenant, consent.consent_id)?;
        let current = current.map(|current| current.content);
        let current =
            current.filter(|one| standing(&[instants(one)], change.at()) == Standing::InForce);
        match current
            .as_ref()
            .and_then(|one| Some((one, one.recipient_link?)))
        {
            Some(share) => bring(change, beside, share).map(|()| true),
            None => Ok(false),
        }
    })
    .await?;
    Ok(followed == Some(true))
}
