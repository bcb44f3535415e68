//! What a plan comes to, in words: the weeks that break a rule first.

use std::collections::BTreeMap;

use jiff::civil::Date;
use plimsoll_domain::neuromuscular::LeastDose;
use plimsoll_domain::plan::{JumpBreach, JumpsJudgement};
use plimsoll_domain::{
    AgainstLimit, Bounds, Certainty, Fraction, Judgement, Places, Root, Rule, RuleCode,
};

use super::check::{Broken, JudgedWeek};

/// Sentences about a plan, those about weeks that break a rule first.
pub fn sentences(weeks: &[JudgedWeek], not_shared: u32) -> Vec<String> {
    let mut said: Vec<String> = weeks.iter().filter_map(breaking).collect();
    if said.is_empty() {
        said.push("As planned no week breaks a rule that can be judged.".to_owned());
    }
    let named = |holds: fn(&JudgedWeek) -> bool| names(weeks, holds);
    if let Some(robust) = named(JudgedWeek::is_robust) {
        said.push(format!(
            "Over the limit on the ratio even if the week is rated a point easier and the planned weeks before it a point harder: {robust}."
        ));
    }
    if let Some(fragile) = named(JudgedWeek::is_fragile) {
        said.push(format!(
            "Over it only if the week is rated a point harder and the planned weeks before it a point easier: {fragile}."
        ));
    }
    said.extend(rolling(weeks));
    said.extend(not_judged(weeks));
    if not_shared > 0 {
        said.push(format!(
            "{not_shared} {} no loads with the club: what is done there comes on top, and no week can be said to be within the policy.",
            if not_shared == 1 { "organisation shares" } else { "organisations share" }
        ));
    }
    said
}

/// The names of the weeks for which something holds; `None` where it holds for none.
fn names(weeks: &[JudgedWeek], holds: impl Fn(&JudgedWeek) -> bool) -> Option<String> {
    let found = weeks.iter().filter(|week| holds(week));
    let found: Vec<String> = found.map(|one| one.week.figures.week.to_string()).collect();
    (!found.is_empty()).then(|| found.join(", "))
}

/// One week that breaks a rule.
fn breaking(judged: &JudgedWeek) -> Option<String> {
    let figures = &judged.week.figures;
    let broken = judged.broken();
    let parts: Vec<String> = broken.iter().map(|broken| part(*broken, judged)).collect();
    let (week, load) = (figures.week, figures.load.point);
    (!parts.is_empty()).then(|| format!("{week}: {load} AU planned, {}.", parts.join("; ")))
}

/// One rule that is broken.
fn part(broken: Broken<'_>, judged: &JudgedWeek) -> String {
    let said = match broken {
        Broken::Load(judgement) => load_part(judgement),
        Broken::Organised(rule, against) => organised_part(rule, against, judged),
        Broken::WarmUp(rule, _) => warm_up_part(rule, judged),
        Broken::Jumps(judgement) => jumps_part(judgement),
    };
    match broken.certainty() {
        Certainty::Certain => said,
        Certainty::Possible if !matches!(broken, Broken::Load(_) | Broken::Organised(..)) => {
            format!("possibly {said}, by what is not said")
        }
        Certainty::Possible => format!("possibly {said}, by what is not logged"),
    }
}

fn load_part(judgement: &Judgement) -> String {
    let limit = match judgement.rule {
        RuleCode::OwnHighestWeek => "the limit by the own highest week",
        RuleCode::ReturnCeiling => "the ceiling after days away",
        _ => "the club limit",
    };
    match (judgement.over_by_au, judgement.limit_au) {
        (Some(over), Some(most)) => {
            let over = match judgement.certainty() {
                Some(Certainty::Possible) => format!("up to {}", four(over.high)),
                _ => four(over.point),
            };
            format!("{over} AU above {limit} of {} AU", four(most.point))
        }
        _ => monotony(judgement),
    }
}

fn monotony(judgement: &Judgement) -> String {
    let round = |value: Root| value.round(Places::Four);
    let found = judgement.monotony.and_then(|monotony| monotony.point);
    found.map_or_else(
        || "seven equal days, which no monotony can tell".to_owned(),
        |found| format!("monotony {} above {}", round(found), judgement.limit),
    )
}

fn organised_part(rule: RuleCode, against: AgainstLimit, judged: &JudgedWeek) -> String {
    let (value, limit) = (four(against.value.point), four(against.limit));
    match rule {
        RuleCode::FreeDays => match judged.week.free_days {
            0 => format!("no day free of organised sport, where {limit} should be"),
            _ => format!("{value} days free of organised sport, where {limit} should be"),
        },
        _ => format!("{value} organised hours, above the limit of {limit}"),
    }
}

fn warm_up_part(rule: &Rule, judged: &JudgedWeek) -> String {
    let Some(least) = LeastDose::of(rule) else {
        return String::new();
    };
    let short = least.short(&judged.week.warm_ups.dose());
    let count = |number: u32, one: &str, many: &str| match number {
        0 => None,
        1 => Some(format!("1 {one}")),
        number => Some(format!("{number} {many}")),
    };
    let minutes = four(short.minutes);
    let lacking = [
        count(short.sessions, "session", "sessions"),
        (short.minutes > Fraction::ZERO).then(|| format!("{minutes} minutes")),
        count(short.categories, "category", "categories"),
        short.feedback.then(|| "feedback".to_owned()),
    ];
    let lacking: Vec<String> = lacking.into_iter().flatten().collect();
    format!("neuromuscular warm-up short by {}", lacking.join(", "))
}

/// The sessions that break a rule about jumps: one that is certain goes before those that are possible.
fn jumps_part(judgement: &JumpsJudgement) -> String {
    let breaches = &judgement.breaches;
    let certain = |breach: &&JumpBreach| breach.certainty == Certainty::Certain;
    let Some(one) = breaches.iter().find(certain).or(breaches.first()) else {
        return String::new();
    };
    let alike = breaches.iter();
    let alike = alike.filter(|breach| breach.certainty == one.certainty);
    let alike = alike.count();
    let mut beside = Vec::new();
    if alike > 1 {
        beside.push(format!("one of {alike} such sessions"));
    }
    if breaches.len() > alike {
        beside.push(format!("possibly {} more", breaches.len() - alike));
    }
    let limit = four(judgement.limit.to_fraction());
    let said = match (judgement.rule, one.session.since_jumps) {
        (RuleCode::JumpGap, Some(since)) => {
            let between = hours_between(since);
            let date = one.session.date;
            format!("on {date} only {between} h after the last jumps, where {limit} should be")
        }
        _ => landings_part(one, &limit, &mut beside),
    };
    match beside.is_empty() {
        true => said,
        false => format!("{said} ({})", beside.join(", ")),
    }
}

/// Too many landings in a session, or possibly so: then what is known of them is below the limit and stands beside it.
fn landings_part(breach: &JumpBreach, limit: &str, beside: &mut Vec<String>) -> String {
    let (date, contacts) = (breach.session.date, &breach.session.contacts);
    let at_least = match contacts.not_known {
        0 => "",
        _ => "at least ",
    };
    let landings = format!("{at_least}{}", contacts.events());
    match breach.certainty {
        Certainty::Certain => {
            format!("{landings} landings on {date}, above the limit of {limit} a session")
        }
        Certainty::Possible => {
            beside.insert(0, landings);
            format!("above the limit of {limit} landings a session on {date}")
        }
    }
}

fn hours_between(seconds: Bounds<i64>) -> String {
    let (least, most) = (hours(seconds.low), hours(seconds.high));
    match least == most {
        true => least,
        false => format!("{least} to {most}"),
    }
}

fn hours(seconds: i64) -> String {
    Fraction::new(seconds, 60 * 60).map_or_else(String::new, four)
}

/// The days over the limit whatever weekday it is, those that are before those that may be.
fn rolling(weeks: &[JudgedWeek]) -> Option<String> {
    let days = weeks.iter().flat_map(|judged| &judged.week.days_over);
    let days = days.map(|day| (day.date, day.certainty));
    days_over(&days.collect::<Vec<_>>())
}

fn days_over(days: &[(Date, Certainty)]) -> Option<String> {
    let of = |wanted: Certainty| {
        let dates = days
            .iter()
            .filter(move |(_, certainty)| *certainty == wanted);
        let mut dates = dates.map(|(date, _)| date);
        dates.next().map(|first| (first, dates.count() + 1))
    };
    let certain = of(Certainty::Certain).map(|(first, count)| match count {
        1 => format!("one day is over the limit: {first}"),
        many => format!("{many} days are over the limit, the first {first}"),
    });
    let possible = of(Certainty::Possible).map(|(first, count)| {
        let more = if certain.is_some() { " more" } else { "" };
        match count {
            1 => format!("possibly one{more}, by what is not logged: {first}"),
            many => format!("possibly {many}{more}, by what is not logged, the first {first}"),
        }
    });
    let said = match (certain, possible) {
        (Some(certain), Some(possible)) => format!("{certain}; and {possible}"),
        (None, Some(possible)) => format!("days over the limit: {possible}"),
        (certain, None) => certain?,
    };
    Some(format!("By the seven days that end on each date, {said}."))
}

/// What cannot be judged, and why: a sentence for each rule and reason.
fn not_judged(weeks: &[JudgedWeek]) -> Vec<String> {
    let open = weeks.iter().flat_map(JudgedWeek::not_computable);
    let open: BTreeMap<(&str, &str), bool> = open
        .map(|(rule, reason)| ((rule.code(), reason.code()), rule == RuleCode::WeekEndRatio))
        .collect();
    let said = open.into_iter().filter_map(|((rule, reason), is_ratio)| {
        let is_open = |judged: &JudgedWeek| {
            let mut open = judged.not_computable();
            open.any(|(open, why)| (open.code(), why.code()) == (rule, reason))
        };
        let told = if is_ratio {
            "The limit on the ratio".to_owned()
        } else {
            format!("The rule on {}", in_words(rule))
        };
        Some(format!(
            "{told} cannot be judged in {} ({}): that is no sign that it is kept.",
            names(weeks, is_open)?,
            in_words(reason)
        ))
    });
    said.collect()
}

/// A code of the contract as words.
fn in_words(code: &str) -> String {
    code.replace('_', " ")
}

fn four(exact: Fraction) -> String {
    exact.round(Places::Four).to_string()
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use plimsoll_domain::contacts::Contacts;
    use plimsoll_domain::plan::PlannedJumps;
    use plimsoll_domain::{Decimal, Outcome};

    use super::*;

    #[test]
    fn what_is_known_of_landings_is_not_above_the_limit_where_that_is_possible() {
        let breach = |day, both_feet, certainty| JumpBreach {
            session: PlannedJumps {
                date: date(2026, 11, day),
                contacts: Contacts {
                    both_feet,
                    not_known: 1,
                    ..Contacts::default()
                },
                since_jumps: None,
                may_be_first: true,
            },
            certainty,
        };
        let said = |breaches: Vec<JumpBreach>| {
            jumps_part(&JumpsJudgement {
                rule: RuleCode::LandingContacts,
                limit: Decimal::hundredths(10_000),
                outcome: Outcome::Raised(Certainty::Possible),
                breaches,
            })
        };
        let possible = |day| breach(day, 90, Certainty::Possible);
        let certain = |day| breach(day, 101, Certainty::Certain);
        let over = "above the limit of 100 landings a session on 2026-11-02 (at least 90";
        assert_eq!(said(vec![possible(2)]), format!("{over})"));
        assert_eq!(
            said(vec![possible(2), possible(4)]),
            format!("{over}, one of 2 such sessions)")
        );
        let over = "at least 101 landings on 2026-11-04, above the limit of 100 a session";
        assert_eq!(
            said(vec![possible(2), certain(4)]),
            format!("{over} (possibly 1 more)")
        );
        assert_eq!(
            said(vec![possible(2), certain(4), certain(6)]),
            format!("{over} (one of 2 such sessions, possibly 1 more)")
        );
    }

    #[test]
    fn what_is_possible_is_not_told_as_fact() {
        let day = |day, certainty| (date(2026, 11, day), certainty);
        let (certain, possible) = (Certainty::Certain, Certainty::Possible);
        for (days, expected) in [
            (
                vec![day(2, certain), day(3, certain)],
                "2 days are over the limit, the first 2026-11-02.",
            ),
            (
                vec![day(2, possible), day(3, certain)],
                "one day is over the limit: 2026-11-03; and possibly one more, by what is not logged: 2026-11-02.",
            ),
            (
                vec![day(2, possible), day(3, possible)],
                "days over the limit: possibly 2, by what is not logged, the first 2026-11-02.",
            ),
        ] {
            let expected = format!("By the seven days that end on each date, {expected}");
            assert_eq!(days_over(&days), Some(expected));
        }
        assert_eq!(days_over(&[]), None);
    }
}
