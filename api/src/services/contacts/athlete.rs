//! What was counted in an athlete's sessions of some dates, and what the club's rules about jumps say of them.

use jiff::civil::Date;
use plimsoll_domain::jump_rules::{JumpJudgement, jump_gap, landing_contacts};
use plimsoll_domain::{Policy, Reason, Rule, RuleCode, SessionCounts};

use super::sessions::{ReportedSession, reported};
use crate::error::Problem;
use crate::ids::AthleteId;
use crate::services::policy::Policies;
use crate::services::schedule::record::Record;
use crate::store::sessions::Session;
use crate::store::{Conn, Known, Tenant, session_contacts};

/// What was counted in some dates.
#[derive(Debug)]
pub struct CountedDates {
    /// The sessions that somebody counted, by start.
    pub sessions: Vec<CountedSession>,
    /// Reported sessions that nobody counted.
    pub not_counted: usize,
    /// The policy in force on the last date.
    pub policy_version: Option<u32>,
}

/// A session that somebody counted.
#[derive(Debug)]
pub struct CountedSession {
    /// The report it was counted for.
    pub report: Session,
    /// What was counted.
    pub counts: SessionCounts,
    /// Seconds from the end of the last counted session with landings on feet to its start, as reported; negative where the two
    /// overlap, `None` where there is none.
    pub since_last_jumps: Option<i64>,
    /// What the policy of its date says of its landings; `None` where it has no such rule.
    pub landing_contacts: Option<JudgedRule>,
    /// What that says of the time since the last jumps; `None` where it has no such rule, and of a session without landings on feet.
    pub jump_gap: Option<JudgedRule>,
}

/// What a rule of the policy says of a session.
#[derive(Debug, Clone)]
pub struct JudgedRule {
    /// The rule, switched on or not.
    pub rule: Rule,
    /// How far from its limit, or why that cannot be told.
    pub judged: Result<JumpJudgement, Reason>,
}

/// Reads what was counted in the sessions with these load dates, in a state of knowledge: a query a table, and one for the last jumps
/// before.
pub fn read(
    conn: &mut Conn,
    tenant: Tenant,
    athlete_id: AthleteId,
    (from, to): (Date, Date),
    known: Known,
) -> Result<CountedDates, Problem> {
    let policies = Policies::read(conn, tenant, known)?;
    let ids = [athlete_id];
    let record = Record::read(conn, tenant, &ids, (from, to), known)?;
    let standing = record.sessions()?.remove(&athlete_id).unwrap_or_default();
    let mut found = reported(conn, tenant, &standing, known)?;
    found.retain(|one| (from..=to).contains(&one.leading.load_date));
    let before = session_contacts::last_jumps_before(conn, tenant, athlete_id, from, known)?;
    let mut last_end = before.map(|(start, minutes)| start.as_second() + i64::from(minutes) * 60);
    let not_counted = found.iter().filter(|one| one.counted.is_none()).count();
    Ok(CountedDates {
        sessions: by_start(&found)
            .into_iter()
            .map(|(report, counts)| {
                let one = CountedSession::new(report, counts, last_end, &policies);
                if counts.on_feet().is_some_and(|landings| landings > 0) {
                    last_end = Some(end(report));
                }
                one
            })
            .collect(),
        not_counted,
        policy_version: policies.at(to).map(|policy| policy.version),
    })
}

fn by_start<'a>(found: &[ReportedSession<'a>]) -> Vec<(&'a Session, SessionCounts)> {
    let mut counted: Vec<_> = found.iter().filter_map(|one| one.counted).collect();
    counted.sort_by_key(|(report, _)| (report.started_at, report.session_id));
    counted
}

/// The end of a session as reported, in seconds.
fn end(report: &Session) -> i64 {
    report.started_at.as_second() + i64::from(report.minutes) * 60
}

impl CountedSession {
    fn new(
        report: &Session,
        counts: SessionCounts,
        last_end: Option<i64>,
        policies: &Policies,
    ) -> Self {
        let start = report.started_at.as_second();
        let policy = policies.at(report.load_date);
        Self {
            landing_contacts: policy.and_then(|policy| landings(policy, &counts)),
            jump_gap: policy.and_then(|policy| gap(policy, &counts, last_end, start)),
            since_last_jumps: last_end.map(|end| start - end),
            report: report.clone(),
            counts,
        }
    }
}

fn landings(policy: &Policy, counts: &SessionCounts) -> Option<JudgedRule> {
    let rule = policy.rule(RuleCode::LandingContacts)?.clone();
    let landings = counts.landings().ok_or(Reason::NotCounted);
    Some(JudgedRule {
        judged: landings.map(|landings| landing_contacts(rule.limit, &landings.contacts())),
        rule,
    })
}

fn gap(
    policy: &Policy,
    counts: &SessionCounts,
    last_end: Option<i64>,
    start: i64,
) -> Option<JudgedRule> {
    let rule = policy.rule(RuleCode::JumpGap)?.clone();
    let judged = match counts.on_feet() {
        Some(0) => return None,
        Some(_) => last_end.ok_or(Reason::NothingBefore),
        None => Err(Reason::NotCounted),
    };
    Some(JudgedRule {
        judged: judged.map(|last_end| jump_gap(rule.limit, last_end, start)),
        rule,
    })
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use plimsoll_domain::{Certainty, Count, CountBasis, Landings, Outcome, PolicyDraft};

    use super::*;

    const HOUR: i64 = 3600;

    fn policy() -> Policy {
        let draft = PolicyDraft::example(date(2026, 1, 1), "Head of training");
        draft.check().unwrap()
    }

    fn counts(both_feet: i64) -> SessionCounts {
        let count = |number| Count::new(number).unwrap();
        let landings = Landings::new([count(both_feet), count(0), count(0)], None, None);
        SessionCounts::new(landings.ok(), None, CountBasis::Counted).unwrap()
    }

    fn throws() -> SessionCounts {
        SessionCounts::new(None, Count::new(9).ok(), CountBasis::Counted).unwrap()
    }

    /// The outcome, and how far beyond the limit.
    fn told(rule: Option<JudgedRule>) -> Result<(Outcome, f64), Reason> {
        let judged = rule.expect("a rule").judged?;
        Ok((judged.outcome, judged.beyond.to_f64()))
    }

    #[test]
    fn landings_are_held_against_the_policy() {
        let of = |counts| told(landings(&policy(), &counts));
        assert_eq!(
            of(counts(163)),
            Ok((Outcome::Raised(Certainty::Certain), 63.0))
        );
        assert_eq!(of(counts(100)), Ok((Outcome::NotRaised, 0.0)));
        assert_eq!(of(throws()), Err(Reason::NotCounted));
    }

    #[test]
    fn the_time_since_jumps_is_told_of_sessions_with_jumps() {
        let of = |counts, last_end| gap(&policy(), &counts, last_end, 100 * HOUR);
        let short = told(of(counts(1), Some(100 * HOUR - 167_400)));
        assert_eq!(
            short,
            Ok((Outcome::Raised(Certainty::Certain), 1.5)),
            "46.5 h"
        );
        assert_eq!(
            told(of(counts(1), Some(52 * HOUR))),
            Ok((Outcome::NotRaised, 0.0))
        );
        assert_eq!(told(of(counts(1), None)), Err(Reason::NothingBefore));
        assert_eq!(told(of(throws(), Some(0))), Err(Reason::NotCounted));
        assert!(of(counts(0), Some(99 * HOUR)).is_none(), "no jumps");
    }

    #[test]
    fn a_policy_without_the_rules_says_nothing() {
        let mut draft = policy().into_draft();
        draft
            .rules
            .retain(|rule| rule.code == RuleCode::WeekMonotony);
        let policy = draft.check().unwrap();
        assert!(landings(&policy, &counts(163)).is_none());
        assert!(gap(&policy, &counts(163), Some(0), HOUR).is_none());
    }
}
