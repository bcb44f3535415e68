//! Erasing all that is kept of an athlete.
//!
//! One transaction takes away her rows, the copies that another club holds of her days, and every kept answer that could repeat any of
//! it; marks the closed weeks whose figures about a group would tell her by the difference; and enters the erasure as a proof without
//! the data. What follows it ([`finish()`]) can be repeated: a line in a file outside the database, by which she is erased again after a
//! restore, and making the database forget the bytes.

mod answer;
pub mod file;
mod finish;

use plimsoll_domain::RecordClass;
use serde::Deserialize;
use serde_json::Value;
use utoipa::ToSchema;

pub use answer::{ErasureAnswer, ErasureEntry, RowsErased, StayingTable};
pub use finish::finish;

use self::file::Filed;
use super::fields::{self, Faults};
use super::write::{self, Beside, Change};
use super::{reach, sharing};
use crate::app::App;
use crate::auth::tenant::Caller;
use crate::error::{Code, Problem};
use crate::ids::{AthleteId, ClubId};
use crate::store::erasures::{self, Erasure};
use crate::store::subject_records::Counts;
use crate::store::{
    Conn, ErasureReason, Tenant, Who, athletes, clubs, consents, second_copies, subject_records,
};

/// What an erasure is asked for with.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"reason": "asked_by_guardian"}))]
pub struct ErasureInput {
    /// Why: asked_by_athlete, asked_by_guardian, left, term_over or entered_by_mistake.
    #[schema(value_type = String)]
    pub reason: Option<String>,
}

impl ErasureInput {
    fn check(&self) -> Result<ErasureReason, Problem> {
        let codes = || fields::list(ErasureReason::ALL.iter().map(|reason| reason.code()));
        let (given, mut faults) = (self.reason.as_deref(), Faults::default());
        let reason = fields::coded("/reason", given, ErasureReason::parse, codes);
        let reason = faults.take(reason);
        faults.settle(reason)
    }
}

/// The other clubs that an athlete's day totals go to, before anything is locked.
///
/// # Errors
/// Those of the store.
pub fn recipients(
    conn: &mut Conn,
    tenant: Tenant,
    athlete_id: AthleteId,
) -> Result<Vec<ClubId>, Problem> {
    let given = consents::of(conn, tenant, Who::Athletes(&[athlete_id]))?;
    let standing = given.into_iter().map(|one| one.content);
    let standing = standing.filter(|one| one.withdrawn_at.is_none());
    Ok(standing.filter_map(|one| one.recipient_club).collect())
}

/// Erases all that is kept of an athlete.
///
/// # Errors
/// 404 without her; 422 with every fault; 503 where a club that her days go to is not among `besides`, so that it has to be tried again.
pub fn erase(
    change: &mut Change<'_>,
    besides: &mut [Beside],
    athlete_id: AthleteId,
    input: impl FnOnce() -> Result<ErasureInput, Problem>,
) -> Result<ErasureAnswer, Problem> {
    reach::athlete_ever(change.conn, change.tenant(), athlete_id)?;
    let principal = &change.caller.principal;
    let erasure = Erasure {
        reason: input()?.check()?,
        erasure_id: change.new_id(),
        athlete_id,
        at: change.at(),
        by_subject: principal.subject.clone(),
        acting_role: principal.role.code().to_owned(),
        counts: Value::Null,
        filed_at: None,
        cleaned_at: None,
    };
    let others = second_copies::one_with(change.conn, change.tenant(), athlete_id)?;
    let mut counts = carry_out(change, besides, erasure.clone())?;
    for other in others {
        // Under the other key she is erased too, which is entered by itself.
        let other = Erasure {
            erasure_id: change.new_id(),
            athlete_id: other,
            ..erasure.clone()
        };
        for (table, rows) in carry_out(change, besides, other)? {
            *counts.entry(table).or_default() += rows;
        }
    }
    Ok(ErasureAnswer::new(&erasure, &counts))
}

/// Erases an athlete again who is back after a restore, and enters the erasure again. Answers how many rows were erased.
///
/// # Errors
/// 404 where the club is not there; as [`erase`].
pub async fn again(app: &App, filed: Filed) -> Result<usize, Problem> {
    let (tenant, athlete_id) = (Tenant::granted(filed.club_id), filed.athlete_id);
    let others = app
        .store
        .read(tenant, move |conn| recipients(conn, tenant, athlete_id))
        .await?;
    let now = app.clock.now();
    let caller = Caller::job(tenant, "erasures-replay", now);
    write::job_among(app, caller, others, move |change, besides| {
        let erasure = filed.entered_again(now);
        let is_back = athletes::created_at(change.conn, tenant, athlete_id)?.is_some();
        if is_back {
            return Ok(carry_out(change, besides, erasure)?.values().sum());
        }
        erasures::insert(change.conn, tenant, change.moment, &erasure)?;
        Ok(0)
    })
    .await
}

fn carry_out(
    change: &mut Change<'_>,
    besides: &mut [Beside],
    erasure: Erasure,
) -> Result<Counts, Problem> {
    let (tenant, athlete_id) = (change.tenant(), erasure.athlete_id);
    end_sharing(change, besides, athlete_id)?;
    let counts = subject_records::erase(change.conn, tenant, athlete_id, RecordClass::ALL)?;
    let erasure = Erasure {
        counts: counts
            .iter()
            .map(|(table, rows)| ((*table).to_owned(), Value::from(*rows)))
            .collect(),
        ..erasure
    };
    erasures::insert(change.conn, tenant, change.moment, &erasure)?;
    Ok(counts)
}

/// Ends what is shared of her with other clubs: the copies leave them in this transaction.
fn end_sharing(
    change: &mut Change<'_>,
    besides: &mut [Beside],
    athlete_id: AthleteId,
) -> Result<(), Problem> {
    let tenant = change.tenant();
    for given in consents::of(change.conn, tenant, Who::Athletes(&[athlete_id]))? {
        let consent = given.content;
        let (None, Some(club), Some(link)) = (
            consent.withdrawn_at,
            consent.recipient_club,
            consent.recipient_link,
        ) else {
            continue;
        };
        let beside = besides
            .iter_mut()
            .find(|one| one.tenant().club_id() == club);
        if beside.is_none() && clubs::find(change.conn, Tenant::granted(club))?.is_some() {
            let detail = "Sharing with another club began at this moment; repeat the request.";
            return Err(Problem::new(Code::Busy, detail).retry_after(1));
        }
        sharing::end(change, beside, (consent.consent_id, link))?;
    }
    Ok(())
}
