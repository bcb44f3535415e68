//! Ways out other than cuts: a build-up, a move, fewer games. Each only where it is asked for.

use plimsoll_domain::age::completed_years;
use plimsoll_domain::plan::{BuildUp, BuildUpBar, KeptWeek, build_up, games_within};
use plimsoll_domain::{
    Decimal, IsoWeek, Kind, Load, OrganisedJudgement, Outcome, Rule, RuleCode, WideFraction,
};

use super::Ground;
use super::moved::{FoundMove, MoveAsked};
use crate::services::plans::check::JudgedWeek;

/// Weeks that are raised before one that is short.
const RAISED: usize = 3;

/// Which ways out are asked for.
#[derive(Debug, Clone, Copy, Default)]
pub struct OthersAsked {
    /// More load in the weeks before.
    pub build_up: Option<BuildUpAsked>,
    /// One session on another date.
    pub moved: Option<MoveAsked>,
    /// Fewer games.
    pub fewer_games: bool,
}

/// Whom a build-up may be offered to.
#[derive(Debug, Clone, Copy)]
pub struct BuildUpAsked {
    /// The least age in completed years, as the club has decided.
    pub from_age: u8,
}

/// The ways out that were asked for.
#[derive(Debug, Default)]
pub struct Others {
    /// For each week that cuts leave over the limit.
    pub build_ups: Option<Vec<BuildUpAnswer>>,
    /// The best single move that breaks no rule; an inner `None` where none helps.
    pub moved: Option<Option<FoundMove>>,
    /// For each week that cuts leave over the limit and that has games.
    pub fewer_games: Option<Vec<FewerGames>>,
}

/// A build-up to a week, or why it is not offered.
#[derive(Debug)]
pub struct BuildUpAnswer {
    /// The week.
    pub week: IsoWeek,
    /// What is cut of it all the same.
    pub cut: WideFraction,
    /// The build-up; `Err` where it is not offered, with the code that says why.
    pub found: Result<BuildUp, &'static str>,
}

/// How many games of a week fit into its limit.
#[derive(Debug)]
pub struct FewerGames {
    /// The week.
    pub week: IsoWeek,
    /// What its limit leaves for games after what else is fixed.
    pub left: WideFraction,
    /// Games that are fixed.
    pub games: u32,
    /// The load of the heaviest.
    pub heaviest: Load,
    /// How many fit if each is as heavy as the heaviest.
    pub fitting: u32,
}

impl Ground<'_> {
    /// The ways out that are asked for.
    pub fn others(&self, asked: &OthersAsked) -> Others {
        let build_ups = asked.build_up.map(|asked| {
            let short = self.short_weeks();
            short
                .map(|(at, kept)| self.build_up(asked, at, kept))
                .collect()
        });
        let fewer = asked.fewer_games.then(|| {
            let short = self.short_weeks();
            short
                .filter_map(|(at, kept)| self.fewer_games(at, kept))
                .collect()
        });
        Others {
            build_ups,
            moved: asked.moved.map(|asked| self.best_move(asked)),
            fewer_games: fewer,
        }
    }

    /// The weeks that cuts alone leave over the limit, with their places in the plan.
    fn short_weeks(&self) -> impl Iterator<Item = (usize, &KeptWeek)> {
        let weeks = self.cuts.weeks.iter().enumerate();
        weeks.filter(|(_, week)| !week.short_by.is_zero())
    }

    fn week(&self, at: usize) -> IsoWeek {
        let plan = &self.ready.plan.plan;
        plan.weeks().nth(at).unwrap_or(plan.first())
    }

    fn build_up(&self, asked: BuildUpAsked, at: usize, kept: &KeptWeek) -> BuildUpAnswer {
        let first = at.checked_sub(RAISED);
        let raised = first.and_then(|first| self.judged.get(first..at));
        let found = raised.ok_or("weeks_before_are_done").and_then(|raised| {
            let bars = self.bars(asked, raised);
            let before = self.weeks_to_raise(at);
            let found = build_up(self.limit, &kept.short_by, &before, &bars);
            found.map_err(BuildUpBar::code)
        });
        BuildUpAnswer {
            week: self.week(at),
            cut: kept.cut.clone(),
            found,
        }
    }

    /// The six weeks before one, as planned; none where one of them is cut, since raised weeks could then not be checked.
    fn weeks_to_raise(&self, at: usize) -> Vec<Load> {
        let loads = self.ready.plan.plan.week_loads();
        let planned = loads.iter().take(at).map(|week| week.planned());
        let all: Vec<Load> = self.before.iter().copied().chain(planned).collect();
        let first = all.len().saturating_sub(2 * RAISED);
        let of_plan = at.saturating_sub(2 * RAISED);
        let cut = self.cuts.weeks.get(of_plan..at).unwrap_or_default();
        match cut.iter().all(|week| week.cut.is_zero()) {
            true => all.get(first..).unwrap_or_default().to_vec(),
            false => Vec::new(),
        }
    }

    /// Why more load is not to be offered to her in these weeks.
    fn bars(&self, asked: BuildUpAsked, raised: &[JudgedWeek]) -> Vec<BuildUpBar> {
        let born = self.athlete.born;
        let monday = self.ready.plan.plan.first().monday();
        let age = born.and_then(|born| completed_years(born, monday));
        let returning = raised
            .iter()
            .any(|one| one.week.figures.returning.is_some());
        let hours: Vec<OrganisedJudgement> =
            raised.iter().filter_map(|one| self.hours(one)).collect();
        let is_raised = |says: &OrganisedJudgement| matches!(says.outcome(), Outcome::Raised(_));
        let over_hours = hours.iter().any(is_raised);
        let within_hours =
            hours.len() == raised.len() && hours.iter().all(OrganisedJudgement::is_within_policy);
        let bars = [
            (self.athlete.restricted, BuildUpBar::Restricted),
            (returning, BuildUpBar::Returning),
            (age.is_none(), BuildUpBar::AgeNotKnown),
            (
                age.is_some_and(|age| age < asked.from_age),
                BuildUpBar::UnderPolicyAge,
            ),
            (over_hours, BuildUpBar::OverHours),
            (!within_hours, BuildUpBar::HoursNotKnown),
        ];
        let holding = bars.into_iter().filter(|(holds, _)| *holds);
        holding.map(|(_, bar)| bar).collect()
    }

    /// What the rule on hours says of a week.
    fn hours(&self, judged: &JudgedWeek) -> Option<OrganisedJudgement> {
        let rule = self.ready.by.policy.rule(RuleCode::OrganisedHours);
        let rule = rule.cloned().unwrap_or_else(hours_by_age);
        let week = &judged.week;
        week.judge_organised(&rule, self.athlete.born, self.athlete.not_shared)
    }

    fn fewer_games(&self, at: usize, kept: &KeptWeek) -> Option<FewerGames> {
        let week = self.week(at);
        let of_week = self.ready.plan.of_week(week).map(|one| &one.session);
        let fixed = of_week.filter(|session| session.protected);
        let (games, other): (Vec<_>, Vec<_>) = fixed.partition(|one| one.kind == Kind::Game);
        let heaviest = games.iter().map(|game| game.load()).max()?;
        let planned = u32::try_from(games.len()).ok()?;
        let other: Load = other.iter().map(|one| one.load()).sum();
        let left = kept.limit.as_ref()?.less(&other.into());
        Some(FewerGames {
            week,
            fitting: games_within(&left, heaviest, planned),
            left,
            games: planned,
            heaviest,
        })
    }
}

/// The rule on hours where the policy lists none.
fn hours_by_age() -> Rule {
    Rule {
        code: RuleCode::OrganisedHours,
        enabled: false,
        ratio_kind: None,
        limit: Decimal::hundredths(100),
        window: None,
        source_note: "National Athletic Trainers' Association, official statement, 16 October 2019"
            .to_owned(),
    }
}
