//! A draft policy tried on weeks that are over: how many findings it would have brought, to whom.
//!
//! The data are those known now, also where the closed weeks were judged by what was known then.

use std::collections::{BTreeSet, HashMap};

use jiff::Timestamp;
use jiff::civil::Date;
use plimsoll_domain::{GroupWeek, IsoWeek, Places, Rehearsal, RuleCode, Tally};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::body::PolicyBody;
use super::{Policies, drafts};
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::{AthleteId, PolicyDraftId, SquadId};
use crate::services::fields::{self, Faults};
use crate::services::figures::{self, Asked, AthleteDays};
use crate::services::flags::shifted;
use crate::services::returns;
use crate::store::memberships::{self, Membership};
use crate::store::squads::{self, Squad};
use crate::store::{Conn, Known, Tenant, Who, athletes, policy_drafts};

/// Weeks of one rehearsal, a season and a half.
pub const MOST_WEEKS: usize = 80;
/// Athletes whose days are held at a time.
const BATCH: usize = 500;

/// A draft and the weeks to try it on.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RehearsalInput {
    /// The draft, as it would be sent to be set. Its first date does not matter here.
    pub policy: Option<PolicyBody>,
    /// Or a stored draft.
    pub draft_id: Option<PolicyDraftId>,
    /// First ISO week; 25 weeks before the last unless given.
    #[schema(example = "2026-W20")]
    pub from_week: Option<String>,
    /// Last ISO week; the last that is over in the club's zone unless given.
    #[schema(example = "2026-W45")]
    pub to_week: Option<String>,
}

/// What a policy would have raised. Counts only; nothing is stored.
#[derive(Debug, Serialize, ToSchema)]
pub struct RehearsalAnswer {
    /// First week.
    #[schema(example = "2026-W20")]
    pub from_week: String,
    /// Last week.
    #[schema(example = "2026-W45")]
    pub to_week: String,
    /// What the draft would have raised.
    pub draft: Raised,
    /// What the policies in force in those weeks raise on the same data; a week without one raises
    /// nothing.
    pub in_force: Raised,
    /// The draft's findings by squad, by name.
    pub squads: Vec<SquadFindings>,
    /// What to keep in mind.
    pub caution: &'static str,
}

/// Findings of a policy, over all athletes and weeks.
#[derive(Debug, Serialize, ToSchema)]
pub struct Raised {
    /// Weeks of athletes that were judged.
    pub athlete_weeks: u32,
    /// Over the limit whatever the unlogged sessions were.
    pub certain: u32,
    /// Over the limit for some values of the unlogged sessions.
    pub possible: u32,
    /// Findings in a week of a squad of 15; null where no week was judged.
    #[schema(example = 2.5)]
    pub a_week_per_15_athletes: Option<f64>,
    /// By rule, those that raised any.
    pub rules: Vec<RuleFindings>,
}

/// Findings of one rule.
#[derive(Debug, Serialize, ToSchema)]
pub struct RuleFindings {
    /// The rule.
    #[schema(value_type = String, example = "week_end_ratio")]
    pub code: &'static str,
    /// Certain findings.
    pub certain: u32,
    /// Possible findings.
    pub possible: u32,
}

/// What one squad's coach would have had. An athlete in two squads is counted in both.
#[derive(Debug, Serialize, ToSchema)]
pub struct SquadFindings {
    /// The squad.
    pub squad_id: SquadId,
    /// Its name.
    pub name: String,
    /// The week with the most athletes to look at; null where no week had any.
    pub worst_week: Option<WeekFindings>,
    /// Every week in which the squad had athletes.
    pub weeks: Vec<WeekFindings>,
}

/// Findings of a squad and week.
#[derive(Debug, Serialize, ToSchema)]
pub struct WeekFindings {
    /// The week.
    #[schema(example = "2026-W45")]
    pub week: String,
    /// Athletes with at least one finding.
    pub athletes: u32,
    /// Certain findings.
    pub certain: u32,
    /// Possible findings.
    pub possible: u32,
}

const CAUTION: &str = "This counts what the draft would have raised, with what is known today. Do not fit limits to \
    past injuries: the numbers are small and hindsight is not evidence.";

/// A checked rehearsal.
#[derive(Debug)]
pub struct Plan {
    draft: Policies,
    weeks: (IsoWeek, IsoWeek),
}

impl Plan {
    /// Checks what was sent; `today` is the club's.
    ///
    /// # Errors
    /// 422 with every fault.
    pub fn check(
        conn: &mut Conn,
        tenant: Tenant,
        input: &RehearsalInput,
        today: Date,
    ) -> Result<Self, Problem> {
        let mut faults = Faults::default();
        let policy = faults.take(asked_policy(conn, tenant, input)?);
        let draft = policy.and_then(|policy| {
            let faulty = |found: Vec<FieldProblem>| {
                faults.extend(found.into_iter().map(|fault| fault.under("/policy")));
            };
            policy.check(1).map_err(faulty).ok()
        });
        let weeks = faults.take(asked_weeks(input, today));
        let (draft, weeks) = faults.settle(draft.zip(weeks))?;
        Ok(Self {
            draft: Policies::always(draft),
            weeks,
        })
    }

    /// Judges every athlete's weeks by the draft and by the policies in force.
    pub fn run(
        &self,
        conn: &mut Conn,
        tenant: Tenant,
        now: Timestamp,
    ) -> Result<RehearsalAnswer, Problem> {
        let in_force = Policies::read(conn, tenant, Known::Now)?;
        let squads = squads::all(conn, tenant)?;
        let members = Members::read(conn, tenant, &squads, self.weeks)?;
        let everybody = athletes::known(conn, tenant, Who::WholeClub, Known::Now)?;
        let everybody = everybody.iter().map(|one| one.content.athlete_id);
        let everybody: Vec<AthleteId> = everybody.collect();
        let alike = self.draft.split_alike(&in_force);
        let (mut drafted, mut standing) = (Rehearsal::default(), Rehearsal::default());
        for batch in everybody.chunks(BATCH) {
            let stored = self.days(conn, tenant, batch, &in_force, (Known::Now, now))?;
            self.judge(&stored, &in_force, &members, &mut standing);
            if alike {
                self.judge(&stored, &self.draft, &members, &mut drafted);
            } else {
                let known = (Known::AsOf(now), now);
                let anew = self.days(conn, tenant, batch, &self.draft, known)?;
                self.judge(&anew, &self.draft, &members, &mut drafted);
            }
        }
        Ok(self.answer(&drafted, &standing, squads))
    }

    /// The days the weeks look at: the stored ones, or made anew from the reports where a policy puts
    /// loads over midnight elsewhere.
    fn days(
        &self,
        conn: &mut Conn,
        tenant: Tenant,
        batch: &[AthleteId],
        policies: &Policies,
        (known, now): (Known, Timestamp),
    ) -> Result<Vec<AthleteDays>, Problem> {
        let who = Who::Athletes(batch);
        let asked = Asked {
            first: returns::reads_from(conn, tenant, who, self.weeks, known)?,
            last: self.weeks.1.sunday(),
            settings: None,
            known,
            now,
        };
        figures::days(conn, tenant, who, &asked, policies)
    }

    fn judge(
        &self,
        athletes: &[AthleteDays],
        policies: &Policies,
        members: &Members,
        found: &mut Rehearsal<SquadId>,
    ) {
        for days in athletes {
            let Some(series) = &days.series else { continue };
            for week in self.weeks.0.through(self.weeks.1) {
                if let Some(policy) = policies.at(week.sunday()) {
                    let squads = members.squads(days.athlete.athlete_id, week.sunday());
                    found.add(policy, series, week, squads);
                }
            }
        }
    }

    fn answer(
        &self,
        drafted: &Rehearsal<SquadId>,
        standing: &Rehearsal<SquadId>,
        mut squads: Vec<Squad>,
    ) -> RehearsalAnswer {
        squads.sort_by(|a, b| (&a.name, a.squad_id).cmp(&(&b.name, b.squad_id)));
        let of_squad = |squad: Squad| {
            let weeks = drafted.groups.get(&squad.squad_id);
            let weeks = weeks.into_iter().flatten();
            SquadFindings {
                squad_id: squad.squad_id,
                worst_week: drafted.worst_week(&squad.squad_id).map(WeekFindings::of),
                name: squad.name,
                weeks: weeks
                    .map(|(week, found)| WeekFindings::of((*week, *found)))
                    .collect(),
            }
        };
        RehearsalAnswer {
            from_week: self.weeks.0.to_string(),
            to_week: self.weeks.1.to_string(),
            draft: Raised::of(drafted),
            in_force: Raised::of(standing),
            squads: squads.into_iter().map(of_squad).collect(),
            caution: CAUTION,
        }
    }
}

impl Raised {
    fn of(found: &Rehearsal<SquadId>) -> Self {
        let rate = found.a_week_per_15_athletes();
        let rules = found.by_rule.iter();
        Self {
            athlete_weeks: found.athlete_weeks,
            certain: found.findings.certain,
            possible: found.findings.possible,
            a_week_per_15_athletes: rate.map(|rate| rate.round(Places::Four).to_f64()),
            rules: rules
                .map(|(code, tally)| RuleFindings::of(*code, *tally))
                .collect(),
        }
    }
}

impl RuleFindings {
    fn of(code: RuleCode, tally: Tally) -> Self {
        Self {
            code: code.code(),
            certain: tally.certain,
            possible: tally.possible,
        }
    }
}

impl WeekFindings {
    fn of((week, found): (IsoWeek, GroupWeek)) -> Self {
        Self {
            week: week.to_string(),
            athletes: found.athletes,
            certain: found.findings.certain,
            possible: found.findings.possible,
        }
    }
}

/// Who was in which squad when.
#[derive(Debug, Default)]
struct Members(HashMap<AthleteId, Vec<Membership>>);

impl Members {
    fn read(
        conn: &mut Conn,
        tenant: Tenant,
        squads: &[Squad],
        (first, last): (IsoWeek, IsoWeek),
    ) -> Result<Self, Problem> {
        let ids: Vec<SquadId> = squads.iter().map(|squad| squad.squad_id).collect();
        let (from, to) = (first.monday(), last.sunday());
        let mut members = Self::default();
        for member in memberships::of_squads(conn, tenant, &ids, from, to, Known::Now)? {
            let of_athlete = members.0.entry(member.content.athlete_id).or_default();
            of_athlete.push(member.content);
        }
        Ok(members)
    }

    /// The squads of an athlete on a date, each once.
    fn squads(&self, athlete: AthleteId, on: Date) -> BTreeSet<SquadId> {
        let memberships = self.0.get(&athlete).into_iter().flatten();
        let held =
            memberships.filter(|one| one.from_date <= on && one.to_date.is_none_or(|to| on <= to));
        held.map(|one| one.squad_id).collect()
    }
}

/// The policy that was sent, or the draft that was named.
fn asked_policy(
    conn: &mut Conn,
    tenant: Tenant,
    input: &RehearsalInput,
) -> Result<Result<PolicyBody, FieldProblem>, Problem> {
    match (&input.policy, input.draft_id) {
        (Some(policy), None) => Ok(Ok(policy.clone())),
        (None, Some(id)) => match policy_drafts::find(conn, tenant, id)? {
            Some(draft) => drafts::said(&draft).map(Ok),
            None => Ok(Err(FieldProblem::new(
                "/draft_id",
                Code::UnknownDraft,
                id.to_string(),
            ))),
        },
        (None, None) => Ok(Err(FieldProblem::missing("/policy", "policy or draft_id"))),
        (Some(_), Some(id)) => Ok(Err(FieldProblem::new(
            "/draft_id",
            Code::AmbiguousPolicy,
            id.to_string(),
        ))),
    }
}

/// The half year up to the last week that is over, unless asked otherwise.
fn asked_weeks(input: &RehearsalInput, today: Date) -> Result<(IsoWeek, IsoWeek), FieldProblem> {
    let current = IsoWeek::of(today)
        .map_err(|_| FieldProblem::new("/to_week", Code::InvalidWeek, today.to_string()))?;
    let over = shifted(current, -1);
    let week = |pointer: &str, given: &Option<String>| {
        given
            .as_deref()
            .map(|given| fields::week(pointer, given))
            .transpose()
    };
    let to = week("/to_week", &input.to_week)?.unwrap_or(over);
    let from = week("/from_week", &input.from_week)?.unwrap_or_else(|| shifted(to, -25));
    if to > over {
        return Err(
            FieldProblem::new("/to_week", Code::InFuture, to.to_string())
                .allowed(format!("{over} or earlier")),
        );
    }
    if to < from {
        return Err(
            FieldProblem::new("/to_week", Code::RangeReversed, to.to_string())
                .allowed(format!("{from} or later")),
        );
    }
    if from.through(to).count() > MOST_WEEKS {
        return Err(
            FieldProblem::new("/from_week", Code::RangeTooLong, from.to_string())
                .allowed(format!("at most {MOST_WEEKS} weeks")),
        );
    }
    Ok((from, to))
}
