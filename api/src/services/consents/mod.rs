//! Consents: given by whoever decides for the athlete, never for what has already happened, and withdrawn at once.

mod answer;
pub mod gaps;
pub mod gate;
mod input;
pub mod settings;

pub use answer::ConsentAnswer;
pub use input::{ConsentInput, WithdrawalInput};

use jiff::Timestamp;
use plimsoll_domain::consent::{Decides, Standing, decides, standing};

use super::fields::Faults;
use super::write::{Beside, Change};
use super::{reach, sharing, zones};
use crate::auth::Role;
use crate::auth::tenant::Caller;
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{AthleteId, ClubId, ConsentId};
use crate::store::athletes::Athlete;
use crate::store::consents::{self, Consent};
use crate::store::{self, Conn, ConsentGiver, Known, Private, Tenant, Versioned, Who, athletes};

/// Puts a consent on record. Of one class of data for one recipient one consent stands at a time, so that a withdrawal leaves
/// nothing behind.
///
/// Where it is for another club, that is the club beside, which the code names.
///
/// # Errors
/// 403 for whoever does not decide; 422 with every fault.
pub fn give(
    change: &mut Change<'_>,
    beside: Option<&mut Beside>,
    athlete_id: AthleteId,
    input: impl FnOnce() -> Result<ConsentInput, Problem>,
) -> Result<ConsentAnswer, Problem> {
    let given_by = speaker(change, athlete_id)?;
    let (tenant, at, on_paper) = (change.tenant(), change.at(), is_on_paper(change.caller));
    let mut faults = Faults::default();
    let input = input()?;
    let who = (change.new_id(), athlete_id, given_by);
    let mut made = input.check(who, (at, on_paper), &mut faults);
    let mut other = None;
    if let (Some(made), Some(code)) = (&mut made, &input.sharing_code) {
        let link = sharing::open_link(change, beside, code)?;
        if let Some((link, beside)) = faults.take(link) {
            made.recipient_club = Some(beside.tenant().club_id());
            made.recipient_link = Some(link.link_id);
            other = Some((link, beside));
        }
    }
    if let Some(made) = &made {
        let others = consents::of(change.conn, tenant, Who::Athletes(&[athlete_id]))?;
        faults.extend(standing_already(made, &others, at));
    }
    let consent = faults.settle(made)?;
    let (id, stored_as) = (consent.consent_id, consent.clone());
    change.store_with(|conn, tenant, moment, author| {
        consents::insert(conn, tenant, moment, author, &[stored_as])
    })?;
    if let Some((link, beside)) = other {
        sharing::begin(change, beside, (&consent, link))?;
    }
    Ok(ConsentAnswer::new(stored(change.conn, tenant, id)?, at))
}

/// Withdraws a consent from this instant on. It stays on record; withdrawn twice it is unchanged.
///
/// # Errors
/// 403 for whoever does not decide; 404; 422 with every fault.
pub fn withdraw(
    change: &mut Change<'_>,
    beside: Option<&mut Beside>,
    (athlete_id, id): (AthleteId, ConsentId),
    input: impl FnOnce() -> Result<WithdrawalInput, Problem>,
) -> Result<ConsentAnswer, Problem> {
    let current = find(change.conn, change.caller, (athlete_id, id))?;
    let withdrawn_by = speaker(change, athlete_id)?;
    let (tenant, at, on_paper) = (change.tenant(), change.at(), is_on_paper(change.caller));
    let mut faults = Faults::default();
    let evidence = input()?.check(on_paper, &mut faults);
    let evidence = faults.settle(evidence)?;
    if current.content.withdrawn_at.is_none() {
        let withdrawal = store::Change {
            replaces: current.version.number,
            content: Consent {
                withdrawn_at: Some(at),
                withdrawn_by: Some(withdrawn_by),
                withdrawal_evidence: evidence.map(Private::from),
                ..current.content
            },
            deleted: false,
        };
        let link = withdrawal.content.recipient_link;
        change.store_with(|conn, tenant, moment, author| {
            consents::supersede(conn, tenant, moment, author, &[withdrawal])
        })?;
        if let Some(link) = link {
            sharing::end(change, beside, (id, link))?;
        }
    }
    Ok(ConsentAnswer::new(stored(change.conn, tenant, id)?, at))
}

/// The other club that a consent is for, before anything is locked: it never changes.
pub fn recipient_club(
    conn: &mut Conn,
    tenant: Tenant,
    id: ConsentId,
) -> Result<Option<ClubId>, Problem> {
    let found = consents::current(conn, tenant, id)?;
    Ok(found.and_then(|one| one.content.recipient_club))
}

/// The athlete whose consents are asked for: one within the caller's reach, or anybody for who answers for personal data.
///
/// # Errors
/// 404.
pub fn subject(
    conn: &mut Conn,
    caller: &Caller,
    athlete_id: AthleteId,
) -> Result<Versioned<Athlete>, Problem> {
    if !is_on_paper(caller) {
        return reach::athlete(conn, caller, athlete_id);
    }
    let who = [athlete_id];
    let found = athletes::known(conn, caller.tenant, Who::Athletes(&who), Known::Now)?;
    found.into_iter().next().ok_or_else(Problem::not_found)
}

/// The consent of an id, of this athlete.
///
/// # Errors
/// 404.
pub fn find(
    conn: &mut Conn,
    caller: &Caller,
    (athlete_id, id): (AthleteId, ConsentId),
) -> Result<Versioned<Consent>, Problem> {
    subject(conn, caller, athlete_id)?;
    let found = consents::current(conn, caller.tenant, id)?;
    let found = found.filter(|one| one.content.athlete_id == athlete_id && !one.version.deleted);
    found.ok_or_else(Problem::not_found)
}

/// Who decides for an athlete at an instant, by her birthday at home and the age the club has set.
pub fn decides_at(
    conn: &mut Conn,
    tenant: Tenant,
    athlete: &Athlete,
    at: Timestamp,
) -> Result<Decides, Problem> {
    let today = zones::home(conn, tenant, athlete)?.to_datetime(at).date();
    let own_age = settings::current(conn, tenant)?.own_age()?;
    Ok(decides(athlete.birth_date, own_age, today))
}

/// The instants of a consent, which are all that decides whether it holds.
pub fn instants(consent: &Consent) -> plimsoll_domain::consent::Consent {
    plimsoll_domain::consent::Consent {
        given_at: consent.given_at,
        from: consent.from_at,
        until: consent.until_at,
        withdrawn_at: consent.withdrawn_at,
    }
}

/// In whose name the caller speaks: a guardian and the athlete each for themselves while they decide, and whoever answers for
/// personal data for the one of the two whose signed form is at hand.
pub fn speaker(change: &mut Change<'_>, athlete_id: AthleteId) -> Result<ConsentGiver, Problem> {
    let (tenant, now, role) = (change.tenant(), change.at(), change.caller.principal.role);
    let athlete = subject(change.conn, change.caller, athlete_id)?.content;
    match (decides_at(change.conn, tenant, &athlete, now)?, role) {
        (Decides::Guardian, Role::Guardian | Role::PrivacyLead) => Ok(ConsentGiver::Guardian),
        (Decides::Athlete, Role::Athlete | Role::PrivacyLead) => Ok(ConsentGiver::Athlete),
        (Decides::Guardian, _) => {
            let detail = "Her guardians decide; she may always read what was consented to.";
            Err(Problem::new(Code::GuardianDecides, detail))
        }
        (Decides::Athlete, _) => {
            let detail = "She decides for herself; what guardians gave holds until she changes it.";
            Err(Problem::new(Code::AthleteDecides, detail))
        }
    }
}

/// Whether the caller enters what somebody else has signed.
fn is_on_paper(caller: &Caller) -> bool {
    caller.principal.role == Role::PrivacyLead
}

/// A fault for each class of data that stands for the same recipient already.
fn standing_already(
    made: &Consent,
    others: &[Versioned<Consent>],
    at: Timestamp,
) -> Vec<FieldProblem> {
    let stands = |one: &&Versioned<Consent>| {
        let standing = standing(&[instants(&one.content)], at);
        (one.content.recipient_role, one.content.recipient_club)
            == (made.recipient_role, made.recipient_club)
            && matches!(standing, Standing::InForce | Standing::ToCome)
    };
    let others: Vec<&Consent> = others
        .iter()
        .filter(stands)
        .map(|one| &one.content)
        .collect();
    let classes = made.data_classes.0.iter().enumerate();
    let taken =
        classes.filter(|(_, class)| others.iter().any(|one| one.data_classes.0.contains(class)));
    let fault = |(place, class): (usize, &plimsoll_domain::consent::DataClass)| {
        let pointer = format!("/data_classes/{place}");
        FieldProblem::new(pointer, Code::ConsentStands, class.code())
    };
    taken.map(fault).collect()
}

fn stored(conn: &mut Conn, tenant: Tenant, id: ConsentId) -> Result<Versioned<Consent>, Problem> {
    consents::current(conn, tenant, id)?.ok_or_else(Problem::not_found)
}
