//! Published limits a club may take up: suggestions, not law, and never anything that holds by itself.
//!
//! Each says where it was printed and about whom, what speaks against it, and how its value came here.
//! Where two sources ask for different things both are listed. Local school, federation and labour rules
//! come first.

use crate::coded::coded_enum;
use crate::exact::Decimal;
use crate::rule::RuleCode;

coded_enum! {
    /// How a value came into this list.
    Reading {
        /// Read in the source or its abstract.
        ReadInSource = "read_in_source",
        /// From memory: to be checked in the source before use.
        FromMemory = "value_from_memory",
    }
}

/// A published limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Suggestion {
    /// Its stable code.
    pub code: &'static str,
    /// What it is about, in one or two words.
    pub concerns: &'static str,
    /// The rule that can hold it and the limit to write there; `None` where no rule computes it yet.
    pub rule: Option<(RuleCode, Decimal)>,
    /// The value with its unit.
    pub value: &'static str,
    /// Paper or statement.
    pub source: &'static str,
    /// Year of the source.
    pub year: u16,
    /// Whom and what the source was about.
    pub about: &'static str,
    /// What speaks against it, or what other sources ask for.
    pub conflict: &'static str,
    /// How the value came here.
    pub reading: Reading,
}

/// Every suggestion, by what it concerns.
pub fn suggestions() -> impl Iterator<Item = Suggestion> {
    [&LOAD[..], &HOURS, &FREE_TIME, &EXERCISE, &HEAT]
        .into_iter()
        .flatten()
        .copied()
}

const NATA: &str = "National Athletic Trainers' Association, official statement, 16 October 2019";
const BASKETBALL: &str = "DiFiori JP, et al. (2018) Sports Med 48(9):2053-2065, Table 4";
const STRENGTH: &str = "National Strength and Conditioning Association, Essentials of Strength Training and Conditioning, \
    4th ed. (2016)";

static LOAD: [Suggestion; 4] = [
    Suggestion {
        code: "ratio_1_5_coupled",
        concerns: "ratio",
        rule: Some((RuleCode::WeekEndRatio, Decimal::hundredths(150))),
        value: "coupled ratio of acute to chronic load above 1.5",
        source: "Gabbett TJ (2016) Br J Sports Med 50(5):273-280",
        year: 2016,
        about: "adults in professional team sports; the coupled form, which is 1.80 uncoupled",
        conflict: "A randomised trial in 34 youth elite football teams found no benefit from planning by the ratio, relative \
            risk 1.01, 0.91 to 1.12 (Dalen-Lorentsen T, et al. 2021, Br J Sports Med 55(2):108-114); acute load divided by \
            random numbers did about as well (Impellizzeri FM, et al. 2021, Sports Med 51(3):581-592).",
        reading: Reading::FromMemory,
    },
    Suggestion {
        code: "monotony_2",
        concerns: "monotony",
        rule: Some((RuleCode::WeekMonotony, Decimal::hundredths(200))),
        value: "monotony of the week above 2",
        source: "Foster C (1998) Med Sci Sports Exerc 30(7):1164-1168",
        year: 1998,
        about: "experienced adult athletes, speed skaters among them",
        conflict: "The paper holds that limits are individual; 2 is common practice, and it does not say which standard \
            deviation it means: the sample one gives a monotony 7 % lower than the population one.",
        reading: Reading::FromMemory,
    },
    Suggestion {
        code: "return_steps",
        concerns: "return after absence",
        rule: Some((RuleCode::ReturnCeiling, Decimal::hundredths(100))),
        value: "50, 70, 80 and 90 % of the load before, then all of it, a week each",
        source: "Caterisano A, et al. (2019) Strength Cond J 41(3):1-23",
        year: 2019,
        about: "students in college sports after breaks: reductions of 50, 30, 20 and 10 % in conditioning",
        conflict: "It is about conditioning volume of young adults, not session load of minors; a clinician's limit that is \
            lower counts first.",
        reading: Reading::FromMemory,
    },
    Suggestion {
        code: "handball_hours_60_percent",
        concerns: "weekly rise",
        rule: None,
        value: "handball hours more than 60 % above the mean week of the four weeks before",
        source: "Møller M, et al. (2017) Br J Sports Med 51(4):231-237",
        year: 2017,
        about: "679 elite handball players of 14 to 18 years over 31 weeks; shoulder injuries, hazard ratio 1.91, 1.00 to 3.70",
        conflict: "Hours, not session load, and an association on the edge of chance in elite players. Use it as a talking \
            point.",
        reading: Reading::ReadInSource,
    },
];

static HOURS: [Suggestion; 3] = [
    Suggestion {
        code: "hours_age",
        concerns: "organised hours",
        rule: None,
        value: "organised hours a week not above the age in years",
        source: NATA,
        year: 2019,
        about: "youth sports of all kinds; hours above age went with serious overuse injury, odds ratio 2.07 (Jayanthi NA, et \
            al. 2015, Am J Sports Med 43(4):794-801)",
        conflict: "The basketball guidelines ask for less at 12 to 14 years: 10 hours a week, where this allows 12 to 14. \
            Which settings count as organised changes the answer.",
        reading: Reading::ReadInSource,
    },
    Suggestion {
        code: "hours_basketball_12_to_14",
        concerns: "organised hours",
        rule: None,
        value: "at most 10 hours a week at 12 to 14 years",
        source: BASKETBALL,
        year: 2018,
        about: "organised basketball alone",
        conflict: "The age in hours (National Athletic Trainers' Association, 2019) allows 12 to 14, in all sports together.",
        reading: Reading::ReadInSource,
    },
    Suggestion {
        code: "hours_basketball_school_9_to_12",
        concerns: "organised hours",
        rule: None,
        value: "at most 14 hours a week in school grades 9 to 12",
        source: BASKETBALL,
        year: 2018,
        about: "organised basketball alone",
        conflict: "The age in hours (National Athletic Trainers' Association, 2019) allows 15 to 18 at that age, in all sports \
            together.",
        reading: Reading::ReadInSource,
    },
];

static FREE_TIME: [Suggestion; 4] = [
    Suggestion {
        code: "free_days_2",
        concerns: "free days",
        rule: None,
        value: "at least 2 days a week free of organised sport",
        source: NATA,
        year: 2019,
        about: "youth sports of all kinds",
        conflict: "The basketball guidelines ask for one rest day a week from 12 years on, and two before.",
        reading: Reading::ReadInSource,
    },
    Suggestion {
        code: "free_days_basketball_1",
        concerns: "free days",
        rule: None,
        value: "at least 1 rest day a week from 12 years on",
        source: BASKETBALL,
        year: 2018,
        about: "organised basketball alone; the value was read in reports of the guidelines of October 2016, not in the table",
        conflict: "The National Athletic Trainers' Association (2019) asks for two.",
        reading: Reading::FromMemory,
    },
    Suggestion {
        code: "months_8",
        concerns: "months in one sport",
        rule: None,
        value: "at most 8 months a year in one sport",
        source: NATA,
        year: 2019,
        about: "youth sports of all kinds",
        conflict: "A handball season with its preparation is often longer (common practice, no source).",
        reading: Reading::ReadInSource,
    },
    Suggestion {
        code: "games_a_day_2",
        concerns: "games a day",
        rule: None,
        value: "at most 2 games a day",
        source: BASKETBALL,
        year: 2018,
        about: "organised basketball; tournaments",
        conflict: "Tournaments of short games are played otherwise; count the minutes as well.",
        reading: Reading::ReadInSource,
    },
];

static EXERCISE: [Suggestion; 4] = [
    Suggestion {
        code: "neuromuscular_dose",
        concerns: "neuromuscular training",
        rule: None,
        value: "24 minutes, 2.5 times a week: about 60 minutes a week",
        source: "Petushek EJ, et al. (2019) Am J Sports Med 47(7):1744-1753",
        year: 2019,
        about: "the mean dose in trials with girls and women against injuries of the cruciate ligament, odds ratio 0.51, 0.37 to \
            0.69",
        conflict: "A mean of trials, not a least dose; it speaks of groups and promises no one anything.",
        reading: Reading::ReadInSource,
    },
    Suggestion {
        code: "neuromuscular_content",
        concerns: "neuromuscular training",
        rule: None,
        value: "at least 3 of strength, plyometrics, agility, balance and flexibility, with feedback on technique",
        source: "Padua DA, et al. (2018) J Athl Train 53(1):5-19",
        year: 2018,
        about: "programmes against injuries of the cruciate ligament",
        conflict: "What counts is attendance, not what was planned.",
        reading: Reading::ReadInSource,
    },
    Suggestion {
        code: "landing_contacts_80_to_100",
        concerns: "landing contacts",
        rule: None,
        value: "80 to 100 foot contacts a session for beginners",
        source: STRENGTH,
        year: 2016,
        about: "planned plyometrics alone, not jumps in games",
        conflict: "No published weekly limit for teenage girls is known to this list; girls of 16 to 18 years in volleyball made 42 \
            jumps an hour in matches (Bahr MA, Bahr R 2014, Br J Sports Med 48(17):1322-1326).",
        reading: Reading::FromMemory,
    },
    Suggestion {
        code: "jump_gap_48_hours",
        concerns: "hours between jump sessions",
        rule: None,
        value: "48 to 72 hours between sessions with jumps",
        source: STRENGTH,
        year: 2016,
        about: "planned plyometrics alone",
        conflict: "A weekend with two games leaves about 24.",
        reading: Reading::FromMemory,
    },
];

static HEAT: [Suggestion; 1] = [Suggestion {
    code: "heat_first_5_days",
    concerns: "heat",
    rule: None,
    value: "days 1 to 5 in the heat: one practice a day, 3 hours in all",
    source: "Casa DJ, Csillan D, et al. (2009) J Athl Train 44(3):332-333",
    year: 2009,
    about: "the first 14 days of pre-season in secondary schools",
    conflict: "Local rules first.",
    reading: Reading::ReadInSource,
}];

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;
    use crate::ratio::RatioKind;

    #[test]
    fn each_has_its_own_code_and_says_what_speaks_against_it() {
        let mut codes = BTreeSet::new();
        for one in suggestions() {
            assert!(codes.insert(one.code), "{} occurs twice", one.code);
            for text in [one.concerns, one.value, one.source, one.about, one.conflict] {
                assert!(!text.is_empty(), "{}", one.code);
            }
            assert!(one.source.contains(&one.year.to_string()), "{}", one.code);
            assert!(one.conflict.ends_with('.'), "{}", one.code);
        }
        assert_eq!(codes.len(), 16);
    }

    #[test]
    fn a_rule_is_named_only_where_it_is_evaluated_and_takes_the_limit() {
        let mut named = 0;
        for (rule, limit) in suggestions().filter_map(|one| one.rule) {
            assert!(rule.is_evaluated());
            let (above, below) = rule.limit_range(Some(RatioKind::Coupled));
            assert!(above < limit && limit < below, "{}", rule.code());
            named += 1;
        }
        assert_eq!(named, 3);
    }

    /// Sources that ask for different hours and free days stand beside each other.
    #[test]
    fn both_sides_of_a_conflict_are_listed() {
        for concerns in ["organised hours", "free days"] {
            let sources = suggestions().filter(|one| one.concerns == concerns);
            let sources: BTreeSet<&str> = sources.map(|one| one.source).collect();
            assert_eq!(sources, BTreeSet::from([NATA, BASKETBALL]), "{concerns}");
        }
    }
}
