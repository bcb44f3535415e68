//! The weekly list: only the athletes about whom somebody has to decide something, in order, one
//! plain sentence each.

use std::cmp::Reverse;

use jiff::civil::Date;

use crate::coded::coded_enum;
use crate::exact::Fraction;
use crate::figure::Bounds;
use crate::judge::{Certainty, Judgement, Outcome};
use crate::load::Load;
use crate::policy::Policy;
use crate::reason::Reason;
use crate::rule::RuleCode;
use crate::sentence;
use crate::share::SettingLoad;
use crate::week_figures::WeekFigures;

coded_enum! {
    /// Why an athlete is on the list.
    Finding {
        /// The ratio rule is or may be over its limit.
        OverLimit = "over_limit",
        /// The week is or may be above the limit on the athlete's own highest week.
        OwnHighest = "own_highest",
        /// Monotony is or may be over its limit.
        Monotony = "monotony",
        /// A load after an absence is or may be above its ceiling.
        ReturnCeiling = "return_ceiling",
        /// Sessions were expected and nothing was logged.
        NothingLogged = "nothing_logged",
        /// There is a load, but no figure to judge it by.
        NotComputable = "not_computable",
    }
}

/// One athlete's week, judged.
#[derive(Clone, Debug)]
pub struct AthleteWeek<K> {
    /// Whatever identifies the athlete to the caller; settles ties of name.
    pub key: K,
    /// The name shown.
    pub display_name: String,
    /// The week's figures.
    pub figures: WeekFigures,
    /// The judgements of the same week, from [`judge_figures`](crate::judge_figures).
    pub judgements: Vec<Judgement>,
    /// The load by setting that the reader may see.
    pub settings: Vec<SettingLoad>,
}

/// One athlete on the list.
#[derive(Clone, Debug)]
pub struct Entry<K> {
    /// As given.
    pub key: K,
    /// As given.
    pub display_name: String,
    /// The leading finding.
    pub finding: Finding,
    /// How sure it is; `None` for not computable.
    pub certainty: Option<Certainty>,
    /// The judgement behind the finding, where a rule is behind it.
    pub judgement: Option<Judgement>,
    /// Why nothing can be judged, for not computable.
    pub reason: Option<Reason>,
    /// The first date on which a ratio is possible, for an athlete who joined too recently.
    pub first_ratio_date: Option<Date>,
    /// Other rules raised for the same week, the most certain first, then in the policy's order.
    pub also: Vec<Judgement>,
    /// The week's load.
    pub week_load: Bounds<Load>,
    /// The settings that made it, the heaviest first.
    pub made_up_of: Vec<SettingLoad>,
    /// One plain sentence.
    pub sentence: String,
}

/// The list of one week.
#[derive(Clone, Debug)]
pub struct WeeklyList<K> {
    /// The entries, in order.
    pub entries: Vec<Entry<K>>,
    /// How many athletes are not on it.
    pub not_listed: usize,
    /// How many logged nothing although sessions were expected.
    pub nothing_logged: usize,
    /// Without a policy there is nothing to judge by, and the list is empty for that reason.
    pub has_policy: bool,
}

/// The weekly list of some athletes.
///
/// Order: certain, possible, nothing logged, not computable; within these by AU over the limit,
/// the most first; then by name and key.
#[must_use]
pub fn weekly_list<K: Ord>(
    policy: Option<&Policy>,
    athletes: Vec<AthleteWeek<K>>,
) -> WeeklyList<K> {
    let all = athletes.len();
    let nothing_logged = athletes
        .iter()
        .filter(|week| week.figures.nothing_logged())
        .count();
    let mut entries: Vec<Entry<K>> = match policy {
        Some(_) => athletes.into_iter().filter_map(entry).collect(),
        None => Vec::new(),
    };
    entries.sort_by(|a, b| {
        rank(a)
            .cmp(&rank(b))
            .then_with(|| a.display_name.cmp(&b.display_name))
            .then_with(|| a.key.cmp(&b.key))
    });
    WeeklyList {
        not_listed: all - entries.len(),
        entries,
        nothing_logged,
        has_policy: policy.is_some(),
    }
}

fn rank<K>(entry: &Entry<K>) -> (u8, Reverse<Option<Fraction>>) {
    let group = match (entry.finding, entry.certainty) {
        (Finding::NothingLogged, _) => 2,
        (_, Some(Certainty::Certain)) => 0,
        (_, Some(Certainty::Possible)) => 1,
        (_, None) => 3,
    };
    (group, Reverse(entry.judgement.as_ref().and_then(most_over)))
}

/// How far over its limit a rule is at most: as logged where that is certain, at the high end
/// where it is possible. `None` for a rule whose limit is not a load.
fn most_over(judgement: &Judgement) -> Option<Fraction> {
    let over_by = judgement.over_by_au?;
    match judgement.certainty() {
        Some(Certainty::Certain) => Some(over_by.point),
        _ => Some(over_by.high),
    }
}

fn entry<K>(athlete: AthleteWeek<K>) -> Option<Entry<K>> {
    let figures = &athlete.figures;
    let mut raised: Vec<Judgement> = athlete
        .judgements
        .iter()
        .copied()
        .filter(|judged| judged.certainty().is_some())
        .collect();
    // Stable: of equally certain ones the policy's first rule leads.
    raised.sort_by_key(Judgement::certainty);
    let (finding, judgement, reason) = if figures.nothing_logged() {
        (Finding::NothingLogged, raised.first().copied(), None)
    } else if let Some(leading) = raised.first() {
        (finding_of(leading.rule), Some(*leading), None)
    } else {
        let (judgement, reason) = not_computable(&athlete)?;
        (Finding::NotComputable, Some(judgement), Some(reason))
    };
    let mut made_up_of = athlete.settings;
    made_up_of.retain(|part| part.week > Load::ZERO);
    made_up_of.sort_by_key(|part| (Reverse(part.week), part.setting));
    let joined = reason == Some(Reason::FewerThan28Days);
    Some(Entry {
        finding,
        certainty: judgement.and_then(|judgement| judgement.certainty()),
        reason,
        first_ratio_date: joined.then_some(figures.first_ratio_date),
        also: raised.split_off(raised.len().min(1)),
        week_load: figures.load,
        sentence: sentence::of(finding, judgement.as_ref(), reason, figures, &made_up_of),
        judgement,
        made_up_of,
        key: athlete.key,
        display_name: athlete.display_name,
    })
}

fn finding_of(rule: RuleCode) -> Finding {
    match rule {
        RuleCode::OwnHighestWeek => Finding::OwnHighest,
        RuleCode::WeekMonotony => Finding::Monotony,
        RuleCode::ReturnCeiling => Finding::ReturnCeiling,
        _ => Finding::OverLimit,
    }
}

/// An athlete with a load that the ratio rule, or every rule, cannot judge. Without any load there
/// is nothing to decide, and the athlete is not listed.
fn not_computable<K>(athlete: &AthleteWeek<K>) -> Option<(Judgement, Reason)> {
    if athlete.figures.load.high == Load::ZERO {
        return None;
    }
    let of = |judgement: &Judgement| match judgement.outcome {
        Outcome::NotComputable(reason) => Some((*judgement, reason)),
        Outcome::Raised(_) | Outcome::NotRaised => None,
    };
    let judged: Vec<_> = athlete.judgements.iter().map(of).collect();
    let ratio = athlete
        .judgements
        .iter()
        .filter(|judged| judged.rule == RuleCode::WeekEndRatio);
    let ratio = ratio.filter_map(of).next();
    ratio.or_else(|| {
        if judged.contains(&None) {
            None
        } else {
            judged.into_iter().flatten().next()
        }
    })
}
