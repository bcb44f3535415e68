//! A programme as it is answered.

use jiff::Timestamp;
use plimsoll_domain::programme::{Against, Block, Day, Dose, Extent, Item, Programme, Session};
use serde::Serialize;
use utoipa::ToSchema;

use super::input::{time_text, weekday_name};
use super::item::{ExtentBody, LoadBody};
use super::way::WayBody;
use crate::ids::ProgrammeId;
use crate::services::warm_ups::WarmUpBody;
use crate::store::Version;
use crate::store::programmes::ProgrammeRow;

/// What a programme is not.
pub const NOTE: &str = "A programme is an intention: nothing of it is logged, no amount in it is a target for anybody, and it clears \
    nobody.";

/// A programme without what is in it.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({"programme_id": "0199a1b2-9d9d-7e4f-8a5b-6c7d8e9f0a1b", "name": "Summer at home", "weeks": 26,
    "received_at": "2026-05-20T17:00:00Z", "version": 3}))]
pub struct ProgrammeSummary {
    /// Its id.
    pub programme_id: ProgrammeId,
    /// What it is called.
    pub name: String,
    /// How many weeks it has.
    pub weeks: i32,
    /// When this version was received.
    #[schema(value_type = String, format = DateTime)]
    pub received_at: Timestamp,
    /// 1, 2, 3, …; also the ETag.
    pub version: i32,
}

impl From<ProgrammeRow> for ProgrammeSummary {
    fn from(row: ProgrammeRow) -> Self {
        Self {
            programme_id: row.programme_id,
            name: row.name,
            weeks: row.weeks,
            received_at: row.received_at,
            version: row.version,
        }
    }
}

/// A programme in one version. Amounts stand in the unit they were entered in, with metres and kilograms beside them. Null is not known.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({"programme_id": "0199a1b2-9d9d-7e4f-8a5b-6c7d8e9f0a1b", "name": "Summer at home", "weeks": 2, "days": 14,
    "without_effort": 0, "blocks": [{"name": "Learning", "weeks": [{"number": 1, "days": []}, {"number": 2, "days": []}]}],
    "note": "A programme is an intention: …", "received_at": "2026-05-20T17:00:00Z", "version": 1}))]
pub struct ProgrammeAnswer {
    /// Its id.
    pub programme_id: ProgrammeId,
    /// What it is called.
    pub name: String,
    /// How many weeks it has.
    pub weeks: u8,
    /// How many days, from its first Monday to its last Sunday.
    pub days: u16,
    /// Sessions of which minutes or intended RPE are not said: while there are any its weeks have no planned load.
    pub without_effort: usize,
    /// Its blocks.
    pub blocks: Vec<ProgrammeBlock>,
    /// What a programme is not.
    pub note: &'static str,
    /// When this version was received.
    #[schema(value_type = String, format = DateTime)]
    pub received_at: Timestamp,
    /// 1, 2, 3, …; also the ETag.
    pub version: i32,
}

/// Weeks under one name.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct ProgrammeBlock {
    /// What it is called.
    pub name: String,
    /// Its weeks.
    pub weeks: Vec<ProgrammeWeek>,
}

/// A week of a programme.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct ProgrammeWeek {
    /// Its number through all blocks, from 1.
    pub number: u8,
    /// Its days with sessions.
    pub days: Vec<ProgrammeDay>,
}

/// A day of a programme.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct ProgrammeDay {
    /// monday to sunday.
    #[schema(value_type = String)]
    pub day: &'static str,
    /// Its sessions in order.
    pub sessions: Vec<ProgrammeSession>,
}

/// A session of a programme.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({"number": 1, "name": "Legs", "setting": "prescribed_home", "kind": "strength", "start": null, "minutes": 45,
    "intended_rpe": 5.0, "load_au": 225.0, "warm_up": null, "items": []}))]
pub struct ProgrammeSession {
    /// Its number on the day, from 1.
    pub number: u8,
    /// What it is called.
    pub name: Option<String>,
    /// Who runs it.
    #[schema(value_type = String)]
    pub setting: &'static str,
    /// What is done.
    #[schema(value_type = String)]
    pub kind: &'static str,
    /// When it starts, HH:MM.
    pub start: Option<String>,
    /// Planned minutes.
    pub minutes: Option<u16>,
    /// Intended session RPE.
    pub intended_rpe: Option<f64>,
    /// Intended RPE x minutes; null where either is not known.
    pub load_au: Option<f64>,
    /// Its neuromuscular warm-up; null where it is not said whether it has one.
    pub warm_up: Option<WarmUpBody>,
    /// Its items in order.
    pub items: Vec<ProgrammeItem>,
}

/// An item of a programme.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({"number": 1, "exercise": "squat_loaded", "sets": 3, "reps": 10, "hold_seconds": null, "seconds": null,
    "distance": null, "side": null, "load": {"amount": 20, "unit": "lb"}, "load_kg": 9.0718474, "band": null, "rest_seconds": 90,
    "set_up": null, "set_up_m": null, "height": null, "height_m": null, "note": "Knees over the toes", "distance_m": null,
    "work_seconds": null}))]
pub struct ProgrammeItem {
    /// Its number in the session, from 1.
    pub number: u8,
    /// The code of the exercise.
    pub exercise: String,
    /// Sets or rounds.
    pub sets: u8,
    /// Repetitions in a set, for each side in exercises of one side.
    pub reps: Option<u8>,
    /// For how many seconds each repetition is held.
    pub hold_seconds: Option<u16>,
    /// Seconds of a set.
    pub seconds: Option<u16>,
    /// The way of a set.
    pub distance: Option<WayBody>,
    /// left or right, where it is done on that side alone.
    #[schema(value_type = Option<String>)]
    pub side: Option<&'static str>,
    /// The load as entered.
    pub load: Option<LoadBody>,
    /// The load in kilograms, 1 lb being 0.45359237 kg.
    pub load_kg: Option<f64>,
    /// The band.
    pub band: Option<String>,
    /// Seconds of rest after a set.
    pub rest_seconds: Option<u16>,
    /// How far apart things are set up, as entered.
    pub set_up: Option<ExtentBody>,
    /// The same in metres, 1 yd being 0.9144 m and 1 in 2.54 cm.
    pub set_up_m: Option<Metres>,
    /// How high something is, as entered.
    pub height: Option<ExtentBody>,
    /// The same in metres.
    pub height_m: Option<Metres>,
    /// What the coach adds for everybody who does it.
    pub note: Option<String>,
    /// Metres of all sets; null where it has no way.
    pub distance_m: Option<f64>,
    /// Seconds of all sets, of a side in exercises of one side: of the sets, or of what is held; null where it is no matter of time.
    pub work_seconds: Option<u32>,
}

/// A length in metres, or a range; then the ends differ.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
#[schema(example = json!({"least": 0.4, "most": 0.6}))]
pub struct Metres {
    /// The length, or the lower end.
    pub least: f64,
    /// The length, or the upper end.
    pub most: f64,
}

impl ProgrammeAnswer {
    pub(super) fn new(id: ProgrammeId, programme: &Programme, version: &Version) -> Self {
        let mut number = 0;
        let mut week = |days: &[Day]| {
            number += 1;
            let days = days.iter().map(|day| ProgrammeDay {
                day: weekday_name(day.weekday()),
                sessions: (1..)
                    .zip(day.sessions())
                    .map(|(number, session)| ProgrammeSession::of(number, session))
                    .collect(),
            });
            let days = days.collect();
            ProgrammeWeek { number, days }
        };
        let mut block = |block: &Block| ProgrammeBlock {
            name: block.name().to_owned(),
            weeks: block.weeks().iter().map(|one| week(one.days())).collect(),
        };
        let sessions = programme.sessions();
        Self {
            programme_id: id,
            name: programme.name().to_owned(),
            weeks: programme.length(),
            days: programme.length_in_days(),
            without_effort: sessions.filter(|one| one.session.load().is_none()).count(),
            blocks: programme.blocks().iter().map(&mut block).collect(),
            note: NOTE,
            received_at: version.received_at,
            version: version.number,
        }
    }
}

impl ProgrammeSession {
    fn of(number: u8, session: &Session) -> Self {
        let items = (1..).zip(&session.items);
        Self::with(
            number,
            session,
            items
                .map(|(number, item)| ProgrammeItem::of(number, item))
                .collect(),
        )
    }

    /// A session with other items.
    pub(super) fn with(number: u8, session: &Session, items: Vec<ProgrammeItem>) -> Self {
        Self {
            number,
            name: session.name.clone(),
            setting: session.setting.code(),
            kind: session.kind.code(),
            start: session.start.map(time_text),
            minutes: session.minutes.map(plimsoll_domain::Minutes::get),
            intended_rpe: session.intended.map(plimsoll_domain::Rpe::to_f64),
            load_au: session.load().map(plimsoll_domain::Load::to_au),
            warm_up: session.warm_up.as_ref().map(WarmUpBody::of),
            items,
        }
    }
}

impl ProgrammeItem {
    /// An item with its number.
    pub(super) fn of(number: u8, item: &Item) -> Self {
        let (mut reps, mut hold, mut seconds, mut legs) = (None, None, None, None);
        match &item.dose {
            Dose::Reps(count, held) => (reps, hold) = (Some(count.get()), *held),
            Dose::Seconds(count) => seconds = Some(count.get()),
            Dose::Distance(way) => legs = Some(way),
        }
        let (mut weight, mut band) = (None, None);
        match &item.against {
            Some(Against::Weight(one)) => weight = Some(*one),
            Some(Against::Band(name)) => band = Some(name.as_str().to_owned()),
            None => {}
        }
        let sets = item.sets.get();
        let way = legs.map(|legs| f64::from(sets) * legs.length().to_metres().to_f64());
        Self {
            number,
            exercise: item.exercise.to_string(),
            sets,
            reps,
            hold_seconds: hold.map(plimsoll_domain::programme::HoldSeconds::get),
            seconds,
            distance: legs.map(WayBody::of),
            side: item.side.map(|side| side.code()),
            load: weight.map(LoadBody::of),
            load_kg: weight.map(|weight| weight.to_kilograms().to_f64()),
            band,
            rest_seconds: item.rest.map(plimsoll_domain::programme::RestSeconds::get),
            set_up: item.set_up.map(ExtentBody::of),
            set_up_m: item.set_up.map(Metres::of),
            height: item.height.map(ExtentBody::of),
            height_m: item.height.map(Metres::of),
            note: item.note.as_ref().map(|note| note.as_str().to_owned()),
            distance_m: way,
            work_seconds: item.seconds(),
        }
    }
}

impl Metres {
    fn of(extent: Extent) -> Self {
        let (least, most) = extent.to_metres();
        Self {
            least: least.to_f64(),
            most: most.to_f64(),
        }
    }
}
