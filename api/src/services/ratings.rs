//! What athletes usually rate, and whether their ratings say much: one query for any number of them.

use std::collections::BTreeMap;

use jiff::civil::Date;
use plimsoll_domain::{Kind, Rpe, UsualRange, little_information};

use crate::error::Problem;
use crate::ids::AthleteId;
use crate::store::ratings::{self, Rating};
use crate::store::{Conn, Known, Tenant, Who};

/// Said to staff, kindly, where ratings are all the same.
pub const LITTLE_INFORMATION: &str = "The ratings may carry little information: the newest ten or \
    more are all the same, over several kinds of session. Ask again what each step of the scale means.";

/// One athlete's own ratings, oldest first.
#[derive(Debug, Clone, Default)]
pub struct OwnRatings(Vec<(Kind, Rpe)>);

impl OwnRatings {
    /// The usual range of a kind of session; none of fewer than eight ratings.
    pub fn usual(&self, kind: Kind) -> Option<UsualRange> {
        let of_kind = self.0.iter().filter(|(of, _)| *of == kind);
        let ratings: Vec<Rpe> = of_kind.map(|(_, rpe)| *rpe).collect();
        UsualRange::of(&ratings)
    }

    /// What staff should know about them.
    pub fn note(&self) -> Option<&'static str> {
        little_information(&self.0).then_some(LITTLE_INFORMATION)
    }
}

/// The ratings that athletes gave themselves of sessions on `from..=to`. Of two reports of one start
/// the one given last counts.
pub fn read(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    (from, to): (Date, Date),
    known: Known,
) -> Result<BTreeMap<AthleteId, OwnRatings>, Problem> {
    let rows = ratings::own_in_dates(conn, tenant, who, from, to, known)?;
    let mut found: BTreeMap<AthleteId, OwnRatings> = BTreeMap::new();
    let one_session = |a: &Rating, b: &Rating| {
        (a.athlete_id, a.started_at, a.kind) == (b.athlete_id, b.started_at, b.kind)
    };
    for given in rows.chunk_by(one_session) {
        let Some(last) = given.last() else { continue };
        let half_steps = u8::try_from(last.rpe_half).map_err(|error| Problem::internal(&error))?;
        let rpe = Rpe::from_half_steps(half_steps).map_err(|error| Problem::internal(&error))?;
        let own = found.entry(last.athlete_id).or_default();
        own.0.push((last.kind, rpe));
    }
    Ok(found)
}
