//! Days that were declared as rest or absence, for warning about reports on them.

use std::collections::HashSet;

use jiff::civil::Date;

use super::draft::Draft;
use crate::error::Problem;
use crate::ids::AthleteId;
use crate::store::{Conn, Known, Tenant, Who, absences, rest_days};

/// The declared days of the athletes of a batch.
#[derive(Debug, Default)]
pub struct DeclaredDays {
    rest: HashSet<(AthleteId, Date)>,
    absences: Vec<(AthleteId, Date, Date)>,
}

impl DeclaredDays {
    /// Reads what was declared for the dates of these drafts.
    pub fn read(conn: &mut Conn, tenant: Tenant, drafts: &[Draft]) -> Result<Self, Problem> {
        let dates = drafts.iter().map(|draft| draft.start.date);
        let (Some(first), Some(last)) = (dates.clone().min(), dates.max()) else {
            return Ok(Self::default());
        };
        let athletes: Vec<AthleteId> = drafts.iter().map(|draft| draft.athlete_id).collect();
        let who = Who::Athletes(&athletes);
        let rest = rest_days::in_dates(conn, tenant, who, first, last, Known::Now)?;
        let absences = absences::in_dates(conn, tenant, who, first, last, Known::Now)?;
        Ok(Self {
            rest: rest
                .into_iter()
                .map(|day| (day.content.athlete_id, day.content.date))
                .collect(),
            absences: absences
                .into_iter()
                .map(|span| {
                    (
                        span.content.athlete_id,
                        span.content.from_date,
                        span.content.to_date,
                    )
                })
                .collect(),
        })
    }

    /// Whether the athlete declared rest or absence for the date.
    pub fn include(&self, athlete: AthleteId, date: Date) -> bool {
        let absent = |&(whose, from, to): &(AthleteId, Date, Date)| {
            whose == athlete && (from..=to).contains(&date)
        };
        self.rest.contains(&(athlete, date)) || self.absences.iter().any(absent)
    }
}
