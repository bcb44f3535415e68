//! The check of a plan before it starts.
//!
//! Each planned week is judged by the club's rules as if it were done, after the history and the planned
//! weeks before it. Without a history nothing is taken for zero: the weeks whose figures would reach
//! back before the plan cannot be judged. A plan is an intention, to be judged again each week with what
//! was done.

use std::collections::BTreeSet;
use std::ops::Add;

use jiff::civil::Date;

use super::jumps::{JumpsJudgement, PlannedJumps, judge_jumps, planned_jumps};
use super::sensitivity::{Efforts, Sensitivity, at};
use super::session::Effort;
use super::{Plan, PlanError, PlanSession};
use crate::contacts::Contacts;
use crate::figure::Bounds;
use crate::judge::{Certainty, Judgement, Outcome, judge_figures};
use crate::load::Load;
use crate::neuromuscular::{LeastDose, WeekWarmUps};
use crate::organised_rules::{OrganisedJudgement, judge_organised};
use crate::organised_week::OrganisedWeek;
use crate::policy::Policy;
use crate::ratio_limit::RatioLimit;
use crate::reason::Reason;
use crate::rule::Rule;
use crate::series::DailySeries;
use crate::session::Kind;
use crate::week::IsoWeek;
use crate::week_figures::{WeekFigures, week_figures_of};

/// A plan judged by a policy.
#[derive(Clone, Debug)]
pub struct PlanCheck {
    /// Its weeks.
    pub weeks: Vec<WeekCheck>,
    /// All that is planned.
    pub total: Load,
}

impl PlanCheck {
    /// The days on which the seven days that end there are over the limit on the ratio, whatever
    /// weekday it is; none where the policy does not judge the ratio.
    pub fn days_over(&self) -> impl Iterator<Item = DayOver> {
        self.weeks
            .iter()
            .flat_map(|week| week.days_over.iter().copied())
    }
}

/// One planned week judged.
#[derive(Clone, Debug)]
pub struct WeekCheck {
    /// Its figures if it is done as planned.
    pub figures: WeekFigures,
    /// What each enabled rule says, with the load, the limit and the excess.
    pub judgements: Vec<Judgement>,
    /// Its days that are over the limit on the ratio in the rolling view.
    pub days_over: Vec<DayOver>,
    /// What one point of effort more or less would change; `None` where the policy does not judge the
    /// ratio.
    pub sensitivity: Option<Sensitivity>,
    /// Sessions, whoever runs them.
    pub sessions: u32,
    /// Minutes in settings that the policy counts as organised.
    pub organised_minutes: u32,
    /// Days without an organised session.
    pub free_days: u8,
    /// Games.
    pub games: u32,
    /// Planned landing contacts of the sessions that say them.
    pub contacts: Contacts,
    /// Sessions that say nothing of landings, as games.
    pub contacts_not_said: u32,
    /// Its sessions that say their landings, by date and start, with the time since the last jumps.
    pub jumps: Vec<PlannedJumps>,
    /// Planned neuromuscular warm-ups, each as if attended; what counts later is who was there.
    pub warm_ups: WeekWarmUps,
}

impl WeekCheck {
    /// What a rule about organised time says of the week as planned, switched on or not; `None` if the
    /// rule is about something else. `settings_not_shared` organisations may add to what is planned.
    #[must_use]
    pub fn judge_organised(
        &self,
        rule: &Rule,
        born: Option<Date>,
        settings_not_shared: u32,
    ) -> Option<OrganisedJudgement> {
        let week = OrganisedWeek {
            week: self.figures.week,
            minutes: Bounds::exact(self.organised_minutes),
            free_days: Bounds::exact(self.free_days),
            member_days: 7,
            settings_not_shared,
        };
        judge_organised(rule, born, &week)
    }

    /// What a rule about neuromuscular warm-up says of the week as planned, switched on or not; `None` if the
    /// rule is about something else, and of a week without a session, in which no warm-up is expected. Where
    /// none of its sessions says anything of a warm-up nothing is known: [`Reason::NothingSaid`].
    #[must_use]
    pub fn judge_warm_up(&self, rule: &Rule) -> Option<Outcome> {
        let least = LeastDose::of(rule).filter(|_| self.sessions > 0)?;
        if self.warm_ups.nothing_said() {
            return Some(Outcome::NotComputable(Reason::NothingSaid));
        }
        Some(least.judge(&self.warm_ups, true))
    }

    /// What a rule about jumps says of the week as planned, switched on or not; `None` if the rule is about something else. Where there
    /// are sessions and none says its landings nothing is known: [`Reason::NothingSaid`]. A first session with jumps has no time before
    /// it: then the gap is [`Reason::NothingBefore`] unless another is too short.
    #[must_use]
    pub fn judge_jumps(&self, rule: &Rule) -> Option<JumpsJudgement> {
        judge_jumps(rule, &self.jumps, self.contacts_not_said)
    }
}

/// A day over the limit in the rolling view.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DayOver {
    /// The last of the seven days.
    pub date: Date,
    /// How sure it is, given what is unlogged in the history.
    pub certainty: Certainty,
}

/// Judges a plan after a history that ends on the day before it begins.
///
/// # Errors
/// [`PlanError::HistoryGap`] or [`PlanError::HistoryNotRead`].
pub fn check_plan(
    policy: &Policy,
    history: Option<&DailySeries>,
    plan: &Plan,
) -> Result<PlanCheck, PlanError> {
    let efforts = Efforts {
        planned: plan.after(history, Effort::AsIntended)?,
        harder: plan.after(history, Effort::Harder)?,
        easier: plan.after(history, Effort::Easier)?,
    };
    let mut jumps = planned_jumps(plan);
    let weeks = plan.weeks().map(|week| {
        let jumps = jumps.remove(&week).unwrap_or_default();
        check_week(policy, (plan, jumps), &efforts, week)
    });
    Ok(PlanCheck {
        weeks: weeks.collect::<Result<_, _>>()?,
        total: plan.sessions().iter().map(PlanSession::load).sum(),
    })
}

fn check_week(
    policy: &Policy,
    (plan, jumps): (&Plan, Vec<PlannedJumps>),
    efforts: &Efforts,
    week: IsoWeek,
) -> Result<WeekCheck, PlanError> {
    let settings = policy.figure_settings();
    let figures = week_figures_of(&efforts.planned, &settings, week);
    let figures = figures.map_err(|_| PlanError::HistoryNotRead)?;
    let limit = RatioLimit::of(policy);
    let sessions = plan.sessions_of(week).iter();
    let organised = sessions
        .clone()
        .filter(|session| policy.organised_settings.contains(&session.setting));
    let organised_days: BTreeSet<Date> = organised.clone().map(|session| session.date).collect();
    let free = week.days().filter(|date| !organised_days.contains(date));
    let count = |sessions: usize| u32::try_from(sessions).unwrap_or(u32::MAX);
    let contacts = sessions.clone().filter_map(|session| session.contacts);
    let silent = |says: fn(&PlanSession) -> bool| {
        let silent = sessions.clone().filter(|session| !says(session));
        count(silent.count())
    };
    let warm_ups = sessions
        .clone()
        .filter_map(|session| session.warm_up.clone());
    let games = sessions
        .clone()
        .filter(|session| session.kind == Kind::Game);
    Ok(WeekCheck {
        judgements: judge_figures(policy, &figures),
        days_over: limit.map_or_else(Vec::new, |limit| days_over(limit, &efforts.planned, week)),
        sensitivity: limit.map(|limit| efforts.sensitivity(limit, week.sunday())),
        organised_minutes: organised
            .map(|session| u32::from(session.minutes.get()))
            .sum(),
        free_days: u8::try_from(free.count()).unwrap_or(0),
        games: count(games.count()),
        contacts: contacts.fold(Contacts::default(), Add::add),
        jumps,
        contacts_not_said: silent(|session| session.contacts.is_some()),
        warm_ups: WeekWarmUps {
            attended: warm_ups.collect(),
            not_known: Vec::new(),
            not_said: silent(|session| session.warm_up.is_some()),
        },
        sessions: count(sessions.len()),
        figures,
    })
}

fn days_over(limit: RatioLimit, series: &DailySeries, week: IsoWeek) -> Vec<DayOver> {
    let over = |date| match at(limit, series, date) {
        Outcome::Raised(certainty) => Some(DayOver { date, certainty }),
        Outcome::NotRaised | Outcome::NotComputable(_) => None,
    };
    week.days().filter_map(over).collect()
}
