//! What athletes usually rate, and whether their ratings say much: one query for any number of them.

use std::collections::BTreeMap;

use jiff::SignedDuration;
use jiff::civil::Date;
use plimsoll_domain::age::rates_less_dependably;
use plimsoll_domain::{Habit, Kind, Rated, Rpe, UsualRange, habits};

use crate::error::Problem;
use crate::ids::AthleteId;
use crate::store::ratings::{self, Rating};
use crate::store::{Conn, Known, Tenant, Who};

/// Said beside the figures of an athlete who is below about twelve years. Common practice, no source.
pub const AGE_NOTE: &str = "Below about 12 years ratings are less dependable: give them with somebody's help, and lean on \
    minutes, hours and free days.";

/// What is said of ratings at an age; `None` where nothing is.
pub fn age_note(born: Option<Date>, on: Date) -> Option<&'static str> {
    rates_less_dependably(born, on).then_some(AGE_NOTE)
}

/// What staff should know about habits of rating, said kindly; `None` without any.
pub fn habit_note(habits: &[Habit]) -> Option<String> {
    let why: Vec<&str> = habits.iter().map(|habit| why(*habit)).collect();
    let why = (!why.is_empty()).then(|| why.join("; "))?;
    Some(format!(
        "The ratings may carry little information: {why}. Ask again what each step of the scale means, and 10 to 30 minutes \
         after a session."
    ))
}

const fn why(habit: Habit) -> &'static str {
    match habit {
        Habit::SameRating => {
            "the newest ten or more are all the same, over several kinds of session"
        }
        Habit::BeforeEnd => "most of the newest ten were given before the session was over",
        Habit::OneSitting => "the newest five, of three or more days, were given in one sitting",
    }
}

/// One athlete's own ratings, oldest first.
#[derive(Debug, Clone, Default)]
pub struct OwnRatings(Vec<Rated>);

impl OwnRatings {
    /// The usual range of a kind of session; none of fewer than eight ratings.
    pub fn usual(&self, kind: Kind) -> Option<UsualRange> {
        let of_kind = self.0.iter().filter(|rated| rated.kind == kind);
        let ratings: Vec<Rpe> = of_kind.map(|rated| rated.rpe).collect();
        UsualRange::of(&ratings)
    }

    /// What staff should know about them.
    pub fn note(&self) -> Option<String> {
        habit_note(&habits(&self.0))
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
        let own = found.entry(last.athlete_id).or_default();
        own.0.push(rated(last)?);
    }
    Ok(found)
}

fn rated(rating: &Rating) -> Result<Rated, Problem> {
    Ok(Rated {
        kind: rating.kind,
        rpe: half_steps(rating.rpe_half)?,
        date: rating.load_date,
        ended_at: rating.started_at + SignedDuration::from_mins(rating.minutes.into()),
        given_at: rating.given_at,
    })
}

/// A stored rating; one off the scale is a defect.
pub fn half_steps(stored: i32) -> Result<Rpe, Problem> {
    let steps = u8::try_from(stored).map_err(|error| Problem::internal(&error))?;
    Rpe::from_half_steps(steps).map_err(|error| Problem::internal(&error))
}
