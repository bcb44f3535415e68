//! Which missing entries to ask for, and what would settle a finding.
//!
//! Each unlogged session leaves its load open between nothing and session RPE 10 for its planned
//! minutes. The entry that matters most is the one that, once known, narrows the ratio the most;
//! for this order alone it is taken to be the middle of the athlete's usual range, or of the hard
//! one. At most three are named: asking everybody for everything gets nothing from anybody.
//!
//! The break-even is the load of the week's missing sessions together above which a finding is
//! certain, and up to which it is ruled out, AU. It exists for rules that grow with load only.

use std::cmp::Reverse;

use jiff::ToSpan;
use jiff::civil::Date;

use crate::exact::Fraction;
use crate::figure::Bounds;
use crate::judge::{Certainty, Judgement};
use crate::load::Load;
use crate::ratio::{RatioKind, ratio};
use crate::rule::RuleCode;
use crate::units::{Minutes, Rpe};
use crate::usual::UsualRange;
use crate::week_figures::WeekFigures;

/// Entries named for one finding.
pub const MOST: usize = 3;

/// A session that was expected, is over and was not logged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OpenSession {
    /// Its date.
    pub date: Date,
    /// Its planned minutes.
    pub minutes: Minutes,
    /// The athlete's usual ratings of that kind of session, where there are enough.
    pub usual: Option<UsualRange>,
}

impl OpenSession {
    /// The most it can have been: session RPE 10 for its planned minutes.
    #[must_use]
    pub fn at_most(&self) -> Load {
        Load::of(Rpe::MAX, self.minutes)
    }

    /// The middle of its usual range, or of the hard one; for putting entries in order only.
    fn likely(&self) -> Load {
        let (low, high) = self.usual.map_or((Load::ZERO, self.at_most()), |usual| {
            usual.loads(self.minutes)
        });
        Load::from_half_au((low + high).half_au() / 2).unwrap_or(Load::ZERO)
    }
}

/// The load of the missing sessions, together, at which a finding is settled, AU.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BreakEven {
    /// Above this the finding is certain; `None` where they cannot come to more.
    pub certain_above: Option<Fraction>,
    /// Up to this it is ruled out; `None` where earlier missing sessions keep it possible.
    pub ruled_out_up_to: Option<Fraction>,
}

/// One missing entry to ask for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Missing {
    /// Its place among the open sessions that were given.
    pub place: usize,
    /// What would settle the finding, for a session of the days that were judged.
    pub break_even: Option<BreakEven>,
}

/// The entries to ask for, the one that matters most first; ties by date, then in the order given.
/// `judgement` is the finding to settle, if a rule is behind it.
#[must_use]
pub fn to_ask_for(
    judgement: Option<&Judgement>,
    week: &WeekFigures,
    open: &[OpenSession],
) -> Vec<Missing> {
    let judged = days_judged(judgement, week);
    let matters = days_that_matter(judgement, judged);
    let within = |(from, to): (Date, Date), one: &OpenSession| (from..=to).contains(&one.date);
    let mut places: Vec<usize> = (0..open.len())
        .filter(|place| within(matters, &open[*place]))
        .collect();
    places.sort_by_cached_key(|place| {
        let one = &open[*place];
        let width = remaining_width(judgement, week, one);
        (width.is_none(), width, Reverse(one.at_most()), one.date)
    });
    places.truncate(MOST);
    let settles = judgement.and_then(|judgement| break_even(judgement, week, open));
    let missing = |place: usize| Missing {
        place,
        break_even: settles.filter(|_| within(judged, &open[place])),
    };
    places.into_iter().map(missing).collect()
}

/// The load of the missing sessions of the days judged, together, at which a possible finding is
/// settled: with the limit `L` and the load `W` of what is known, certain above `L_high - W_low`,
/// ruled out up to `L_low - W_high`.
#[must_use]
pub fn break_even(
    judgement: &Judgement,
    week: &WeekFigures,
    open: &[OpenSession],
) -> Option<BreakEven> {
    let limit = judgement.limit_au?;
    let (from, to) = days_judged(Some(judgement), week);
    let of_days = open.iter().filter(|one| (from..=to).contains(&one.date));
    let most: Load = of_days.map(OpenSession::at_most).sum();
    if judgement.certainty() != Some(Certainty::Possible) || most == Load::ZERO {
        return None;
    }
    let known = judgement.load.less(Bounds {
        high: most,
        ..Bounds::default()
    });
    let left = |limit: Fraction, load: Load| limit.less(in_au(load));
    let certain_above = left(limit.high, known.low);
    let ruled_out_up_to = left(limit.low, known.high.max(known.point));
    Some(BreakEven {
        certain_above: Some(certain_above).filter(|above| *above < in_au(most)),
        ruled_out_up_to: Some(ruled_out_up_to).filter(|up_to| *up_to >= Fraction::ZERO),
    })
}

/// First and last of the days whose load is judged.
fn days_judged(judgement: Option<&Judgement>, week: &WeekFigures) -> (Date, Date) {
    match judgement.and_then(|judgement| judgement.returning) {
        Some(returning) => (returning.week.from, returning.week.to),
        None => (week.week.monday(), week.week.sunday()),
    }
}

/// First and last of the days whose missing entries can change the finding: for a ratio the 21 days
/// before as well.
fn days_that_matter(judgement: Option<&Judgement>, judged: (Date, Date)) -> (Date, Date) {
    match judgement {
        Some(judgement) if judgement.rule == RuleCode::WeekEndRatio => {
            (judged.0.saturating_sub(21.days()), judged.1)
        }
        _ => judged,
    }
}

/// How wide the ratio stays once a session is known; `None` where there is no ratio.
fn remaining_width(
    judgement: Option<&Judgement>,
    week: &WeekFigures,
    session: &OpenSession,
) -> Option<Fraction> {
    let kind = judgement
        .and_then(|judgement| judgement.ratio)
        .map_or(RatioKind::Coupled, |(kind, _)| kind);
    let prior = week.prior_21d;
    let prior = Bounds {
        low: prior.low?,
        point: prior.point?,
        high: prior.high?,
    };
    let known = |load: Bounds<Load>| {
        let low = load.low + session.likely();
        let high = load.high.less(session.at_most()) + session.likely();
        Bounds {
            low,
            point: low,
            high: high.max(low),
        }
    };
    let narrowed = if session.date < week.week.monday() {
        ratio(kind, week.load, known(prior), Load::ZERO)
    } else {
        ratio(kind, known(week.load), prior, Load::ZERO)
    };
    Some(narrowed.high?.less(narrowed.low?))
}

const fn in_au(load: Load) -> Fraction {
    Fraction::over::<2>(load.half_au())
}
