//! An athlete's history for a clinician: what was logged around an absence, what is not known of it, how much is back, and tests of both
//! sides. One query a table, in one snapshot.

mod components;
mod sides;
mod span;
mod weeks;

pub use components::{BeforeAndNow, Counted, Share};
pub use sides::{TestDay, Tests};
pub use span::HistorySpan;
pub use weeks::{HistoryWeek, KindLoad, SpanTotal};

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use plimsoll_domain::consent::DataClass;
use plimsoll_domain::ramp::{FOLLOWED_WEEKS, after_absence};
use plimsoll_domain::restriction::Restriction;
use plimsoll_domain::{FigureSettings, IsoWeek, RampWeek, TrialsBy};

use super::as_of::AsOf;
use super::consents::gate;
use super::contacts::sessions::reported;
use super::elsewhere;
use super::explain::{Explanation, explain};
use super::figures::{self, Asked, AthleteDays, DaysOff};
use super::local_time::{EARLIEST, LATEST};
use super::policy::Policies;
use super::restrictions::standing;
use super::schedule::record::Record;
use super::sign_offs::SignOffs;
use super::{reach, retention, zones};
use crate::auth::tenant::Caller;
use crate::error::Problem;
use crate::ids::{AthleteId, FlagId};
use crate::store::absences::Absence;
use crate::store::athletes::Athlete;
use crate::store::clearances::{self, ClearanceRecord};
use crate::store::flags::{Acknowledgement, Judged};
use crate::store::pain_reports::PainReport;
use crate::store::{
    Conn, Known, Tenant, Who, absences, flags, injuries, pain_reports, rest_days, restrictions,
    test_results,
};
use components::CountedDays;
use weeks::Kinds;

/// Which history.
#[derive(Debug, Clone, Copy)]
pub struct Wanted {
    /// Whose.
    pub athlete_id: AthleteId,
    /// First day, where it is said.
    pub from: Option<Date>,
    /// Last day, where it is said.
    pub to: Option<Date>,
    /// What of its trials a result of a test stands for.
    pub trials_by: TrialsBy,
    /// Whether the arithmetic of the loads is wanted.
    pub explain: bool,
}

/// A history.
#[derive(Debug)]
pub struct History {
    /// Whose, as she was known.
    pub athlete: Athlete,
    /// Her home zone.
    pub home: TimeZone,
    /// Which days.
    pub span: HistorySpan,
    /// The date at home on which the history was asked for, or was known.
    pub today: Date,
    /// What clinicians limit.
    pub restrictions: Vec<Restriction>,
    /// What clinicians decided, by the day they did.
    pub clearances: Vec<ClearanceRecord>,
    /// The state of knowledge.
    pub as_of: Timestamp,
    /// The policy in force on the last day.
    pub policy_version: Option<u32>,
    /// Absences with a day in the span.
    pub absences: Vec<Absence>,
    /// Loads by week.
    pub weeks: BTreeMap<IsoWeek, HistoryWeek>,
    /// The days together, and how much of them is known.
    pub total: SpanTotal,
    /// The load before the absence and how much of it is back.
    pub back: BeforeAndNow,
    /// The weeks since the absence with their ceilings.
    pub since_return: Vec<RampWeek>,
    /// Tests of the span; none where `tests_withheld`.
    pub tests: Tests,
    /// Whether consent to tests being read is wanting.
    pub tests_withheld: bool,
    /// What she said about pain in the span, by day; none where `pain_withheld`.
    pub pain: Vec<PainReport>,
    /// Whether consent to that being read is wanting.
    pub pain_withheld: bool,
    /// Techniques signed off up to the last day, withdrawn ones too.
    pub sign_offs: SignOffs,
    /// Organisations that share nothing, as her family calls them.
    pub not_shared: Vec<String>,
    /// Flags of the span's weeks.
    pub flags: Vec<Judged>,
    /// What was done about them.
    pub acknowledgements: Vec<Acknowledgement>,
    /// What kind of records these are, in the club's words of then.
    pub record_note: &'static str,
    /// The arithmetic of the loads, where it is wanted.
    pub explained: Option<Explanation>,
}

/// Reads the history of an athlete within the caller's reach.
pub fn read(
    conn: &mut Conn,
    caller: &Caller,
    wanted: &Wanted,
    as_of: AsOf,
) -> Result<History, Problem> {
    let (tenant, known) = (caller.tenant, as_of.known);
    let athlete = reach::athlete(conn, caller, wanted.athlete_id)?;
    let athlete = figures::as_known(conn, tenant, athlete, known)?.content;
    let home = zones::home(conn, tenant, &athlete)?;
    let today = as_of.today(&home);
    let who = [wanted.athlete_id];
    let who = Who::Athletes(&who);
    let away = absences::in_dates(conn, tenant, who, EARLIEST, LATEST, known)?;
    let away: Vec<Absence> = away.into_iter().map(|one| one.content).collect();
    let span = HistorySpan::of(wanted, &away, today)?;
    let policies = Policies::read(conn, tenant, known)?;
    let clearances = clearances::known(conn, tenant, who, known)?;
    let restricted = restrictions::in_dates(conn, tenant, who, span.reads_from(), today, known)?;
    let restricted = standing::decided(restricted, &clearances)?;
    let off = DaysOff {
        rest_days: Vec::new(),
        absences: away,
        restrictions: restricted.into_values().flatten().collect(),
    };
    let asked = Asked {
        first: span.reads_from(),
        last: span.to,
        settings: None,
        known,
        now: as_of.now,
    };
    let days = days(conn, tenant, (athlete, off), &asked, &policies)?;
    let explained = match wanted.explain {
        true => Some(explain(conn, caller, &days.days, &asked, &policies)?),
        false => None,
    };
    let loads = loads(days, &span, &policies);
    let classes = [DataClass::Tests, DataClass::Pain];
    let closed = gate::closed(conn, tenant, (wanted.athlete_id, classes), as_of.now)?;
    let [tests_withheld, pain_withheld] = closed.map(|code| code.is_some());
    let results = if tests_withheld {
        Vec::new()
    } else {
        test_results::until(conn, tenant, who, span.to, known)?
    };
    let pain = if pain_withheld {
        Vec::new()
    } else {
        pain_reports::in_dates(conn, tenant, who, (span.from, span.to), known)?
    };
    let hurt = injuries::until(conn, tenant, who, span.to, known)?;
    let hurt = hurt.into_iter().map(|one| one.content).collect();
    let (flags, acknowledgements) = flagged(conn, tenant, who, &span, known)?;
    let mut sign_offs = SignOffs::read(conn, tenant, wanted.athlete_id, known)?;
    sign_offs.all.retain(|one| one.content.signed_on <= span.to);
    Ok(History {
        tests: sides::tests(results, hurt, &span, wanted.trials_by),
        tests_withheld,
        pain: pain.into_iter().map(|one| one.content).collect(),
        pain_withheld,
        sign_offs,
        not_shared: loads.not_shared,
        policy_version: policies.at(span.to).map(|policy| policy.version),
        as_of: as_of.at(),
        absences: loads.absences,
        restrictions: loads.restrictions,
        clearances,
        today,
        athlete: loads.athlete,
        home,
        weeks: loads.weeks,
        total: loads.total,
        back: loads.back,
        since_return: loads.since_return,
        span,
        flags,
        acknowledgements,
        record_note: retention::words::of_club(conn, tenant, known)?,
        explained,
    })
}

/// What the days come to.
struct Loads {
    athlete: Athlete,
    not_shared: Vec<String>,
    absences: Vec<Absence>,
    restrictions: Vec<Restriction>,
    weeks: BTreeMap<IsoWeek, HistoryWeek>,
    total: SpanTotal,
    back: BeforeAndNow,
    since_return: Vec<RampWeek>,
}

/// The days of a history, with what each came to by kind of session, and what was counted in the sessions.
struct Days {
    days: AthleteDays,
    kinds: Kinds,
    counted: CountedDays,
}

/// Reads the record and counts it, day by day and by kind of session.
fn days(
    conn: &mut Conn,
    tenant: Tenant,
    (athlete, off): (Athlete, DaysOff),
    asked: &Asked,
    policies: &Policies,
) -> Result<Days, Problem> {
    let ids = [athlete.athlete_id];
    let who = Who::Athletes(&ids);
    let dates = (asked.first, asked.last);
    let rest = rest_days::in_dates(conn, tenant, who, asked.first, asked.last, asked.known)?;
    let record = Record::read(conn, tenant, &ids, dates, asked.known)?;
    let sessions = record.sessions()?.remove(&ids[0]).unwrap_or_default();
    let off = DaysOff {
        rest_days: rest.into_iter().map(|day| day.content.date).collect(),
        ..off
    };
    let state = (asked.known, asked.now);
    let elsewhere = elsewhere::read(conn, tenant, who, dates, state)?;
    let elsewhere = elsewhere.into_values().next().unwrap_or_default();
    let days = figures::days_of_record(athlete, &sessions, (off, elsewhere), asked, policies)?;
    let kinds = weeks::by_kind(&sessions, &days, policies)?;
    let counted = reported(conn, tenant, &sessions, asked.known)?;
    Ok(Days {
        days,
        kinds,
        counted: components::by_date(&counted),
    })
}

/// What the days come to: by week, by kind of session, and against the days before the absence.
fn loads(of_days: Days, span: &HistorySpan, policies: &Policies) -> Loads {
    let Days {
        days,
        kinds,
        counted,
    } = of_days;
    let settings = policies.figures_at(span.to);
    let series = days.series.as_ref();
    Loads {
        weeks: series
            .map(|series| weeks::weeks(series, span, &kinds))
            .unwrap_or_default(),
        total: weeks::total(series, span),
        back: components::before_and_now(series, span, (&kinds, &counted), &settings),
        since_return: since_return(&days, span, &settings),
        absences: shown(&days.absences, span),
        restrictions: days.restrictions,
        not_shared: days.elsewhere.not_shared.clone(),
        athlete: days.athlete,
    }
}

/// The weeks since the absence, as far as they are over.
fn since_return(
    days: &AthleteDays,
    span: &HistorySpan,
    settings: &FigureSettings,
) -> Vec<RampWeek> {
    let ramp = days.series.as_ref().zip(span.absence);
    let ramp = ramp.and_then(|(series, (_, last))| {
        let ramp = after_absence(series, last, settings)?.ok()?;
        let mut weeks = ramp.weeks(series, span.to);
        weeks.retain(|week| !series.waits_for_clearance(week.from, week.to));
        Some(weeks)
    });
    let followed = usize::try_from(FOLLOWED_WEEKS).unwrap_or(usize::MAX);
    let weeks = ramp.unwrap_or_default().into_iter();
    weeks.take(followed).collect()
}

fn shown(absences: &[Absence], span: &HistorySpan) -> Vec<Absence> {
    let shown = absences
        .iter()
        .filter(|one| one.from_date <= span.to && span.from <= one.to_date);
    shown.cloned().collect()
}

/// The flags of the span's weeks, with what was known of what was done about them.
fn flagged(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    span: &HistorySpan,
    known: Known,
) -> Result<(Vec<Judged>, Vec<Acknowledgement>), Problem> {
    let monday = |date| {
        let week = IsoWeek::of(date).map_err(|error| Problem::internal(&error));
        week.map(IsoWeek::monday)
    };
    let (first, last) = (monday(span.from)?, monday(span.to)?);
    let flags = flags::in_weeks(conn, tenant, who, first, last, known)?;
    let ids: Vec<FlagId> = flags.iter().map(|one| one.flag.flag_id).collect();
    let mut done = flags::acknowledgements(conn, tenant, &ids)?;
    if let Known::AsOf(at) = known {
        done.retain(|one| one.received_at <= at);
    }
    Ok((flags, done))
}
