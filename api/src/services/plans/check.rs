//! A plan judged for one athlete.

use plimsoll_domain::plan::{JumpsJudgement, Plan, PlanCheck, WeekCheck, check_plan};
use plimsoll_domain::{
    AgainstLimit, Certainty, Judgement, OrganisedJudgement, Outcome, Reason, Rule, RuleCode,
};

use super::ReadyPlan;
use super::history::PlanAthlete;
use crate::error::Problem;

/// What the rules say of one week.
#[derive(Debug)]
pub struct JudgedWeek {
    /// The week.
    pub week: WeekCheck,
    /// What the rules about organised time say that the policy lists, switched on or not: no other part of the service judges them.
    pub organised: Vec<OrganisedJudgement>,
    /// The rule about neuromuscular warm-up that the policy lists, switched on or not, and what it says; `None` where the plan says nothing
    /// of warm-ups.
    pub warm_up: Option<(Rule, Outcome)>,
    /// What the rules about jumps say that the policy lists, switched on or not; none where the plan says nothing of landings.
    pub jumps: Vec<JumpsJudgement>,
}

/// A rule that a week breaks.
#[derive(Debug, Clone, Copy)]
pub enum Broken<'a> {
    /// One about load.
    Load(&'a Judgement),
    /// One about organised time, with the figure against its limit.
    Organised(RuleCode, AgainstLimit),
    /// That about neuromuscular warm-up.
    WarmUp(&'a Rule, Outcome),
    /// One about jumps, with the sessions that break it.
    Jumps(&'a JumpsJudgement),
}

impl Broken<'_> {
    /// Which rule.
    pub const fn rule(self) -> RuleCode {
        match self {
            Broken::Load(judgement) => judgement.rule,
            Broken::Organised(rule, _) => rule,
            Broken::WarmUp(rule, _) => rule.code,
            Broken::Jumps(judgement) => judgement.rule,
        }
    }

    /// How sure it is.
    pub const fn certainty(self) -> Certainty {
        let outcome = match self {
            Broken::Load(judgement) => judgement.outcome,
            Broken::Organised(_, against) => against.outcome,
            Broken::WarmUp(_, outcome) => outcome,
            Broken::Jumps(judgement) => judgement.outcome,
        };
        match outcome {
            Outcome::Raised(certainty) => certainty,
            Outcome::NotRaised | Outcome::NotComputable(_) => Certainty::Possible,
        }
    }
}

impl JudgedWeek {
    /// What the limit on the ratio says, where the policy judges it.
    pub fn ratio(&self) -> Option<&Judgement> {
        let mut judgements = self.week.judgements.iter();
        judgements.find(|judgement| judgement.rule == RuleCode::WeekEndRatio)
    }

    /// The rules it breaks, in the order of the policy, those about organised time, about warm-up and about jumps last.
    pub fn broken(&self) -> Vec<Broken<'_>> {
        let raised = |outcome| matches!(outcome, Outcome::Raised(_));
        let loads = self.week.judgements.iter();
        let loads = loads.filter(|judgement| raised(judgement.outcome));
        let organised = self.organised.iter().filter_map(|judgement| {
            let against = judgement.against.ok()?;
            raised(against.outcome).then_some(Broken::Organised(judgement.rule, against))
        });
        let warm_up = self.warm_up.iter();
        let warm_up = warm_up.filter(|(_, outcome)| raised(*outcome));
        let warm_up = warm_up.map(|(rule, outcome)| Broken::WarmUp(rule, *outcome));
        let jumps = self.jumps.iter();
        let jumps = jumps.filter(|judgement| raised(judgement.outcome));
        let loads = loads.map(Broken::Load);
        let others = organised.chain(warm_up).chain(jumps.map(Broken::Jumps));
        loads.chain(others).collect()
    }

    /// The rules that cannot be judged, and why.
    pub fn not_computable(&self) -> impl Iterator<Item = (RuleCode, Reason)> {
        let loads = self.week.judgements.iter();
        let loads = loads.map(|judgement| (judgement.rule, judgement.outcome));
        let organised = self.organised.iter();
        let organised = organised.map(|judgement| (judgement.rule, judgement.outcome()));
        let warm_up = self.warm_up.iter();
        let warm_up = warm_up.map(|(rule, outcome)| (rule.code, *outcome));
        let jumps = self.jumps.iter();
        let jumps = jumps.map(|judgement| (judgement.rule, judgement.outcome));
        loads
            .chain(organised)
            .chain(warm_up)
            .chain(jumps)
            .filter_map(|(rule, outcome)| match outcome {
                Outcome::NotComputable(reason) => Some((rule, reason)),
                Outcome::Raised(_) | Outcome::NotRaised => None,
            })
    }

    /// Whether it is, or may be, over the limit on the ratio.
    pub fn is_over(&self) -> bool {
        let ratio = self.ratio().map(|judgement| judgement.outcome);
        matches!(ratio, Some(Outcome::Raised(_)))
    }

    /// Whether it is over the limit even with a point of effort less and the weeks before it with one more.
    pub fn is_robust(&self) -> bool {
        self.week.sensitivity.is_some_and(|of| of.is_robust())
    }

    /// Whether it is over the limit in the worst case alone.
    pub fn is_fragile(&self) -> bool {
        self.week.sensitivity.is_some_and(|of| of.is_fragile())
    }
}

impl ReadyPlan {
    /// Judges the plan after the days of one athlete.
    pub fn check(&self, athlete: &PlanAthlete) -> Result<Vec<JudgedWeek>, Problem> {
        let own = athlete.own.as_ref().map(|own| &own.plan);
        self.judge(own.unwrap_or(&self.plan.plan), athlete)
    }

    /// Judges a changed plan in the same way.
    pub fn judge(&self, plan: &Plan, athlete: &PlanAthlete) -> Result<Vec<JudgedWeek>, Problem> {
        let checked = check_plan(&self.by.policy, athlete.days.as_ref(), plan);
        let PlanCheck { weeks, .. } = checked.map_err(|error| Problem::internal(&error))?;
        let judged = |week: WeekCheck| JudgedWeek {
            organised: self.organised(&week, athlete),
            warm_up: self.warm_up(&week),
            jumps: self.jumps(&week),
            week,
        };
        Ok(weeks.into_iter().map(judged).collect())
    }

    fn warm_up(&self, week: &WeekCheck) -> Option<(Rule, Outcome)> {
        let rule = self.by.policy.rule(RuleCode::NeuromuscularDose);
        let rule = rule.filter(|_| self.plan.says_warm_ups())?;
        let outcome = week.judge_warm_up(rule)?;
        Some((rule.clone(), outcome))
    }

    fn jumps(&self, week: &WeekCheck) -> Vec<JumpsJudgement> {
        if !self.plan.says_landings() {
            return Vec::new();
        }
        let rules = self.by.policy.rules.iter();
        rules.filter_map(|rule| week.judge_jumps(rule)).collect()
    }

    fn organised(&self, week: &WeekCheck, athlete: &PlanAthlete) -> Vec<OrganisedJudgement> {
        let rules = self.by.policy.rules.iter();
        let judged =
            rules.filter_map(|rule| week.judge_organised(rule, athlete.born, athlete.not_shared));
        judged.collect()
    }
}
