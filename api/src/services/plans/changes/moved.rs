//! One session on another date: the best move after which no rule is broken that was not before.

use jiff::ToSpan;
use jiff::civil::Date;
use plimsoll_domain::plan::{Move, Plan, moves};
use plimsoll_domain::{Certainty, IsoWeek, RuleCode};

use super::Ground;
use crate::services::plans::check::JudgedWeek;
use crate::services::plans::sessions::NamedSession;

/// Most moves after which the plan is judged again, from the best on.
const MOST_TRIED: usize = 50;

/// How far a session may be moved.
#[derive(Debug, Clone, Copy)]
pub struct MoveAsked {
    /// At most so many days.
    pub days: u8,
    /// The first date that is still to come; `None` where all of them are.
    pub from: Option<Date>,
}

/// A move of one session.
#[derive(Debug)]
pub struct FoundMove {
    /// The session, where it is planned.
    pub session: NamedSession,
    /// Where to, and what it does.
    pub found: Move,
}

/// A rule that a week breaks.
struct Broke {
    week: IsoWeek,
    rule: RuleCode,
    certainty: Certainty,
}

impl Ground<'_> {
    /// The best of the moves that break no rule, if one of the first ones does not.
    pub(super) fn best_move(&self, asked: MoveAsked) -> Option<FoundMove> {
        let plan = &self.ready.plan;
        let before = broke(&self.judged);
        let to_come = |found: &Move| {
            let planned = found.session.date;
            let both = [Some(planned), moved_to(found)];
            both.iter().all(|date| {
                asked
                    .from
                    .is_none_or(|from| date.is_some_and(|date| date >= from))
            })
        };
        let ranked = moves(self.limit, &self.before, &plan.plan, asked.days);
        let ranked = ranked.into_iter().filter(to_come).take(MOST_TRIED);
        let found = ranked
            .into_iter()
            .find(|found| self.breaks_nothing_new(found, &before).unwrap_or(false))?;
        let mut sessions = plan.sessions.iter();
        let session = sessions.find(|one| one.session == found.session)?.clone();
        Some(FoundMove { session, found })
    }

    /// Whether each rule that is broken after a move was broken before; `None` where a date would be too full.
    fn breaks_nothing_new(&self, found: &Move, before: &[Broke]) -> Option<bool> {
        let plan = self.after(found)?;
        let judged = self.ready.judge(&plan, self.athlete).ok()?;
        let known = |after: &Broke| before.iter().any(|before| before.covers(after));
        Some(broke(&judged).iter().all(known))
    }

    /// The plan with one session on its other date.
    fn after(&self, found: &Move) -> Option<Plan> {
        let plan = &self.ready.plan.plan;
        let mut sessions = plan.sessions().to_vec();
        let session = sessions.iter_mut().find(|one| **one == found.session)?;
        session.date = moved_to(found)?;
        let weeks = u8::try_from(plan.weeks().count()).ok()?;
        Plan::new(plan.first(), weeks, sessions).ok()
    }
}

impl Broke {
    /// Whether it says all that another does: what was possible does not cover what is certain.
    fn covers(&self, other: &Self) -> bool {
        (self.week, self.rule) == (other.week, other.rule)
            && (self.certainty == Certainty::Certain || other.certainty == Certainty::Possible)
    }
}

fn broke(weeks: &[JudgedWeek]) -> Vec<Broke> {
    let of_week = |judged: &JudgedWeek| -> Vec<Broke> {
        let broken = judged.broken().into_iter();
        broken
            .map(|broken| Broke {
                week: judged.week.figures.week,
                rule: broken.rule(),
                certainty: broken.certainty(),
            })
            .collect()
    };
    weeks.iter().flat_map(of_week).collect()
}

fn moved_to(found: &Move) -> Option<Date> {
    let days = i64::from(found.days).days();
    found.session.date.checked_add(days).ok()
}
