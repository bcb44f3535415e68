//! Judgements that rested on what another organisation no longer shares: kept, and no longer shown.

use std::collections::BTreeMap;

use diesel::prelude::*;

use crate::ids::{AthleteId, FlagId};
use crate::store::backend::{BATCH, each_backend};
use crate::store::codes::FlagState;
use crate::store::schema::{flag_versions, flags};
use crate::store::types::Sql;
use crate::store::{Conn, Moment, StoreError, Tenant};

/// One judgement, as far as it matters here.
type Made = (FlagId, i64, Sql<FlagState>, bool);

/// Hides the judgements of an athlete made after one change of the club and not after another that have been judged anew since,
/// and the withdrawals of flags of which nothing else is left to be shown.
///
/// # Errors
/// Those of the database.
pub fn hide(
    conn: &mut Conn,
    tenant: Tenant,
    moment: &Moment,
    athlete_id: AthleteId,
    (after, up_to): (i64, i64),
) -> Result<(), StoreError> {
    let made: Vec<Made> = each_backend!(conn, |c| flags::table
        .inner_join(
            flag_versions::table.on(flag_versions::club_id
                .eq(flags::club_id)
                .and(flag_versions::flag_id.eq(flags::flag_id)))
        )
        .filter(flags::club_id.eq(tenant.club_id()))
        .filter(flags::athlete_id.eq(athlete_id))
        .filter(flag_versions::hidden_at.is_null())
        .order((flag_versions::flag_id, flag_versions::version))
        .select((
            flag_versions::flag_id,
            flag_versions::seq,
            flag_versions::state,
            flag_versions::superseded_at.is_null(),
        ))
        .load(c))?;
    let rested = |(_, seq, _, is_current): &Made| *seq > after && *seq <= up_to && !is_current;
    let mut of_flag: BTreeMap<FlagId, Vec<Made>> = BTreeMap::new();
    for one in made {
        of_flag.entry(one.0).or_default().push(one);
    }
    let mut hidden: Vec<i64> = Vec::new();
    for versions in of_flag.into_values() {
        let (gone, left): (Vec<Made>, Vec<Made>) = versions.into_iter().partition(rested);
        let withdrawn = |(_, _, state, _): &Made| *state == Sql(FlagState::Withdrawn);
        if !gone.is_empty() && left.iter().all(withdrawn) {
            hidden.extend(left.iter().map(|(_, seq, ..)| *seq));
        }
        hidden.extend(gone.iter().map(|(_, seq, ..)| *seq));
    }
    for chunk in hidden.chunks(BATCH) {
        each_backend!(conn, |c| diesel::update(flag_versions::table)
            .filter(flag_versions::club_id.eq(tenant.club_id()))
            .filter(flag_versions::seq.eq_any(chunk))
            .set(flag_versions::hidden_at.eq(Sql(Some(moment.at()))))
            .execute(c))?;
    }
    Ok(())
}
