//! The one plain sentence of an entry of the weekly list.
//!
//! Words, numbers and units: how far over, against what, and which setting rose most. Nothing about
//! risk, and nothing that reads as a verdict on an athlete.

use std::fmt::Display;

use crate::exact::{Fraction, Places};
use crate::figure::{Bounds, Figure};
use crate::judge::{Certainty, Judgement};
use crate::reason::Reason;
use crate::share::SettingLoad;
use crate::week_figures::WeekFigures;
use crate::weekly_list::Finding;

/// The sentence for a finding.
pub(crate) fn of(
    finding: Finding,
    judgement: Option<&Judgement>,
    reason: Option<Reason>,
    week: &WeekFigures,
    settings: &[SettingLoad],
) -> String {
    match (finding, judgement) {
        (Finding::NothingLogged, _) => nothing_logged(week, judgement),
        (Finding::NotComputable, _) | (_, None) => not_computable(week, reason),
        (_, Some(judgement)) => match (judgement.over_by_au, judgement.limit_au) {
            (Some(over_by), Some(limit)) => {
                let body = over_load(judgement, week, over_by, limit);
                format!("{body}{}.", cause(settings))
            }
            _ => monotony(judgement),
        },
    }
}

fn over_load(
    judgement: &Judgement,
    week: &WeekFigures,
    over_by: Bounds<Fraction>,
    limit: Bounds<Fraction>,
) -> String {
    let load = range(week.load);
    let limit = range(limit.map(au));
    let named = match judgement.own_highest {
        Some(highest) => format!(
            "the club limit of {limit} AU, {} times the highest of {} earlier weeks ({} AU in {})",
            judgement.limit, highest.weeks_used, highest.load, highest.week
        ),
        None => format!("the club limit of {limit} AU"),
    };
    if judgement.certainty() == Some(Certainty::Certain) {
        format!(
            "The week came to {load} AU, {} AU above {named}",
            range(over_by.map(au))
        )
    } else {
        let doubt = match week.unlogged {
            0 if week.load.low == week.load.high => {
                "With earlier sessions unlogged or in doubt".into()
            }
            0 => "With sessions of the week in doubt".into(),
            open => format!("With {} unlogged", sessions(open)),
        };
        format!(
            "{doubt}, the week came to {load} AU, up to {} AU above {named}",
            au(over_by.high)
        )
    }
}

fn monotony(judgement: &Judgement) -> String {
    let figure = judgement.monotony.unwrap_or(Figure::none(Reason::NoLoad));
    let limit = judgement.limit;
    let four = |root: Option<_>| root.map(|root: crate::Root| root.round(Places::Four));
    match (judgement.certainty(), four(figure.point), four(figure.high)) {
        (Some(Certainty::Certain), Some(point), _) => {
            format!("The days of the week were alike: monotony {point} against the club limit of {limit}.")
        }
        (Some(Certainty::Certain), None, _) => {
            "The seven days of the week had the same load, which counts as above any limit on monotony."
                .into()
        }
        (_, _, Some(high)) => format!(
            "The days of the week may have been alike: monotony up to {high} against the club limit of {limit}."
        ),
        (_, _, None) => format!(
            "The seven days of the week may have had the same load, above the club limit of {limit} on monotony."
        ),
    }
}

fn nothing_logged(week: &WeekFigures, judgement: Option<&Judgement>) -> String {
    let were = if week.expected == 1 { "was" } else { "were" };
    let nothing = format!(
        "Nothing was logged and {} {were} expected",
        sessions(week.expected)
    );
    match judgement.and_then(|judged| Some((judged.over_by_au?, judged.limit_au?))) {
        Some((over_by, limit)) => format!(
            "{nothing}: the week may be up to {} AU above the club limit of {} AU.",
            au(over_by.high),
            range(limit.map(au))
        ),
        None => format!("{nothing}: the week is not known, it is not a week of rest."),
    }
}

fn not_computable(week: &WeekFigures, reason: Option<Reason>) -> String {
    let why = match reason {
        Some(Reason::FewerThan28Days) => {
            format!(
                "no ratio can be given before {}, the 28th day of membership",
                week.first_ratio_date
            )
        }
        Some(Reason::AbsenceInWindow) => {
            "no ratio is given while the last 28 days contain an absence of 14 days or more".into()
        }
        Some(Reason::BelowChronicFloor) => {
            "no ratio is given because the three weeks before are below the club's floor".into()
        }
        Some(Reason::NoPriorLoad | Reason::NoLoadInWindow) => {
            "no ratio can be given without load in the three weeks before".into()
        }
        Some(Reason::FewerThan4Weeks) => "there are too few earlier weeks to compare with".into(),
        _ => "it cannot be compared with the club limit".into(),
    };
    format!("The week came to {} AU; {why}.", range(week.load))
}

/// The setting whose load rose most above its mean of the three weeks before.
fn cause(settings: &[SettingLoad]) -> String {
    let rise = |part: &SettingLoad| 3 * part.week.half_au() - part.prior_21d.half_au();
    match settings.iter().max_by_key(|part| rise(part)) {
        Some(part) if rise(part) > 0 => format!(
            "; the largest rise was in {}, {} AU against a mean of {} AU in the three weeks before",
            part.setting.words(),
            part.week,
            Fraction::over::<{ 2 * 3 }>(part.prior_21d.half_au()).round(Places::Whole)
        ),
        _ => String::new(),
    }
}

fn au(value: Fraction) -> crate::Decimal {
    value.round(Places::Four)
}

fn range<T: Display + PartialEq + Copy>(bounds: Bounds<T>) -> String {
    if bounds.low == bounds.high {
        bounds.point.to_string()
    } else {
        format!("{} to {}", bounds.low, bounds.high)
    }
}

fn sessions(count: u32) -> String {
    if count == 1 {
        "1 session".into()
    } else {
        format!("{count} sessions")
    }
}
