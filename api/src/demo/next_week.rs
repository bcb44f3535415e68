//! What the club plans for the week after the last complete one.

use jiff::Span;
use plimsoll_domain::{IsoWeek, Kind, Setting};
use serde_json::Number;

use super::people::SQUADS;
use super::plan::{Planned, usual_week};
use super::season::{half_past, written};
use crate::ids::SquadId;
use crate::services::events::EventInput;

/// The squad that plays a cup game on Sunday, the day after its usual one.
const CUP_SQUAD: usize = 2;

/// The club's own sessions of the week after `week`, with the effort they are meant to be.
pub(super) fn planned(week: IsoWeek, squads: &[(SquadId, String)]) -> Vec<EventInput> {
    let monday = week.monday().saturating_add(Span::new().days(7));
    let mut events = Vec::new();
    for (squad, (squad_id, _)) in squads.iter().enumerate() {
        let mut plan = usual_week(squad, 0);
        if squad == CUP_SQUAD {
            plan[6].push(Planned::new(Setting::Club, Kind::Game, 13, 80, 8.0));
        }
        for (day, sessions) in (0..).zip(plan) {
            let date = monday.saturating_add(Span::new().days(day));
            let run_by_club = sessions
                .into_iter()
                .filter(|one| one.setting == Setting::Club);
            events.extend(run_by_club.map(|session| {
                let (civil, offset) = half_past(date, session.hour);
                EventInput {
                    external_id: Some(format!("{}-{date}-{}", SQUADS[squad], session.hour)),
                    setting: Some(session.setting.code().to_owned()),
                    kind: Some(session.kind.code().to_owned()),
                    starts_at: written(civil, offset),
                    minutes: Some(session.minutes.into()),
                    intended_rpe: Number::from_f64(session.rpe),
                    squads: Some(vec![squad_id.to_string()]),
                    fixed: Some(session.kind == Kind::Game),
                    ..EventInput::default()
                }
            }));
        }
    }
    events
}
