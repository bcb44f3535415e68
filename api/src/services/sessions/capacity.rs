//! Room left on a date: no athlete's day holds more than the longest civil day.

use std::collections::HashMap;

use jiff::civil::Date;
use plimsoll_domain::DayTotal;

use super::draft::Draft;
use crate::error::{Code, FieldProblem, Problem};
use crate::ids::AthleteId;
use crate::store::sessions::Session;
use crate::store::{Conn, DaySet, Tenant, day_totals};

/// Minutes stored by athlete and date, kept up while a batch is worked through.
#[derive(Debug, Default)]
pub struct Capacity(HashMap<(AthleteId, Date), i64>);

impl Capacity {
    /// Reads the minutes of the days that these drafts reach.
    pub fn read<'a>(
        conn: &mut Conn,
        tenant: Tenant,
        drafts: impl Iterator<Item = &'a Draft>,
    ) -> Result<Self, Problem> {
        let mut days = DaySet::default();
        for draft in drafts {
            days.add(draft.athlete_id, draft.start.date);
            if let (Some(_), Ok(next)) =
                (draft.minutes_before_midnight(), draft.start.date.tomorrow())
            {
                days.add(draft.athlete_id, next);
            }
        }
        let mut minutes = HashMap::new();
        for day in day_totals::on_days(conn, tenant, &days)? {
            *minutes.entry((day.athlete_id, day.date)).or_default() +=
                i64::from(day.totals.minutes);
        }
        Ok(Self(minutes))
    }

    /// Whether a report fits on its date and, where it crosses midnight, on the next.
    pub fn check(&self, draft: &Draft, replaces: Option<&Session>) -> Result<(), FieldProblem> {
        let whole = i64::from(draft.minutes.get());
        let after = draft
            .minutes_before_midnight()
            .map_or(0, |before| whole - i64::from(before.get()));
        let tomorrow = draft.start.date.tomorrow().unwrap_or(draft.start.date);
        let room = |date: Date, minutes: i64| {
            let freed = replaces.filter(|old| old.load_date == date);
            let stored = self.0.get(&(draft.athlete_id, date)).copied().unwrap_or(0);
            stored - freed.map_or(0, |old| old.minutes.into()) + minutes
                <= i64::from(DayTotal::MAX_MINUTES)
        };
        if room(draft.start.date, whole) && (after == 0 || room(tomorrow, after)) {
            return Ok(());
        }
        Err(
            FieldProblem::new("/minutes", Code::DayFull, draft.minutes.get())
                .detail(format!(
                    "{} would hold more than 1,500 minutes.",
                    draft.start.date
                ))
                .allowed("1,500 minutes on one date in all"),
        )
    }

    /// Counts a report that was taken.
    pub fn take(&mut self, draft: &Draft, replaces: Option<&Session>) {
        if let Some(old) = replaces {
            *self.0.entry((old.athlete_id, old.load_date)).or_default() -= i64::from(old.minutes);
        }
        *self
            .0
            .entry((draft.athlete_id, draft.start.date))
            .or_default() += i64::from(draft.minutes.get());
    }
}
