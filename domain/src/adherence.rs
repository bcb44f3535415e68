//! How far a plan was followed: sessions and load done against planned, by kind of session.
//!
//! `100 x done / planned` per cent, of sessions and of AU, over the planned sessions; what was done beside
//! the plan is told apart and never makes up for it. A planned session of which nothing is known yet may
//! have been missed or done, at up to session RPE 10 for its planned minutes. A plan that was not followed
//! is a matter to talk about, not a fault. Common practice, no source.

use std::collections::BTreeMap;

use crate::exact::Fraction;
use crate::figure::{Bounds, Figure};
use crate::load::Load;
use crate::reason::Reason;
use crate::session::Kind;
use crate::units::{Minutes, Rpe};

/// A session of the plan, or beside it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Followed {
    /// Planned and done.
    Done {
        /// As planned.
        planned: Load,
        /// As logged.
        done: Load,
    },
    /// Planned and declared not done.
    Missed {
        /// As planned.
        planned: Load,
    },
    /// Planned, and not known whether done.
    Unlogged {
        /// As planned.
        planned: Load,
        /// Its planned minutes.
        minutes: Minutes,
    },
    /// Done, and not in the plan.
    Extra {
        /// As logged.
        done: Load,
    },
}

/// What was planned and what was done.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Adherence {
    /// Sessions planned.
    pub planned_sessions: u32,
    /// Their load.
    pub planned: Load,
    /// Those of them that were done.
    pub done_sessions: Bounds<u32>,
    /// What these weighed.
    pub done: Bounds<Load>,
    /// Sessions that were not in the plan.
    pub extra_sessions: u32,
    /// Their load.
    pub extra: Load,
}

impl Adherence {
    /// Planned sessions that were done, per cent; missing with [`Reason::NothingPlanned`].
    #[must_use]
    pub fn sessions_pct(&self) -> Figure<Fraction> {
        let done = self.done_sessions.map(i64::from);
        per_cent(done, self.planned_sessions.into(), Reason::NothingPlanned)
    }

    /// Planned load that was done, per cent; missing with [`Reason::NothingPlanned`], or
    /// [`Reason::NoLoad`] where what is planned weighs nothing.
    #[must_use]
    pub fn load_pct(&self) -> Figure<Fraction> {
        let reason = if self.planned_sessions == 0 {
            Reason::NothingPlanned
        } else {
            Reason::NoLoad
        };
        per_cent(self.done.map(Load::half_au), self.planned.half_au(), reason)
    }

    fn with(self, session: Followed) -> Adherence {
        let (planned, sessions, done) = match session {
            Followed::Done { planned, done } => (planned, Bounds::exact(1), Bounds::exact(done)),
            Followed::Missed { planned } => (planned, Bounds::exact(0), Bounds::default()),
            Followed::Unlogged { planned, minutes } => {
                let high = Load::of(Rpe::MAX, minutes);
                let sessions = Bounds {
                    high: 1,
                    ..Bounds::default()
                };
                (
                    planned,
                    sessions,
                    Bounds {
                        high,
                        ..Bounds::default()
                    },
                )
            }
            Followed::Extra { done } => {
                return Adherence {
                    extra_sessions: self.extra_sessions + 1,
                    extra: self.extra + done,
                    ..self
                };
            }
        };
        Adherence {
            planned_sessions: self.planned_sessions + 1,
            planned: self.planned + planned,
            done_sessions: self.done_sessions + sessions,
            done: self.done + done,
            ..self
        }
    }
}

fn per_cent(done: Bounds<i64>, planned: i64, nothing: Reason) -> Figure<Fraction> {
    let of = |done: i64| Fraction::new(100 * done, planned);
    match (of(done.low), of(done.point), of(done.high)) {
        (Some(low), Some(point), Some(high)) => Figure::bounded(Bounds { low, point, high }),
        _ => Figure::none(nothing),
    }
}

/// What was followed of all sessions together.
///
/// ```
/// use plimsoll_domain::adherence::{Followed, adherence};
/// use plimsoll_domain::{Fraction, Load};
/// let planned = Load::from_au(225);
/// let done = |au| Followed::Done { planned, done: Load::from_au(au) };
/// let found = adherence([done(205), done(225), Followed::Missed { planned }]);
/// assert_eq!((found.planned_sessions, found.done_sessions.point), (3, 2));
/// assert_eq!(found.load_pct().point, Fraction::new(100 * 430, 675));
/// ```
#[must_use]
pub fn adherence(sessions: impl IntoIterator<Item = Followed>) -> Adherence {
    sessions
        .into_iter()
        .fold(Adherence::default(), Adherence::with)
}

/// The same for each kind of session.
#[must_use]
pub fn adherence_by_kind(
    sessions: impl IntoIterator<Item = (Kind, Followed)>,
) -> BTreeMap<Kind, Adherence> {
    let mut kinds: BTreeMap<Kind, Adherence> = BTreeMap::new();
    for (kind, session) in sessions {
        let slot = kinds.entry(kind).or_default();
        *slot = slot.with(session);
    }
    kinds
}

#[cfg(test)]
mod tests {
    use super::*;

    const PLANNED: Load = Load::from_au(225);

    fn done(au: u16) -> Followed {
        Followed::Done {
            planned: PLANNED,
            done: Load::from_au(au),
        }
    }

    /// Planned 675 AU in three sessions, done 430 in two.
    #[test]
    fn tells_sessions_and_load() {
        let missed = Followed::Missed { planned: PLANNED };
        let found = adherence([done(205), done(225), missed]);
        assert_eq!(
            (found.planned, found.done),
            (Load::from_au(675), Bounds::exact(Load::from_au(430)))
        );
        assert_eq!(
            found.sessions_pct(),
            Figure::exact(Fraction::new(200, 3).unwrap())
        );
        assert_eq!(found.load_pct().point, Fraction::new(43_000, 675));
    }

    #[test]
    fn what_is_beside_the_plan_never_makes_up_for_it() {
        let extra = Followed::Extra {
            done: Load::from_au(900),
        };
        let found = adherence([done(225), Followed::Missed { planned: PLANNED }, extra]);
        assert_eq!(found.load_pct(), Figure::exact(Fraction::whole(50)));
        assert_eq!((found.extra_sessions, found.extra), (1, Load::from_au(900)));
        let only = adherence([extra]);
        assert_eq!(only.load_pct(), Figure::none(Reason::NothingPlanned));
        assert_eq!(only.sessions_pct(), Figure::none(Reason::NothingPlanned));
        let weightless = adherence([Followed::Missed {
            planned: Load::ZERO,
        }]);
        assert_eq!(weightless.load_pct(), Figure::none(Reason::NoLoad));
        assert_eq!(weightless.sessions_pct(), Figure::exact(Fraction::ZERO));
    }

    /// 45 minutes may have weighed up to 450 AU.
    #[test]
    fn an_unlogged_session_leaves_a_range() {
        let open = Followed::Unlogged {
            planned: PLANNED,
            minutes: Minutes::new(45).unwrap(),
        };
        let found = adherence([done(225), open]);
        let (sessions, load) = (found.sessions_pct(), found.load_pct());
        assert_eq!(sessions.low, Some(Fraction::whole(50)));
        assert_eq!(sessions.high, Some(Fraction::whole(100)));
        assert_eq!(
            (load.point, load.high),
            (Some(Fraction::whole(50)), Some(Fraction::whole(150)))
        );
    }

    #[test]
    fn kinds_add_up_to_all() {
        let sessions = [
            (Kind::Strength, done(200)),
            (Kind::Game, done(500)),
            (Kind::Strength, Followed::Missed { planned: PLANNED }),
        ];
        let kinds = adherence_by_kind(sessions);
        assert_eq!(kinds[&Kind::Strength].planned_sessions, 2);
        assert_eq!(kinds[&Kind::Game].done_sessions, Bounds::exact(1));
        let all = adherence(sessions.map(|(_, session)| session));
        assert_eq!(
            kinds.values().map(|kind| kind.done.point).sum::<Load>(),
            all.done.point
        );
        assert_eq!(
            kinds.values().map(|kind| kind.planned).sum::<Load>(),
            all.planned
        );
    }
}
