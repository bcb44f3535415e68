//! A sandbox's time passes: what becomes due on the way is done when it is due, in order.
//!
//! Done is what the service does by itself for a live club: weeks are closed, look-aheads made, what retention terms end is erased,
//! each at the instant at which it is due. Notices are written to the outbox and stay there. Nothing is fetched and nothing sent.

use std::sync::Arc;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use plimsoll_domain::IsoWeek;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::aside::aside;
use super::hand::Hand;
use crate::app::App;
use crate::error::{Code, FieldProblem, Problem};
use crate::services::closing_time::ClosingTime;
use crate::services::retention::run;
use crate::services::{closing, local_time, look_ahead, weekly_close};
use crate::store::retention::settings;
use crate::store::{Conn, Tenant, clubs};

/// Where a sandbox's clock is to stand, as it is sent.
#[derive(Debug, Clone, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"now": "2026-12-02T06:00:00Z"}))]
pub struct ClockInput {
    /// An instant (RFC 3339) from what the clock shows to `furthest`.
    #[schema(value_type = String, format = DateTime)]
    pub now: Option<String>,
}

/// A sandbox's clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[schema(example = json!({"now": "2026-12-02T06:00:00Z", "furthest": "2027-12-01T06:00:00Z"}))]
pub struct ClockAnswer {
    /// What it shows.
    pub now: Timestamp,
    /// The last instant that it can be moved to in one call.
    pub furthest: Timestamp,
}

/// What a sandbox's clock shows.
///
/// # Errors
/// 404 in a live club, which has no such clock.
pub fn read_clock(app: &App) -> Result<ClockAnswer, Problem> {
    hand(app).map(answer)
}

/// Moves a sandbox's clock forward; on trial it stays where it is. Where something cannot be done on the way, the clock stands
/// still there, and the same call goes on.
///
/// # Errors
/// 404 in a live club; 422 for an instant out of range; those of what is done on the way.
pub async fn move_clock(
    app: &App,
    tenant: Tenant,
    input: ClockInput,
    dry_run: bool,
) -> Result<ClockAnswer, Problem> {
    let turn = Arc::clone(&hand(app)?.moving).lock_owned().await;
    let hand = hand(app)?;
    let to = wanted(input, hand)?;
    if dry_run {
        return Ok(ClockAnswer {
            now: to,
            furthest: hand.furthest_from(to),
        });
    }
    let moved = app.clone();
    aside(async move || {
        let _turn = turn;
        pass(&moved, tenant, to).await
    })
    .await?;
    Ok(answer(hand))
}

fn hand(app: &App) -> Result<&Hand, Problem> {
    app.hand.as_ref().ok_or_else(Problem::not_found)
}

fn answer(hand: &Hand) -> ClockAnswer {
    ClockAnswer {
        now: hand.now(),
        furthest: hand.furthest_from(hand.now()),
    }
}

fn wanted(input: ClockInput, hand: &Hand) -> Result<Timestamp, Problem> {
    let ClockAnswer { now, furthest } = answer(hand);
    let allowed = format!("from {now} to {furthest}");
    let given = input
        .now
        .ok_or_else(|| Problem::field(FieldProblem::missing("/now", &allowed)))?;
    let at = local_time::instant("/now", &given).map_err(Problem::field)?;
    match (now..=furthest).contains(&at) {
        true => Ok(at),
        false => {
            let fault = FieldProblem::new("/now", Code::ClockOutOfRange, given);
            Err(Problem::field(fault.allowed(allowed)))
        }
    }
}

/// Moves the clock from one due instant to the next, and does there what is due.
async fn pass(app: &App, tenant: Tenant, to: Timestamp) -> Result<(), Problem> {
    let hand = hand(app)?;
    let timetable = app
        .store
        .read(tenant, move |conn| Timetable::read(conn, tenant))
        .await?;
    // What a setting that was changed has made due meanwhile.
    do_what_is_due(app, tenant).await?;
    while let Some(next) = timetable.after(hand.now())?.filter(|next| *next <= to) {
        hand.move_to(next);
        do_what_is_due(app, tenant).await?;
    }
    hand.move_to(to);
    Ok(())
}

async fn do_what_is_due(app: &App, tenant: Tenant) -> Result<(), Problem> {
    let now = app.clock.now();
    let (created_at, ahead, night) = app
        .store
        .read(tenant, move |conn| {
            let club = clubs::find(conn, tenant)?.ok_or_else(Problem::not_found)?;
            let ahead = look_ahead::due(conn, tenant, now)?.is_some();
            let night = run::is_due(conn, tenant, now)?;
            Ok::<_, Problem>((club.created_at, ahead, night))
        })
        .await?;
    for week in weekly_close::due_now(app, tenant, created_at).await? {
        weekly_close::close_due(app, tenant, week).await?;
    }
    if ahead {
        look_ahead::make(app, tenant).await?;
    }
    if night {
        run::run(app, tenant).await?;
        run::clean(app).await;
    }
    Ok(())
}

/// When something is to be done for a club: what its settings say at the start of the way.
#[derive(Debug)]
struct Timetable {
    zone: TimeZone,
    closing: ClosingTime,
    /// Where the club looks ahead.
    looking: Option<ClosingTime>,
    /// Whether anything is ever erased at night.
    nights: bool,
}

impl Timetable {
    fn read(conn: &mut Conn, tenant: Tenant) -> Result<Self, Problem> {
        let (zone, closing) = closing::of_club(conn, tenant)?;
        let looks = look_ahead::setting::stored(conn, tenant)?;
        let terms = settings::history(conn, tenant)?;
        Ok(Self {
            zone,
            closing,
            looking: ClosingTime::new(looks.weekday, looks.minute).filter(|_| looks.enabled),
            nights: terms
                .last()
                .is_some_and(|last| !last.content.terms.is_empty()),
        })
    }

    /// The next instant after another at which something is due; none at the end of the calendar.
    fn after(&self, now: Timestamp) -> Result<Option<Timestamp>, Problem> {
        let today = self.zone.to_datetime(now).date();
        let mut next = Vec::new();
        let running = IsoWeek::of(today).map_err(|error| Problem::internal(&error))?;
        // A week is due up to seven days after its Sunday.
        for back in [-2, -1, 0] {
            let Some(week) = running.plus(back) else {
                continue;
            };
            for time in self.looking.iter().chain([&self.closing]) {
                next.push(time.due(week, &self.zone)?);
            }
        }
        if self.nights {
            let tomorrow = today
                .tomorrow()
                .map_err(|error| Problem::internal(&error))?;
            next.extend([self.night(today)?, self.night(tomorrow)?]);
        }
        Ok(next.into_iter().filter(|next| *next > now).min())
    }

    fn night(&self, date: Date) -> Result<Timestamp, Problem> {
        let hour = date.to_datetime(run::HOUR);
        self.zone
            .to_timestamp(hour)
            .map_err(|error| Problem::internal(&error))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn timetable(looking: Option<ClosingTime>, nights: bool) -> Timetable {
        Timetable {
            zone: TimeZone::get("Europe/Copenhagen").unwrap(),
            closing: ClosingTime::default(),
            looking,
            nights,
        }
    }

    /// The instants at which something is due, as many.
    fn walk(timetable: &Timetable, from: &str, count: usize) -> Vec<String> {
        let mut now: Timestamp = from.parse().unwrap();
        let mut seen = Vec::new();
        for _ in 0..count {
            now = timetable.after(now).unwrap().unwrap();
            seen.push(timetable.zone.to_datetime(now).to_string());
        }
        seen
    }

    #[test]
    fn closes_and_look_aheads_come_in_order_also_over_a_change_of_clocks() {
        // Wednesdays at 18:00, and the default: Mondays at 07:00. Clocks go back on 25 October 2026.
        let looking = ClosingTime::new(3, 18 * 60);
        assert_eq!(
            walk(&timetable(looking, false), "2026-10-19T05:00:00Z", 4),
            [
                "2026-10-21T18:00:00",
                "2026-10-26T07:00:00",
                "2026-10-28T18:00:00",
                "2026-11-02T07:00:00"
            ]
        );
    }

    #[test]
    fn every_sunday_of_a_year_is_reached_where_weeks_are_closed_on_sundays() {
        let late = Timetable {
            closing: ClosingTime::new(7, 23 * 60 + 59).unwrap(),
            ..timetable(None, false)
        };
        let seen = walk(&late, "2026-01-01T12:00:00Z", 52);
        assert_eq!(seen[0], "2026-01-04T23:59:00");
        assert_eq!(seen[51], "2026-12-27T23:59:00");
    }

    #[test]
    fn each_night_is_reached_where_a_term_is_set() {
        assert_eq!(
            walk(&timetable(None, true), "2026-11-29T20:00:00Z", 3),
            [
                "2026-11-30T03:00:00",
                "2026-11-30T07:00:00",
                "2026-12-01T03:00:00"
            ]
        );
    }
}
