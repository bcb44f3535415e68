//! One athlete on the weekly list: the leading finding, what makes it up, what would settle it.

use std::cmp::Reverse;

use jiff::civil::Date;

use crate::baseline::Baseline;
use crate::coded::coded_enum;
use crate::figure::Bounds;
use crate::judge::{Certainty, Judgement, Outcome};
use crate::load::Load;
use crate::missing::{self, Missing, OpenSession};
use crate::ratio::RatioKind;
use crate::reason::Reason;
use crate::rule::RuleCode;
use crate::sentence;
use crate::share::SettingLoad;
use crate::usual_bounds::{UsualBounds, usual_bounds};
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
    /// The sessions of the week and the 21 days before it that are open, in the order of their
    /// starts.
    pub open: Vec<OpenSession>,
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
    /// Where week and ratio usually lie, while sessions are open.
    pub usual: Option<UsualBounds>,
    /// The athlete's usual week, where there are enough to say and this week's load is known: a week
    /// that is not logged is no light week.
    pub baseline: Option<Baseline>,
    /// The settings that made it, the heaviest first.
    pub made_up_of: Vec<SettingLoad>,
    /// The entries to ask for, the one that matters most first; none where the finding is certain.
    pub missing: Vec<Missing>,
    /// One plain sentence.
    pub sentence: String,
}

/// The entry of an athlete's week; `None` where there is nothing to decide.
pub(crate) fn entry<K>(athlete: AthleteWeek<K>) -> Option<Entry<K>> {
    let figures = &athlete.figures;
    let raised = raised(&athlete.judgements);
    let leading = raised.first().copied();
    let (finding, judgement, reason) = match leading {
        _ if figures.nothing_logged() => (Finding::NothingLogged, leading, None),
        Some(leading) => (finding_of(leading.rule), Some(leading), None),
        None => {
            let (judgement, reason) = not_computable(&athlete)?;
            (Finding::NotComputable, Some(judgement), Some(reason))
        }
    };
    let certainty = judgement.and_then(|judgement| judgement.certainty());
    let missing = match (finding, certainty) {
        (Finding::NothingLogged, _) | (_, Some(Certainty::Possible)) => {
            missing::to_ask_for(judgement.as_ref(), figures, &athlete.open)
        }
        _ => Vec::new(),
    };
    let kind = judgement
        .and_then(|judgement| judgement.ratio)
        .map_or(RatioKind::Coupled, |(kind, _)| kind);
    let settles = judgement.and_then(|it| missing::break_even(&it, figures, &athlete.open));
    let made_up_of = heaviest_first(athlete.settings);
    let joined = reason == Some(Reason::FewerThan28Days);
    let known = figures.load.low == figures.load.high;
    let sentence = sentence::Said {
        finding,
        judgement: judgement.as_ref(),
        reason,
        week: figures,
        settings: &made_up_of,
        settles,
    };
    Some(Entry {
        sentence: sentence.text(),
        finding,
        certainty,
        reason,
        first_ratio_date: joined.then_some(figures.first_ratio_date),
        also: raised.get(1..).unwrap_or_default().to_vec(),
        week_load: figures.load,
        usual: usual_bounds(figures, kind, &athlete.open),
        baseline: figures.baseline.ok().filter(|_| known),
        judgement,
        made_up_of,
        missing,
        key: athlete.key,
        display_name: athlete.display_name,
    })
}

/// The raised ones, the most certain first. The sort is stable: of equally certain ones the policy's
/// first rule leads.
fn raised(judgements: &[Judgement]) -> Vec<Judgement> {
    let raised = judgements
        .iter()
        .filter(|judged| judged.certainty().is_some());
    let mut raised: Vec<Judgement> = raised.copied().collect();
    raised.sort_by_key(Judgement::certainty);
    raised
}

fn heaviest_first(mut settings: Vec<SettingLoad>) -> Vec<SettingLoad> {
    settings.retain(|part| part.week > Load::ZERO);
    settings.sort_by_key(|part| (Reverse(part.week), part.setting));
    settings
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
/// is nothing to decide, and the athlete is not listed; nor where the ratio waits for an absence
/// to leave its window and the week after it is within its ceiling.
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
    let within_ceiling = athlete.judgements.iter().any(|judged| {
        judged.rule == RuleCode::ReturnCeiling && judged.outcome == Outcome::NotRaised
    });
    if within_ceiling && ratio.is_some_and(|(_, reason)| reason == Reason::AbsenceInWindow) {
        return None;
    }
    ratio.or_else(|| {
        if judged.contains(&None) {
            None
        } else {
            judged.into_iter().flatten().next()
        }
    })
}
