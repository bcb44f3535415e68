//! The half-year programme of the oldest squad, who signed what off, a film, and a question about an item. All of it is made up.

use jiff::Span;
use plimsoll_domain::IsoWeek;
use plimsoll_domain::exercises::ExerciseCode;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};

use crate::app::App;
use crate::auth::tenant::Caller;
use crate::auth::{Reference, Role};
use crate::error::Problem;
use crate::ids::{AthleteId, ProgrammeAssignmentId, SquadId};
use crate::services::exercises::{self, ClubCatalogue};
use crate::services::programmes::{self, Sent, assignments};
use crate::services::write::{self, Change};
use crate::services::{questions, sign_offs};
use crate::store::{Known, Tenant};

/// Weeks of the programme that lie before the last complete one.
const BEFORE: i64 = 4;
/// What a phase is called, its weeks, sets, and what stands for the jump.
const PHASES: [(&str, usize, u8, &str); 7] = [
    ("Learning", 4, 2, "step_off_landing_both_feet"),
    ("More of it", 4, 3, "block_jump"),
    ("Further", 4, 3, "standing_long_jump"),
    ("Away from home", 4, 2, "block_jump"),
    ("On one foot", 4, 3, "step_off_landing_one_foot"),
    ("Before the season", 4, 3, "lateral_bound"),
    ("Into the season", 2, 2, "block_jump"),
];
/// What the athlete of the example has been watched at.
const WATCHED: [&str; 3] = ["squat", "hip_hinge", "step_off_landing_both_feet"];
const FILM: &str = "https://films.havneby.example/squat";
const QUESTION: &str = "Do I do both sides before I rest?";

/// Enters it, for the squad and the athlete of the example.
pub(super) async fn enter(
    app: &App,
    tenant: Tenant,
    (squad, athlete): (SquadId, AthleteId),
    week: IsoWeek,
) -> Result<(), Problem> {
    let now = app.clock.now();
    let mut coach = Caller::system(tenant, "strength-coach", now);
    coach.principal.role = Role::StrengthCoach;
    let prescribed = move |change: &mut Change<'_>| {
        film(change)?;
        watched(change, athlete, week)?;
        prescribe(change, squad, week)
    };
    let assignment = write::job(app, coach, prescribed).await?;
    let mut hers = Caller::system(tenant, "athlete", now);
    hers.principal.role = Role::Athlete;
    hers.principal.athletes = vec![Reference::Id(athlete.uuid())];
    let tuesday = week.monday().saturating_add(Span::new().days(8));
    write::job(app, hers, move |change| {
        let about = json!({ "assignment_id": assignment.to_string(), "date": tuesday.to_string(), "item": 3 });
        let question = read(json!({ "text": QUESTION, "about": about }))?;
        questions::ask(change, athlete, &question).map(|_| ())
    })
    .await
}

fn film(change: &mut Change<'_>) -> Result<(), Problem> {
    let tenant = change.tenant();
    let catalogue = ClubCatalogue::read(change.conn, tenant, Known::Now)?;
    let squat = ExerciseCode::parse("squat").map_err(|error| Problem::internal(&error))?;
    let film = read(json!({ "film_url": FILM }))?;
    exercises::put(change, &catalogue, &squat, &film).map(|_| ())
}

fn watched(change: &mut Change<'_>, athlete: AthleteId, week: IsoWeek) -> Result<(), Problem> {
    for exercise in WATCHED {
        let seen = json!({ "exercise": exercise, "signed_on": week.monday().to_string(), "seen_in_person": true });
        let id = change.new_id();
        sign_offs::put(change, (athlete, id), None, &read(seen)?)?;
    }
    Ok(())
}

fn prescribe(
    change: &mut Change<'_>,
    squad: SquadId,
    week: IsoWeek,
) -> Result<ProgrammeAssignmentId, Problem> {
    let programme = change.new_id();
    programmes::insert(change, programme, &Sent::from_json(read(half_year())?))?;
    let from = week.monday().saturating_sub(Span::new().days(7 * BEFORE));
    let body = json!({ "squad_id": squad.to_string(), "from": from.to_string() });
    let assignment = change.new_id();
    assignments::put(change, (programme, assignment), None, &read(body)?)?;
    Ok(assignment)
}

/// 26 weeks of two sessions at home.
fn half_year() -> Value {
    let blocks = PHASES.iter().map(|(name, length, sets, jump)| {
        let weeks: Vec<Value> = (0..*length).map(|_| week_of(*sets, jump)).collect();
        json!({ "name": name, "weeks": weeks })
    });
    json!({ "name": "Half a year at home", "blocks": blocks.collect::<Vec<_>>() })
}

/// The two sessions that the squad's ordinary week has at home.
fn week_of(sets: u8, jump: &str) -> Value {
    let session = |name: &str, rpe: f64, items: Value| {
        json!({ "name": name, "setting": "prescribed_home", "kind": "strength", "start": "16:30", "minutes": 45, "intended_rpe": rpe,
            "items": items })
    };
    let there_and_back = json!({ "legs": [{ "direction": "forward", "length": 12 }, { "direction": "back", "length": 12 }], "unit": "m",
        "returns_to_start": true });
    let legs = json!([
        { "exercise": "squat", "sets": sets, "reps": 9, "rest_seconds": 75, "note": "Down slowly, knees in line with the toes" },
        { "exercise": jump, "sets": sets, "reps": 4, "rest_seconds": 90 },
        { "exercise": "side_plank", "sets": sets, "seconds": 25, "rest_seconds": 30 },
        { "exercise": "shuttle_run", "sets": 4, "distance": there_and_back, "rest_seconds": 60 },
    ]);
    let whole = json!([
        { "exercise": "hip_hinge_loaded", "sets": sets, "reps": 7, "load": { "amount": 8, "unit": "kg" }, "rest_seconds": 75 },
        { "exercise": "press_up", "sets": sets, "reps": 8, "rest_seconds": 60 },
        { "exercise": "shoulder_outward_rotation_band", "sets": 2, "reps": 11, "band": "green" },
        { "exercise": "loaded_carry", "sets": 3, "distance": there_and_back, "load": { "amount": 6, "unit": "kg" }, "rest_seconds": 60 },
    ]);
    json!({ "days": [
        { "day": "tuesday", "sessions": [session("Legs and trunk", 6.0, legs)] },
        { "day": "friday", "sessions": [session("The whole body", 5.5, whole)] },
    ] })
}

/// As the body of a request.
fn read<T: DeserializeOwned>(body: Value) -> Result<T, Problem> {
    serde_json::from_value(body).map_err(|error| Problem::internal(&error))
}
