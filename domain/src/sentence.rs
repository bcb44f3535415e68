//! The one plain sentence of an entry of the weekly list.
//!
//! Words, numbers and units: how far over, against what, and which setting rose most. Nothing about
//! risk, and nothing that reads as a verdict on an athlete.

use std::fmt::Display;

use crate::ahead::Ahead;
use crate::entry::Finding;
use crate::exact::{Fraction, Places};
use crate::figure::{Bounds, Figure};
use crate::judge::{Certainty, Judgement};
use crate::missing::BreakEven;
use crate::ramp::{Binding, Ramp, RampWeek};
use crate::reason::Reason;
use crate::share::SettingLoad;
use crate::week::IsoWeek;
use crate::week_figures::WeekFigures;

/// What a sentence is about.
pub(crate) struct Said<'a> {
    pub(crate) finding: Finding,
    pub(crate) judgement: Option<&'a Judgement>,
    pub(crate) reason: Option<Reason>,
    pub(crate) week: &'a WeekFigures,
    pub(crate) settings: &'a [SettingLoad],
    pub(crate) settles: Option<BreakEven>,
}

impl Said<'_> {
    /// The sentence.
    pub(crate) fn text(&self) -> String {
        match (self.finding, self.judgement) {
            (Finding::NothingLogged, judgement) => nothing_logged(self.week, judgement),
            (Finding::NotComputable, _) | (_, None) => not_computable(self.week, self.reason),
            (_, Some(judgement)) => match (judgement.over_by_au, judgement.limit_au) {
                (Some(over_by), Some(limit)) => {
                    let body = over_load(judgement, self.week, over_by, limit);
                    let settled = self.settles.map(|it| settled(it, self.week.unlogged));
                    let settled = settled.unwrap_or_default();
                    let cause = match judgement.returning {
                        Some(_) => String::new(),
                        None => cause(self.settings),
                    };
                    format!("{body}{settled}{cause}.")
                }
                _ => monotony(judgement),
            },
        }
    }
}

/// The one line of a squad that logged little.
pub(crate) fn mostly_unlogged(expected: u32, unlogged: u32, nothing: usize) -> String {
    let athletes = match nothing {
        0 => String::new(),
        1 => ", and 1 athlete logged nothing".into(),
        more => format!(", and {more} athletes logged nothing"),
    };
    format!(
        "Of {} expected in the week {unlogged} {} not logged{athletes}: ask the squad as a whole.",
        sessions(expected),
        if unlogged == 1 { "is" } else { "are" },
    )
}

/// What a plan comes to.
pub(crate) fn ahead<K>(plan: &Ahead<K>, week: IsoWeek) -> String {
    let judgement = &plan.judgement;
    let (Some(over_by), Some(limit)) = (judgement.over_by_au, judgement.limit_au) else {
        return String::new();
    };
    let planned = sessions(plan.sessions);
    let happen = if plan.sessions == 1 {
        "happens"
    } else {
        "happen"
    };
    let (who, load) = (whole(judgement), range(judgement.load));
    let named = limit_named(judgement, &range(limit.map(au)));
    let above = match judgement.certainty() {
        Some(Certainty::Certain) => range(over_by.map(au)),
        _ => format!("up to {}", au(over_by.high)),
    };
    format!(
        "If the {planned} planned for {week} {happen}, {who} comes to {load} AU, {above} AU above \
         {named}.{}{}",
        taken(plan.usual_taken, ": the athlete's usual range was taken"),
        taken(
            plan.anything_taken,
            ", and the ratings are too few to say what is usual: anything up to session RPE 10 was \
             taken"
        ),
    )
}

/// A running week of a ramp as an instruction: the ceiling, its days, and what is done of it.
#[must_use]
pub fn return_week(ramp: &Ramp, week: &RampWeek) -> String {
    format!(
        "Week {} after an absence of {} days: at most {} AU{} from {} to {}, {} AU of it done.",
        week.number,
        ramp.absence_days(),
        range(week.ceiling_au.map(au)),
        by_clinician(week),
        week.from,
        week.to,
        range(week.load),
    )
}

/// Whose limit a ceiling is, where it is not the club's.
const fn by_clinician(week: &RampWeek) -> &'static str {
    match week.binding {
        Binding::Policy => "",
        Binding::Clinician => " (a clinician's limit)",
    }
}

/// How sessions without a planned effort were taken.
fn taken(count: u32, how: &str) -> String {
    match count {
        0 => String::new(),
        some => format!(" For {some} of them no effort is planned{how}."),
    }
}

fn over_load(
    judgement: &Judgement,
    week: &WeekFigures,
    over_by: Bounds<Fraction>,
    limit: Bounds<Fraction>,
) -> String {
    let (who, load) = (whole(judgement), range(judgement.load));
    let named = limit_named(judgement, &range(limit.map(au)));
    if judgement.certainty() == Some(Certainty::Certain) {
        let over_by = range(over_by.map(au));
        return format!(
            "{} came to {load} AU, {over_by} AU above {named}",
            capital(&who)
        );
    }
    let same = judgement.load.low == judgement.load.high;
    let doubt = match week.unlogged {
        _ if same => "With earlier sessions unlogged or in doubt".into(),
        0 => "With sessions of the week in doubt".into(),
        open => format!("With {} unlogged", sessions(open)),
    };
    let most = au(over_by.high);
    format!("{doubt}, {who} came to {load} AU, up to {most} AU above {named}")
}

/// The days that were judged.
fn whole(judgement: &Judgement) -> String {
    judgement.returning.map_or("the week".into(), |returning| {
        let days = returning.ramp.absence_days();
        format!(
            "week {} after an absence of {days} days",
            returning.week.number
        )
    })
}

fn limit_named(judgement: &Judgement, limit: &str) -> String {
    match (judgement.own_highest, judgement.returning) {
        (Some(highest), _) => format!(
            "the club limit of {limit} AU, {} times the highest of {} earlier weeks ({} AU in {})",
            judgement.limit, highest.weeks_used, highest.load, highest.week
        ),
        (None, Some(returning)) => format!(
            "its ceiling of {limit} AU{}; the mean week before the absence was {} AU",
            by_clinician(&returning.week),
            au(returning.ramp.before_au)
        ),
        (None, None) => format!("the club limit of {limit} AU"),
    }
}

/// What would settle a possible finding; one number where nothing earlier is missing.
fn settled(settles: BreakEven, open: u32) -> String {
    let what = if open == 1 {
        "the missing session"
    } else {
        "the missing sessions"
    };
    let BreakEven {
        certain_above,
        ruled_out_up_to,
    } = settles;
    let one_number = certain_above == ruled_out_up_to;
    let certain =
        certain_above.map(|above| format!("above {} AU in {what} it is certain", au(above)));
    let ruled_out = ruled_out_up_to.map(|up_to| format!("up to {} AU it is ruled out", au(up_to)));
    match (certain, ruled_out) {
        (Some(certain), Some(_)) if one_number => format!("; {certain}, otherwise it is ruled out"),
        (Some(certain), Some(ruled_out)) => format!("; {certain}, {ruled_out}"),
        (Some(only), None) => format!("; {only}"),
        (None, Some(only)) => format!("; {only} by {what}"),
        (None, None) => String::new(),
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

fn capital(text: &str) -> String {
    let (first, rest) = text.split_at(text.len().min(1));
    first.to_uppercase() + rest
}
