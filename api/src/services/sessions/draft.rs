//! From a report as sent to a report that can be stored: every field checked, every fault collected.

use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};
use plimsoll_domain::{Basis, GivenBy, Kind, Minutes, Rpe, Setting};

use super::input::{self, SessionInput};
use crate::auth::Role;
use crate::error::{Code, FieldProblem};
use crate::ids::AthleteId;
use crate::services::fields::{self, Faults, coded, given_by};
use crate::services::local_time::{self, LocalInstant};
use crate::services::people::Subject;
use crate::services::text;

/// Clocks may differ by this much.
pub const CLOCK_TOLERANCE: SignedDuration = SignedDuration::from_mins(10);
/// A rating given later than this after the session is warned about.
const LATE_RECALL: SignedDuration = SignedDuration::from_hours(48);
/// Days after which entering or changing a report needs staff and a reason.
pub const CHANGE_DAYS: i64 = 14;

/// Who enters, and when.
#[derive(Debug, Clone, Copy)]
pub struct Entry {
    /// The acting role.
    pub role: Role,
    /// Whether that role is staff.
    pub is_staff: bool,
    /// Now, by the service's clock.
    pub now: Timestamp,
}

impl Entry {
    /// Whether a report of this load date may still be changed: for 14 days by everyone who may
    /// enter it, later by staff with a reason. Today is the athlete's, in her home zone.
    pub fn may_change(
        self,
        load_date: Date,
        home: &TimeZone,
        reason: Option<&str>,
    ) -> Result<(), FieldProblem> {
        let until = super::answer::can_change_until(load_date);
        let today = home.to_datetime(self.now).date();
        if today <= until || (self.is_staff && reason.is_some()) {
            return Ok(());
        }
        let detail = format!(
            "The report could be changed until {until}; now it takes a member of staff and a reason."
        );
        Err(FieldProblem {
            code: Code::ReasonRequired,
            ..FieldProblem::missing("/reason", "a reason, in a staff role").detail(detail)
        })
    }
}

/// A checked report.
#[derive(Debug, Clone)]
pub struct Draft {
    /// The athlete.
    pub athlete_id: AthleteId,
    /// Her home zone.
    pub home: TimeZone,
    /// The sender's id.
    pub external_id: Option<String>,
    /// The scheduled event.
    pub event_external_id: Option<String>,
    /// Start and load date.
    pub start: LocalInstant,
    /// Minutes.
    pub minutes: Minutes,
    /// Session RPE.
    pub rpe: Rpe,
    /// Who ran it.
    pub setting: Setting,
    /// What it was.
    pub kind: Kind,
    /// What the minutes cover.
    pub basis: Basis,
    /// When the rating was given.
    pub given_at: Timestamp,
    /// Whether that was not said, and now was taken.
    pub given_at_assumed: bool,
    /// Who gave it.
    pub given_by: GivenBy,
    /// A note.
    pub note: Option<String>,
    /// Why it is entered or changed late.
    pub reason: Option<String>,
}

impl Draft {
    /// Minutes before local midnight, where the session crosses it.
    pub fn minutes_before_midnight(&self) -> Option<Minutes> {
        let before = self.start.minutes_before_midnight(self.minutes.get())?;
        Minutes::new(before.into()).ok()
    }

    /// The natural key within the source: the sender's id, or what makes it the same session.
    pub fn natural_key(&self) -> String {
        match &self.external_id {
            Some(id) => format!("id:{id}"),
            None => format!(
                "at:{}:{}:{}:{}",
                self.athlete_id,
                self.start.at.as_microsecond(),
                self.setting.code(),
                self.kind.code()
            ),
        }
    }

    /// End of the session.
    pub fn ended_at(&self) -> Timestamp {
        self.start.at + SignedDuration::from_mins(self.minutes.get().into())
    }

    /// What is odd about it, overlaps with other sessions aside.
    pub fn warnings(&self) -> Vec<Code> {
        use plimsoll_domain::SessionWarning::{
            LoadOver1200Au, RpeTenOver120Minutes, RpeZeroWithMinutes,
        };
        let mut found: Vec<Code> = plimsoll_domain::warnings(self.rpe, self.minutes)
            .into_iter()
            .map(|warning| match warning {
                RpeZeroWithMinutes => Code::RpeZeroWithMinutes,
                RpeTenOver120Minutes => Code::RpeTenOver120Minutes,
                LoadOver1200Au => Code::LoadOver1200Au,
            })
            .collect();
        if self.minutes.get() > 180 {
            found.push(Code::LongSession);
        }
        if self.given_at.duration_since(self.ended_at()) > LATE_RECALL {
            found.push(Code::LateRecall);
        }
        if self.start.assumed {
            found.push(Code::ZoneAssumed);
        }
        found
    }
}

/// Checks a report. `subject` is what looking the athlete up gave.
///
/// # Errors
/// Every field at fault.
pub fn check(
    input: &SessionInput,
    subject: Result<Subject, FieldProblem>,
    entry: Entry,
) -> Result<Draft, Vec<FieldProblem>> {
    let mut faults = Faults::default();
    let subject = faults.take(subject);
    // An unknown athlete has no home zone; the other fields are judged all the same.
    let home = subject
        .as_ref()
        .map_or(TimeZone::UTC, |subject| subject.home.clone());
    let start = faults.take(started_at(input, &home));
    let minutes = faults.take(minutes(input, start.as_ref(), &home));
    let rpe = faults.take(fields::rpe("/rpe", input.rpe.as_ref()));
    let setting = faults.take(coded(
        "/setting",
        input.setting.as_deref(),
        Setting::parse,
        input::codes_of_setting,
    ));
    let kind = faults.take(coded(
        "/kind",
        input.kind.as_deref(),
        Kind::parse,
        input::codes_of_kind,
    ));
    let basis = faults.take(basis(input));
    let given_by = faults.take(given_by(input.given_by.as_deref(), entry.role));
    let given_at = faults.take(given_at(input, entry.now));
    faults.extend(texts(input));
    if let (Some(start), Some(minutes), Some(given_at)) = (&start, minutes, given_at) {
        faults.extend(times(start, minutes, given_at, input, entry));
    }
    match (
        subject, start, minutes, rpe, setting, kind, basis, given_by, given_at,
    ) {
        (
            Some(subject),
            Some(start),
            Some(minutes),
            Some(rpe),
            Some(setting),
            Some(kind),
            Some(basis),
            Some(given_by),
            Some(given_at),
        ) if faults.is_empty() => Ok(Draft {
            athlete_id: subject.athlete_id,
            home: subject.home,
            external_id: input.external_id.clone(),
            event_external_id: input.event_external_id.clone(),
            start,
            minutes,
            rpe,
            setting,
            kind,
            basis,
            given_at,
            given_at_assumed: input.given_at.is_none(),
            given_by,
            note: input.note.clone(),
            reason: input.reason.clone(),
        }),
        _ => Err(faults.into_vec()),
    }
}

fn started_at(input: &SessionInput, home: &TimeZone) -> Result<LocalInstant, FieldProblem> {
    let allowed = "RFC 3339, such as 2026-09-13T17:30:00+02:00";
    let text = input.started_at.as_deref();
    let text = text.ok_or_else(|| FieldProblem::missing("/started_at", allowed))?;
    local_time::resolve("/started_at", text, input.time_zone.as_deref(), home)
}

fn minutes(
    input: &SessionInput,
    start: Option<&LocalInstant>,
    home: &TimeZone,
) -> Result<Minutes, FieldProblem> {
    match (&input.minutes, &input.ended_at) {
        (Some(given), None) => fields::minutes("/minutes", Some(given)),
        (None, Some(text)) => {
            let end = local_time::resolve("/ended_at", text, input.time_zone.as_deref(), home)?;
            // Without a start there is no length; the start's own fault is reported.
            let start = start.map_or(end.at - SignedDuration::from_mins(1), |start| start.at);
            let between = local_time::minutes_between(start, end.at);
            Minutes::new(between).map_err(|_| {
                FieldProblem::new("/ended_at", Code::MinutesOutOfRange, text.as_str())
                    .detail(format!(
                        "The session lasts {between} minutes; it is a {}.",
                        fields::MINUTES
                    ))
                    .allowed(fields::MINUTES)
            })
        }
        (None, None) => fields::minutes("/minutes", None),
        (Some(given), Some(_)) => {
            Err(
                FieldProblem::new("/minutes", Code::AmbiguousDuration, given.clone())
                    .allowed("one of minutes and ended_at"),
            )
        }
    }
}

fn basis(input: &SessionInput) -> Result<Basis, FieldProblem> {
    match input.basis {
        None => Ok(Basis::WholeSession),
        Some(_) => coded(
            "/basis",
            input.basis.as_deref(),
            Basis::parse,
            input::codes_of_basis,
        ),
    }
}

fn given_at(input: &SessionInput, now: Timestamp) -> Result<Timestamp, FieldProblem> {
    match input.given_at.as_deref() {
        None => Ok(now),
        Some(text) => local_time::instant("/given_at", text),
    }
}

fn texts(input: &SessionInput) -> Vec<FieldProblem> {
    let lines = [
        ("/external_id", &input.external_id),
        ("/athlete_external_id", &input.athlete_external_id),
        ("/event_external_id", &input.event_external_id),
    ];
    let lines = lines
        .into_iter()
        .filter_map(|(pointer, given)| text::line(pointer, given.as_deref()?, 200).err());
    let notes = [("/note", &input.note), ("/reason", &input.reason)];
    let notes = notes
        .into_iter()
        .filter_map(|(pointer, given)| text::note(pointer, given.as_deref()?, 280).err());
    lines.chain(notes).collect()
}

fn times(
    start: &LocalInstant,
    minutes: Minutes,
    given_at: Timestamp,
    input: &SessionInput,
    entry: Entry,
) -> Vec<FieldProblem> {
    let end = start.at + SignedDuration::from_mins(minutes.get().into());
    let latest = entry.now + CLOCK_TOLERANCE;
    let given = |text: &Option<String>| text.clone().unwrap_or_default();
    let future = |pointer: &str, text: String| {
        FieldProblem::new(pointer, Code::InFuture, text)
            .detail(format!(
                "That lies in the future; our clock shows {}.",
                entry.now
            ))
            .allowed(format!("not after {latest}"))
    };
    let mut faults = Vec::new();
    if end > latest {
        faults.push(future("/started_at", given(&input.started_at)));
    } else if given_at > latest {
        faults.push(future("/given_at", given(&input.given_at)));
    } else if given_at + CLOCK_TOLERANCE < end {
        faults.push(
            FieldProblem::new("/given_at", Code::GivenBeforeEnd, given(&input.given_at))
                .allowed(format!("not before {end}")),
        );
    } else if given_at.duration_since(end) > SignedDuration::from_hours(24 * CHANGE_DAYS)
        && !(entry.is_staff && input.reason.is_some())
    {
        faults.push(FieldProblem {
            code: Code::ReasonRequired,
            ..FieldProblem::missing("/reason", "a reason, in a staff role").detail(
                "The rating was given more than 14 days after the session, which needs a member \
                 of staff and a reason.",
            )
        });
    }
    faults
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;
    use crate::ids::Ids;

    const NOW: &str = "2026-09-13T20:00:00+02:00";

    fn entry() -> Entry {
        Entry {
            role: Role::Integration,
            is_staff: true,
            now: NOW.parse().unwrap(),
        }
    }

    fn good() -> serde_json::Value {
        json!({
            "external_id": "app-9912", "athlete_external_id": "P-07",
            "started_at": "2026-09-13T17:30:00+02:00", "minutes": 90, "rpe": 6, "setting": "club",
            "kind": "practice", "given_at": "2026-09-13T19:25:00+02:00"
        })
    }

    fn checked(change: &serde_json::Value) -> Result<Draft, Vec<FieldProblem>> {
        let mut body = good();
        for (name, value) in change.as_object().unwrap() {
            body[name] = value.clone();
        }
        let input: SessionInput = serde_json::from_value(body).unwrap();
        let now = NOW.parse().unwrap();
        let athlete_id = Ids::seeded(1).next(now).into();
        let home = TimeZone::get("Europe/Copenhagen").unwrap();
        let joined_on = jiff::civil::date(2026, 1, 1);
        check(
            &input,
            Ok(Subject {
                athlete_id,
                home,
                joined_on,
            }),
            entry(),
        )
    }

    #[test]
    fn a_good_report_passes_without_warnings() {
        let draft = checked(&json!({})).unwrap();
        assert_eq!((draft.minutes.get(), draft.rpe.to_f64()), (90, 6.0));
        assert!(draft.warnings().is_empty());
    }

    #[test]
    fn each_fault_has_its_code_and_pointer() {
        for (change, pointer, code) in [
            (json!({"rpe": 11}), "/rpe", Code::RpeOutOfRange),
            (json!({"rpe": -0.5}), "/rpe", Code::RpeOutOfRange),
            (json!({"rpe": 6.3}), "/rpe", Code::RpeStep),
            (json!({"minutes": 0}), "/minutes", Code::MinutesOutOfRange),
            (json!({"minutes": 601}), "/minutes", Code::MinutesOutOfRange),
            (
                json!({"minutes": 89.5}),
                "/minutes",
                Code::MinutesOutOfRange,
            ),
            (
                json!({"minutes": 1e30}),
                "/minutes",
                Code::MinutesOutOfRange,
            ),
            (json!({"setting": "gym"}), "/setting", Code::UnknownValue),
            (json!({"kind": null}), "/kind", Code::MissingField),
            (
                json!({"started_at": "2027-09-13T17:30:00+02:00"}),
                "/started_at",
                Code::InFuture,
            ),
            (
                json!({"given_at": "2026-09-13T18:00:00+02:00"}),
                "/given_at",
                Code::GivenBeforeEnd,
            ),
            (
                json!({"ended_at": "2026-09-13T19:00:00+02:00"}),
                "/minutes",
                Code::AmbiguousDuration,
            ),
            (
                json!({"note": "a\u{0}b"}),
                "/note",
                Code::TextHasControlCharacters,
            ),
            (
                json!({"started_at": "2026-08-13T17:30:00+02:00"}),
                "/reason",
                Code::ReasonRequired,
            ),
        ] {
            let faults = checked(&change).unwrap_err();
            assert_eq!(faults.len(), 1, "{change}: {faults:?}");
            assert_eq!(
                (faults[0].pointer.as_str(), faults[0].code),
                (pointer, code),
                "{change}"
            );
        }
    }

    #[test]
    fn the_last_day_for_a_change_is_the_athletes_own() {
        // 20:00 on 13 September in Copenhagen is 06:00 on the 14th in Auckland.
        let may = |zone: &str| {
            let home = TimeZone::get(zone).unwrap();
            entry().may_change(jiff::civil::date(2026, 8, 30), &home, None)
        };
        assert_eq!(may("Europe/Copenhagen"), Ok(()));
        assert_eq!(
            may("Pacific/Auckland").unwrap_err().code,
            Code::ReasonRequired
        );
    }

    #[test]
    fn all_faults_are_reported_together() {
        let faults = checked(&json!({"rpe": 11, "minutes": 0, "setting": "gym"})).unwrap_err();
        assert_eq!(faults.len(), 3);
    }

    #[test]
    fn odd_reports_are_kept_with_warnings() {
        assert_eq!(
            checked(&json!({"rpe": 0})).unwrap().warnings(),
            [Code::RpeZeroWithMinutes]
        );
        let late = json!({"started_at": "2026-09-10T17:30:00+02:00"});
        assert_eq!(checked(&late).unwrap().warnings(), [Code::LateRecall]);
        let bare_z = json!({"started_at": "2026-09-13T15:30:00Z"});
        assert_eq!(checked(&bare_z).unwrap().warnings(), [Code::ZoneAssumed]);
    }

    #[test]
    fn an_end_stands_for_minutes() {
        let body = json!({"minutes": null, "ended_at": "2026-09-13T19:00:20+02:00"});
        assert_eq!(checked(&body).unwrap().minutes.get(), 90);
    }
}
