//! Days that were declared as rest or absence, for warning about reports on them.

use std::collections::HashMap;
use std::ops::RangeInclusive;

use jiff::civil::Date;

use super::draft::Draft;
use crate::error::Problem;
use crate::ids::AthleteId;
use crate::store::{Conn, DaySet, Known, Tenant, Who, absences, rest_days};

/// The declared days of the athletes of a batch.
#[derive(Debug, Default)]
pub struct DeclaredDays {
    rest: DaySet,
    absences: HashMap<AthleteId, Vec<RangeInclusive<Date>>>,
}

impl DeclaredDays {
    /// Reads what was declared for the dates of these drafts.
    pub fn read(conn: &mut Conn, tenant: Tenant, drafts: &[Draft]) -> Result<Self, Problem> {
        let dates = drafts.iter().map(|draft| draft.start.date);
        let (Some(first), Some(last)) = (dates.clone().min(), dates.max()) else {
            return Ok(Self::default());
        };
        let days = drafts
            .iter()
            .map(|draft| (draft.athlete_id, draft.start.date));
        let days: DaySet = days.collect();
        let athletes = days.athletes();
        let who = Who::Athletes(&athletes);
        let mut declared = Self::default();
        for absence in absences::in_dates(conn, tenant, who, first, last, Known::Now)? {
            let absence = absence.content;
            let spans = declared.absences.entry(absence.athlete_id).or_default();
            spans.push(absence.from_date..=absence.to_date);
        }
        let rest = rest_days::on_days(conn, tenant, &days)?;
        let rest = rest
            .iter()
            .map(|day| (day.content.athlete_id, day.content.date));
        declared.rest = rest.collect();
        Ok(declared)
    }

    /// Whether the athlete declared rest or absence for the date.
    pub fn include(&self, athlete: AthleteId, date: Date) -> bool {
        let away = self.absences.get(&athlete);
        let away = away.is_some_and(|spans| spans.iter().any(|span| span.contains(&date)));
        away || self.rest.contains(athlete, date)
    }
}
