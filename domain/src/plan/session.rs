//! One session of a plan, and how hard it may turn out to be.

use jiff::civil::{Date, Time};

use crate::contacts::Contacts;
use crate::load::Load;
use crate::neuromuscular::WarmUp;
use crate::session::{Kind, Setting};
use crate::units::{Minutes, Rpe};

/// One session of a plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlanSession {
    /// Its date.
    pub date: Date,
    /// When it starts; `None` where that is not said, and it may be any time of its day.
    pub start: Option<Time>,
    /// Who runs it.
    pub setting: Setting,
    /// What is done.
    pub kind: Kind,
    /// How hard it is meant to be.
    pub intended: Rpe,
    /// How long it is meant to last.
    pub minutes: Minutes,
    /// Not to be cut or moved, such as games and try-outs.
    pub protected: bool,
    /// The landing contacts of its exercises; `None` where they are not said, as those of games.
    pub contacts: Option<Contacts>,
    /// Its neuromuscular warm-up; `None` where it is not said whether it has one.
    pub warm_up: Option<WarmUp>,
}

impl PlanSession {
    /// What it weighs if it is as hard as meant.
    #[must_use]
    pub fn load(&self) -> Load {
        self.load_at(Effort::AsIntended)
    }

    pub(super) fn load_at(&self, effort: Effort) -> Load {
        Load::of(effort.of(self.intended), self.minutes)
    }
}

/// How hard the sessions of a plan turn out to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Effort {
    /// As meant.
    AsIntended,
    /// One point more, at most session RPE 10.
    Harder,
    /// One point less, at least session RPE 0.
    Easier,
}

impl Effort {
    const POINT: u8 = 2;

    fn of(self, intended: Rpe) -> Rpe {
        let half_steps = intended.half_steps();
        let shifted = match self {
            Effort::AsIntended => half_steps,
            Effort::Harder => half_steps + Self::POINT,
            Effort::Easier => half_steps.saturating_sub(Self::POINT),
        };
        Rpe::from_half_steps(shifted).unwrap_or(Rpe::MAX)
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn effort_stays_on_the_scale() {
        let load = |rpe, effort| {
            let session = PlanSession {
                date: date(2026, 8, 3),
                start: None,
                setting: Setting::Club,
                kind: Kind::Practice,
                intended: Rpe::from_f64(rpe).unwrap(),
                minutes: Minutes::new(60).unwrap(),
                protected: false,
                contacts: None,
                warm_up: None,
            };
            session.load_at(effort).to_au()
        };
        assert_eq!(load(5.5, Effort::Harder), 390.0);
        assert_eq!(load(9.5, Effort::Harder), 600.0);
        assert_eq!(load(0.5, Effort::Easier), 0.0);
        assert_eq!(load(5.0, Effort::Easier), 240.0);
    }
}
