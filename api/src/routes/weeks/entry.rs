//! One athlete on the weekly list, as it is sent.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::Date;
use plimsoll_domain::{
    Certainty, Entry, Fraction, Judgement, Missing, Places, Policy, UsualBounds,
};
use serde::Serialize;
use utoipa::ToSchema;

use super::acknowledged::Acknowledged;
use super::usual_week::UsualWeek;
use crate::ids::{AthleteId, EventId, FlagId};
use crate::services::explain::Explanation;
use crate::services::weekly_list::{FlagSeen, RatingNotes, SquadWeek};
use crate::store::expected::ExpectedSession;
use crate::web::figures::{Change, LoadBounds, Values};
use crate::web::finding::{AuBounds, HighestWeek, JudgedFigures, JudgedRatio, ReturnWeek};

/// One athlete on the list.
#[derive(Debug, Serialize, ToSchema)]
pub struct WeeklyEntry {
    /// Who.
    pub athlete_id: AthleteId,
    /// The name shown.
    pub display_name: String,
    /// over_limit, own_highest, monotony, return_ceiling, nothing_logged or not_computable.
    #[schema(value_type = String, example = "over_limit")]
    pub finding: &'static str,
    /// certain, possible or not_computable.
    #[schema(value_type = String, example = "certain")]
    pub certainty: &'static str,
    /// The rule behind it.
    pub rule: Option<RuleSeen>,
    /// Load of the week.
    pub week_load_au: LoadBounds,
    /// The load that would just meet the limit.
    pub limit_au: Option<AuBounds>,
    /// How far the week is above it.
    pub over_by_au: Option<AuBounds>,
    /// The ratio at the end of the week.
    pub ratio: Option<JudgedRatio>,
    /// The monotony judged, sample divisor.
    pub monotony: Option<Values>,
    /// The highest earlier week it was compared with.
    pub own_highest: Option<HighestWeek>,
    /// The week against that one; null where there is none.
    pub change_from_own_highest: Option<Change>,
    /// Why nothing can be judged.
    #[schema(value_type = Option<String>)]
    pub reason: Option<&'static str>,
    /// The first date on which a ratio is possible, for a joiner.
    #[schema(value_type = Option<String>, format = Date)]
    pub first_ratio_date: Option<Date>,
    /// The week's load by setting, the heaviest first.
    pub made_up_of: Vec<SettingAu>,
    /// The week after an absence, where its ceiling is the finding.
    pub returning: Option<ReturnWeek>,
    /// Where the week usually lies; null while nothing is missing, or with too few ratings to say.
    pub usual: Option<UsualRange>,
    /// The athlete's usual week; null with fewer than six known weeks, and while the load of this one
    /// is in doubt.
    pub usual_week: Option<UsualWeek>,
    /// Said where the ratings may carry little information.
    pub rating_note: Option<String>,
    /// Said where she was below about twelve years on the Sunday.
    #[schema(value_type = Option<String>)]
    pub age_note: Option<&'static str>,
    /// At most three entries to ask for, the one that matters most first; none where the finding is
    /// certain.
    pub missing: Vec<MissingSession>,
    /// Other rules raised for the same week.
    pub also: Vec<AlsoRaised>,
    /// The flag, once the week is closed.
    pub flag_id: Option<FlagId>,
    /// Its version, to be named by whoever acknowledges it.
    pub flag_version: Option<i32>,
    /// What was last done about it; null while nothing was, and again when the flag has grown since.
    pub acknowledged: Option<Acknowledged>,
    /// One plain sentence.
    pub sentence: String,
    /// The arithmetic, where it is asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Explanation, required = false)]
    pub explained: Option<Explanation>,
}

/// The rule behind an entry.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"code": "week_end_ratio", "policy_version": 1, "limit": 1.5,
    "source_note": "club choice"}))]
pub struct RuleSeen {
    /// Its code.
    #[schema(value_type = String)]
    pub code: &'static str,
    /// The policy it belongs to.
    pub policy_version: u32,
    /// Its limit.
    pub limit: f64,
    /// Where the limit comes from.
    pub source_note: String,
}

/// Load of one setting.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"setting": "school_team", "au": 1050.0}))]
pub struct SettingAu {
    /// Who ran the sessions.
    #[schema(value_type = String)]
    pub setting: &'static str,
    /// Their load in the week.
    pub au: f64,
}

/// A session that was expected and not logged. `settles_above_au` and `rules_out_below_au` are of the
/// missing sessions of the judged days together, and null for a session of earlier weeks and for a
/// rule that does not grow with load.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"event_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b",
    "starts_at": "2026-11-04T16:30:00Z", "setting": "club", "kind": "practice", "minutes": 90,
    "settles_above_au": 1185.0, "rules_out_below_au": 915.0}))]
pub struct MissingSession {
    /// The event.
    pub event_id: EventId,
    /// When it began.
    #[schema(value_type = String, format = DateTime)]
    pub starts_at: Timestamp,
    /// Who ran it.
    #[schema(value_type = String)]
    pub setting: &'static str,
    /// What was done.
    #[schema(value_type = String)]
    pub kind: &'static str,
    /// Planned minutes, or those attended.
    pub minutes: i32,
    /// The finding is certain where the missing sessions come to more than this; null where they
    /// cannot.
    pub settles_above_au: Option<f64>,
    /// It is ruled out where they come to this or less; null where earlier missing sessions keep it
    /// possible.
    pub rules_out_below_au: Option<f64>,
}

/// What every usual range says of itself.
const USUAL: &str = "usual, not guaranteed";

/// Where the week usually lies: each missing session at the tenth to ninetieth percentile of the
/// athlete's own last 8 to 30 ratings of that kind.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"label": "usual, not guaranteed",
    "week_load_au": {"low": 2535.0, "high": 2835.0},
    "ratio": {"kind": "coupled", "low": 1.4272, "high": 1.5502}}))]
pub struct UsualRange {
    /// That it is usual, not guaranteed.
    #[schema(value_type = String)]
    pub label: &'static str,
    /// Load of the week.
    pub week_load_au: AuRange,
    /// The ratio at the end of the week, where it has one.
    pub ratio: Option<RatioRange>,
}

/// From least to most, AU.
#[derive(Debug, Clone, Copy, Serialize, ToSchema)]
#[schema(example = json!({"low": 2535.0, "high": 2835.0}))]
pub struct AuRange {
    /// The least.
    pub low: f64,
    /// The most.
    pub high: f64,
}

/// From least to most.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"kind": "coupled", "low": 1.4272, "high": 1.5502}))]
pub struct RatioRange {
    /// coupled or uncoupled.
    #[schema(value_type = String)]
    pub kind: &'static str,
    /// The least.
    pub low: f64,
    /// The most.
    pub high: f64,
}

/// Another rule raised for the same week.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"rule": "own_highest_week", "certainty": "certain"}))]
pub struct AlsoRaised {
    /// Its code.
    #[schema(value_type = String)]
    pub rule: &'static str,
    /// certain or possible.
    #[schema(value_type = String)]
    pub certainty: &'static str,
}

/// What entries are looked up in beside the list itself.
pub(super) struct Beside {
    policy: Option<Policy>,
    flags: BTreeMap<(AthleteId, String), FlagSeen>,
    open: BTreeMap<AthleteId, Vec<ExpectedSession>>,
    notes: BTreeMap<AthleteId, RatingNotes>,
    explained: BTreeMap<AthleteId, Explanation>,
}

impl Beside {
    /// The list, and what is beside it.
    pub(super) fn split(
        squad_week: SquadWeek,
        explained: BTreeMap<AthleteId, Explanation>,
    ) -> (plimsoll_domain::WeeklyList<AthleteId>, Self) {
        let beside = Self {
            policy: squad_week.policy,
            flags: squad_week.flags,
            open: squad_week.open,
            notes: squad_week.notes,
            explained,
        };
        (squad_week.list, beside)
    }

    /// The version of the policy, where the club has one.
    pub(super) fn policy_version(&self) -> Option<u32> {
        self.policy.as_ref().map(|policy| policy.version)
    }

    fn flag(&self, athlete: AthleteId, judgement: &Judgement) -> Option<&FlagSeen> {
        let key = (athlete, judgement.rule.code().to_owned());
        self.flags.get(&key)
    }

    fn missing(&self, athlete: AthleteId, missing: &Missing) -> Option<MissingSession> {
        let session = self.open.get(&athlete)?.get(missing.place)?;
        let au = |au: Fraction| au.round(Places::Four).to_f64();
        let settles = missing.break_even;
        Some(MissingSession {
            event_id: session.event_id,
            starts_at: session.starts_at,
            setting: session.setting.code(),
            kind: session.kind.code(),
            minutes: session.minutes,
            settles_above_au: settles.and_then(|settles| settles.certain_above).map(au),
            rules_out_below_au: settles.and_then(|settles| settles.ruled_out_up_to).map(au),
        })
    }

    /// An entry as it is sent.
    pub(super) fn entry(&mut self, entry: Entry<AthleteId>) -> WeeklyEntry {
        let figures = entry.judgement.as_ref().map(JudgedFigures::from);
        let figures = figures.as_ref();
        let rule = entry
            .judgement
            .and_then(|it| rule_seen(&it, self.policy.as_ref()?));
        let flag = entry.judgement.and_then(|it| self.flag(entry.key, &it));
        let flag = flag.cloned();
        let missing = entry.missing.iter();
        let notes = self.notes.remove(&entry.key).unwrap_or_default();
        WeeklyEntry {
            athlete_id: entry.key,
            finding: entry.finding.code(),
            certainty: entry.certainty.map_or("not_computable", Certainty::code),
            rule,
            week_load_au: entry.week_load.into(),
            limit_au: figures.and_then(|figures| figures.limit_au),
            over_by_au: figures.and_then(|figures| figures.over_by_au),
            ratio: figures.and_then(|figures| figures.ratio),
            monotony: figures.and_then(|figures| figures.monotony),
            own_highest: figures.and_then(|figures| figures.own_highest.clone()),
            change_from_own_highest: entry.judgement.and_then(from_own_highest),
            returning: figures.and_then(|figures| figures.returning.clone()),
            reason: entry.reason.map(plimsoll_domain::Reason::code),
            first_ratio_date: entry.first_ratio_date,
            made_up_of: entry.made_up_of.iter().map(SettingAu::from).collect(),
            usual: entry.usual.map(UsualRange::from),
            usual_week: entry.baseline.map(UsualWeek::from),
            rating_note: notes.habits,
            age_note: notes.age,
            missing: missing
                .filter_map(|one| self.missing(entry.key, one))
                .collect(),
            also: entry.also.iter().filter_map(also_raised).collect(),
            flag_id: flag.as_ref().map(|flag| flag.flag_id),
            flag_version: flag.as_ref().map(|flag| flag.version),
            acknowledged: flag.and_then(|flag| flag.acknowledged).map(Into::into),
            display_name: entry.display_name,
            sentence: entry.sentence,
            explained: self.explained.remove(&entry.key),
        }
    }
}

impl From<&plimsoll_domain::SettingLoad> for SettingAu {
    fn from(part: &plimsoll_domain::SettingLoad) -> Self {
        Self {
            setting: part.setting.code(),
            au: part.week.to_au(),
        }
    }
}

impl From<UsualBounds> for UsualRange {
    fn from(usual: UsualBounds) -> Self {
        let four = |value: Fraction| value.round(Places::Four).to_f64();
        let (low, high) = usual.week_load;
        Self {
            label: USUAL,
            week_load_au: AuRange {
                low: low.to_au(),
                high: high.to_au(),
            },
            ratio: usual.ratio.map(|(kind, low, high)| RatioRange {
                kind: kind.code(),
                low: four(low),
                high: four(high),
            }),
        }
    }
}

fn rule_seen(judgement: &Judgement, policy: &Policy) -> Option<RuleSeen> {
    let rule = policy.rule(judgement.rule)?;
    Some(RuleSeen {
        code: rule.code.code(),
        policy_version: policy.version,
        limit: rule.limit.to_f64(),
        source_note: rule.source_note.clone(),
    })
}

fn from_own_highest(judgement: Judgement) -> Option<Change> {
    let highest = judgement.own_highest?;
    Some(highest.change(judgement.load).into())
}

fn also_raised(judgement: &Judgement) -> Option<AlsoRaised> {
    let certainty = judgement.certainty()?.code();
    Some(AlsoRaised {
        rule: judgement.rule.code(),
        certainty,
    })
}
