//! Days of load, written the way the scenarios state them: one number of AU a day.

use jiff::ToSpan;
use jiff::civil::Date;
use serde_json::Value;

use crate::club::Athlete;

impl Athlete {
    /// Rows of a bulk call that give these dates these loads in AU, 0 for a day without a session.
    pub fn days(&self, first: &str, loads: &[f64]) -> Vec<Value> {
        let days = loads.iter().enumerate();
        days.flat_map(|(at, load)| {
            self.day(later(first, i64::try_from(at).expect("few days")), *load)
        })
        .collect()
    }

    /// As `days`, one load a week, all of it on the Monday that `first` is or on one after it.
    pub fn weeks(&self, first: &str, loads: &[f64]) -> Vec<Value> {
        let weeks = loads.iter().enumerate();
        weeks
            .flat_map(|(at, load)| {
                self.day(
                    later(first, 7 * i64::try_from(at).expect("few weeks")),
                    *load,
                )
            })
            .collect()
    }

    /// Sessions that come to this load exactly: whole minutes at 10, and what is left at 0.5.
    fn day(&self, date: Date, load: f64) -> Vec<Value> {
        let tens = (load / 10.0).floor();
        let halves = (load - 10.0 * tens) / 0.5;
        assert_eq!(halves.fract(), 0.0, "{load} is not a multiple of 0.5 AU");
        let sessions = [("08:00", tens, 10.0), ("16:00", halves, 0.5)];
        let given = sessions
            .into_iter()
            .filter(|(_, minutes, _)| *minutes > 0.0);
        given
            .map(|(time, minutes, rpe)| {
                let minutes = format!("{minutes:.0}").parse().expect("whole minutes");
                self.session(&format!("{date}T{time}:00+01:00"), minutes, rpe)
                    .into_body()
            })
            .collect()
    }
}

fn later(first: &str, days: i64) -> Date {
    let first: Date = first
        .parse()
        .unwrap_or_else(|error| panic!("{first}: {error}"));
    first + days.days()
}
