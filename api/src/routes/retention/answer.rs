//! What is due, as it is answered.

use jiff::civil::Date;
use plimsoll_domain::RecordClass;
use plimsoll_domain::retention::{Over, with_terms};
use serde::Serialize;
use utoipa::ToSchema;

use crate::ids::{AthleteId, HoldId};
use crate::services::retention::due::Leaver;
use crate::services::retention::next_run::NextRun;
use crate::services::retention::words;
use crate::store::retention::holds::RetentionHold;
use crate::store::retention::runs::RetentionRun;

/// What is due, a page of it by athlete.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"next_run": "2028-07-02", "counts": {"athletes": 1, "held": 0, "by_class": [{"class": "load", "athletes": 1}]},
    "last_run": {"night": "2028-07-01", "athletes": 0, "erased": []}, "items": [], "next": null, "note": words::LOCAL_LAW}))]
pub struct DuePage {
    /// The date of the next night on which something is erased, in the club's zone.
    #[schema(value_type = String, format = Date)]
    pub next_run: Date,
    /// How many there are in all.
    pub counts: DueCounts,
    /// What the last run erased; null before the first.
    pub last_run: Option<LastRun>,
    /// Athletes who have left and of whom something is due on that night, by id.
    pub items: Vec<DueOfAthlete>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
    /// Who decides.
    pub note: &'static str,
}

/// How many athletes.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"athletes": 3, "held": 1, "by_class": [{"class": "load", "athletes": 3}]}))]
pub struct DueCounts {
    /// Athletes of whom something is due, held or not.
    pub athletes: usize,
    /// Those of them who are held.
    pub held: usize,
    /// Of how many each class is due, held or not; classes that are due of nobody are left out.
    pub by_class: Vec<AthletesOfClass>,
}

/// Of how many athletes a class is due.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"class": "load", "athletes": 3}))]
pub struct AthletesOfClass {
    /// The class.
    #[schema(value_type = String)]
    pub class: &'static str,
    /// How many.
    pub athletes: usize,
}

/// What a night's run erased.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"night": "2028-07-01", "athletes": 2, "erased": [{"class": "load", "rows": 1312}]}))]
pub struct LastRun {
    /// The date of the night's morning.
    #[schema(value_type = String, format = Date)]
    pub night: Date,
    /// Of how many athletes something was erased.
    pub athletes: i32,
    /// How many rows, by class.
    pub erased: Vec<RowsOfClass>,
}

/// Rows of a class that were erased.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"class": "load", "rows": 1312}))]
pub struct RowsOfClass {
    /// The class.
    #[schema(value_type = String)]
    pub class: &'static str,
    /// How many.
    pub rows: i64,
}

/// What is due of an athlete.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"athlete_id": "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b", "left_on": "2026-06-30",
    "due": [{"class": "load", "since": "2028-06-30"}], "holds": [], "goes_next": ["load"]}))]
pub struct DueOfAthlete {
    /// Of whom.
    pub athlete_id: AthleteId,
    /// The last day of her last membership.
    #[schema(value_type = String, format = Date)]
    pub left_on: Date,
    /// The classes whose terms are over.
    pub due: Vec<DueClass>,
    /// The holds that stand; while there is one nothing goes.
    pub holds: Vec<HoldOfAthlete>,
    /// The classes that the next run erases: those that were due at the last one too.
    #[schema(value_type = Vec<String>)]
    pub goes_next: Vec<&'static str>,
}

/// A class whose term is over.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"class": "load", "since": "2028-06-30"}))]
pub struct DueClass {
    /// The class.
    #[schema(value_type = String)]
    pub class: &'static str,
    /// The first day on which it is.
    #[schema(value_type = String, format = Date)]
    pub since: Date,
}

/// A hold that stands.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"hold_id": "0199a1b2-4444-7e4f-8a5b-6c7d8e9f0a1b", "reason": "insurance", "until": null}))]
pub struct HoldOfAthlete {
    /// Its id.
    pub hold_id: HoldId,
    /// What for.
    #[schema(value_type = String)]
    pub reason: &'static str,
    /// Its last day; null until it is lifted.
    #[schema(value_type = Option<String>, format = Date)]
    pub until: Option<Date>,
}

impl DueCounts {
    /// Counts them.
    pub fn of(run: &NextRun) -> Self {
        let due = || run.due.iter();
        let of_class = |class: RecordClass| AthletesOfClass {
            class: class.code(),
            athletes: due()
                .filter(|leaver| leaver.over.iter().any(|over| over.class == class))
                .count(),
        };
        let by_class = with_terms().map(of_class);
        Self {
            athletes: run.due.len(),
            held: due().filter(|leaver| !leaver.holds.is_empty()).count(),
            by_class: by_class.filter(|of_class| of_class.athletes > 0).collect(),
        }
    }
}

impl From<RetentionRun> for LastRun {
    fn from(run: RetentionRun) -> Self {
        let erased = run.erased.0.into_iter().map(|(class, rows)| RowsOfClass {
            class: class.code(),
            rows,
        });
        Self {
            night: run.night,
            athletes: run.athletes,
            erased: erased.collect(),
        }
    }
}

impl From<Leaver> for DueOfAthlete {
    fn from(leaver: Leaver) -> Self {
        Self {
            athlete_id: leaver.athlete_id,
            left_on: leaver.left_on,
            due: leaver.over.into_iter().map(DueClass::from).collect(),
            holds: leaver.holds.into_iter().map(HoldOfAthlete::from).collect(),
            goes_next: leaver.goes.into_iter().map(RecordClass::code).collect(),
        }
    }
}

impl From<Over> for DueClass {
    fn from(over: Over) -> Self {
        Self {
            class: over.class.code(),
            since: over.since,
        }
    }
}

impl From<RetentionHold> for HoldOfAthlete {
    fn from(hold: RetentionHold) -> Self {
        Self {
            hold_id: hold.hold_id,
            reason: hold.reason.code(),
            until: hold.until_date,
        }
    }
}
