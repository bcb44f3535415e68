//! Day totals that one club shares with another by a family's consent.
//!
//! An athlete in two clubs is two athletes, and no row names both. Her family names the organisation in the club that is to receive
//! totals and gets a code; with the code the consent is given in the club that shares. From then on the receiving club holds copies:
//! date, AU and minutes of what the other club organises, and nothing else. They count in its figures as a second club.
//!
//! Giving and withdrawing change both clubs in one transaction, so that a withdrawal is over when it is answered: the copies are
//! gone, of past states of knowledge too, flags are judged again, and judgements that rested on the copies are no longer shown.
//! Later changes of the totals follow by a job within half a minute: a club's write that waited for another club would let each hold
//! up the other.

mod code;
mod copy;
pub mod links;

pub use code::SharingCode;
pub use copy::follow;

use plimsoll_domain::consent::{Consent as Instants, Standing, standing};

use super::consents::instants;
use super::write::{Beside, Change};
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{AthleteId, ConsentId, LinkId};
use crate::store::consents::{self, Consent};
use crate::store::sharing_links::{self, SharingLink};
use crate::store::{Conn, DaySet, Tenant, Who, flags as judgements, shared_day_totals, shares};

/// The link that a code opens in the club beside.
pub fn open_link<'a>(
    change: &mut Change<'_>,
    beside: Option<&'a mut Beside>,
    code: &str,
) -> Result<Result<(SharingLink, &'a mut Beside), FieldProblem>, Problem> {
    // What was given stays out of the answer: it may be somebody's secret.
    let unknown = || FieldProblem {
        given: None,
        ..FieldProblem::new("/sharing_code", Code::UnknownSharingCode, "")
    };
    let (Some(code), Some(beside)) = (SharingCode::parse(code), beside) else {
        return Ok(Err(unknown()));
    };
    if code.club != beside.tenant().club_id() {
        return Ok(Err(unknown()));
    }
    let link = beside.change(change, |there| {
        let tenant = there.tenant();
        let found = sharing_links::find(there.conn, tenant, code.link)?;
        let at = there.at();
        let is_open = |link: &SharingLink| {
            code.fits(&link.code_hash)
                && at < link.code_until
                && link.linked_at.is_none()
                && link.left_at.is_none()
        };
        Ok(found.filter(is_open))
    })?;
    Ok(link.map(|link| (link, beside)).ok_or_else(unknown))
}

/// Begins to share by a consent that was just given.
pub fn begin(
    change: &mut Change<'_>,
    beside: &mut Beside,
    (consent, link): (&Consent, SharingLink),
) -> Result<(), Problem> {
    let link_id = link.link_id;
    beside.change(change, |there| {
        let linked = SharingLink {
            linked_at: Some(there.at()),
            linked_seq: Some(there.moment.last_seq()),
            ..link
        };
        Ok(sharing_links::update(
            there.conn,
            there.caller.tenant,
            linked,
        )?)
    })?;
    copy::bring(change, beside, (consent, link_id))
}

/// Ends sharing: the copies leave, flags are judged without them, and what rested on them is no longer shown.
pub fn end(
    change: &mut Change<'_>,
    beside: Option<&mut Beside>,
    (consent_id, link_id): (ConsentId, LinkId),
) -> Result<(), Problem> {
    let tenant = change.tenant();
    shares::remove(change.conn, tenant, consent_id)?;
    // A club that is no more holds no copies.
    let Some(beside) = beside else {
        return Ok(());
    };
    beside.change(change, |there| {
        let tenant = there.tenant();
        let found = sharing_links::find(there.conn, tenant, link_id)?;
        let Some(link) = found.filter(|link| link.ended_at.is_none()) else {
            return Ok(());
        };
        let copies = shared_day_totals::of_link(there.conn, tenant, link_id)?;
        let mut touched = DaySet::default();
        for copy in &copies {
            touched.add(copy.athlete_id, copy.date);
        }
        shared_day_totals::remove(there.conn, tenant, link_id)?;
        let rested_on = (link.linked_seq.unwrap_or(0), there.moment.last_seq());
        super::flags::rejudge(there, &touched)?;
        let athlete = link.athlete_id;
        judgements::hide(there.conn, tenant, there.moment, athlete, rested_on)?;
        let ended = SharingLink {
            ended_at: Some(there.at()),
            ..link
        };
        Ok(sharing_links::update(there.conn, tenant, ended)?)
    })
}

/// Totals that leave the club, or lie in it as copies.
#[derive(Debug, Clone)]
pub struct Flow {
    /// Whose.
    pub athlete_id: AthleteId,
    consent: Option<Instants>,
}

impl Flow {
    /// How things stand with the consent behind it.
    pub fn standing(&self, at: jiff::Timestamp) -> Standing {
        standing(self.consent.as_slice(), at)
    }
}

/// Every flow of the club: what it shares, with the consent to it, and the links it holds copies by. The consent to those was given
/// in the other club, and its end was told here.
pub fn flows(conn: &mut Conn, tenant: Tenant) -> Result<Vec<Flow>, Problem> {
    let shared = shares::all(conn, tenant)?;
    let given = consents::current_many(conn, tenant, &shared)?;
    let leaving = given.iter().map(|one| Flow {
        athlete_id: one.content.athlete_id,
        consent: Some(instants(&one.content)),
    });
    let mut flows: Vec<Flow> = leaving.collect();
    let held = shared_day_totals::links(conn, tenant)?;
    let links = sharing_links::of(conn, tenant, Who::WholeClub)?;
    let lying = links.iter().filter(|link| held.contains(&link.link_id));
    flows.extend(lying.map(|link| Flow {
        athlete_id: link.athlete_id,
        consent: link.linked_at.map(|linked_at| Instants {
            given_at: linked_at,
            from: linked_at,
            until: None,
            withdrawn_at: link.ended_at,
        }),
    }));
    Ok(flows)
}
