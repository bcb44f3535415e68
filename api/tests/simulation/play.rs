//! One simulation: a seed says what happens in which order, and in the end everything must be in order.

use jiff::{SignedDuration, ToSpan};
use plimsoll_api::ids::NoticeEndpointId;
use rand::RngExt;
use serde_json::json;

use crate::base::Base;
use crate::check;
use crate::client::Kind;
use crate::world::{Done, Weather, World};

/// Things that happen in a simulation.
const EVENTS: usize = 120;
/// Tasks that are under way at once.
const AT_ONCE: usize = 6;

/// What a simulation came to.
pub(crate) struct Played {
    pub(crate) digest: [u8; 32],
    pub(crate) simulated: SignedDuration,
    pub(crate) messages: usize,
    pub(crate) repeated: usize,
    pub(crate) found: check::Found,
    pub(crate) done: Done,
}

/// Plays a seed to its end.
pub(crate) async fn play(base: &Base, seed: u64) -> Played {
    let mut world = World::new(base, seed);
    for _ in 0..EVENTS {
        happen(&mut world).await;
    }
    world.come_to_rest().await;
    let found = check::check(&mut world).await;
    Played {
        digest: world.trace.digest(),
        simulated: world.passed,
        messages: world.receivers.messages,
        repeated: world.receivers.repeated,
        found,
        done: world.done,
    }
}

async fn happen(world: &mut World) {
    let machine = world.random.random_range(0..2);
    let full = world.tasks.len() >= AT_ONCE;
    match world.random.random_range(0..100) {
        0..16 => {
            let time = some_time(world);
            world.pass(time);
        }
        16..28 if !full => world.look(machine).await,
        28..31 if !full => world.look_ahead(machine).await,
        31..46 if !full => world.deliver(machine).await,
        46..56 if !full => write(world, machine).await,
        56..59 if !full => write_again(world, machine).await,
        59..61 => {
            let club = world.random.random_range(0..world.clubs.len());
            world.read(machine, club).await;
        }
        61..64 => world.crash(machine),
        64..67 => {
            let (step, back) = (a_step(world), world.random.random_bool(0.5));
            world.step_clock(machine, if back { -step } else { step });
        }
        _ if !world.tasks.is_empty() => {
            let (index, steps) = (
                world.random.random_range(0..world.tasks.len()),
                how_far(world),
            );
            let tasks = world.tasks.len();
            for _ in 0..steps {
                if !world.go_on(index, Weather::Rough).await || world.tasks.len() < tasks {
                    break;
                }
            }
        }
        _ => {}
    }
}

/// A few stops mostly, many sometimes.
fn how_far(world: &mut World) -> usize {
    let most = if world.random.random_bool(0.7) { 4 } else { 40 };
    world.random.random_range(1..=most)
}

/// Minutes to days; often to just about when a club's week is to be closed.
fn some_time(world: &mut World) -> SignedDuration {
    match world.random.random_range(0..6) {
        0 | 1 => {
            let about = SignedDuration::from_secs(world.random.random_range(-60..900));
            world.until_monday() + about
        }
        2 | 3 => SignedDuration::from_secs(world.random.random_range(1..3_600)),
        4 => SignedDuration::from_mins(world.random.random_range(60..720)),
        _ => SignedDuration::from_hours(world.random.random_range(12..48)),
    }
}

/// Minutes mostly, years sometimes.
fn a_step(world: &mut World) -> SignedDuration {
    match world.random.random_range(0..1_000) {
        0..700 => SignedDuration::from_secs(world.random.random_range(1..3_600)),
        700..900 => SignedDuration::from_mins(world.random.random_range(60..1_440)),
        900..985 => SignedDuration::from_hours(world.random.random_range(24..720)),
        985..994 => SignedDuration::from_hours(24 * world.random.random_range(30..365)),
        _ => SignedDuration::from_hours(24 * world.random.random_range(365..1_100)),
    }
}

/// A new report, an amended one, or a notice to try an endpoint with.
async fn write(world: &mut World, machine: usize) {
    let club = world.clubs[world.random.random_range(0..world.clubs.len())].clone();
    let number = if world.random.random_bool(0.2) {
        let endpoints: [NoticeEndpointId; 2] = [club.steady, club.troubled];
        let endpoint = endpoints[world.random.random_range(0..2)];
        world.plan(club.tenant, Kind::TestNotice(endpoint), json!({}), machine)
    } else {
        let back = world.random.random_range(120..14 * 1_440).minutes();
        let started_at = world.clock(machine) - back;
        let report = json!({
            "external_id": format!("app-{}", world.random.random_range(0..8)),
            "athlete_id": club.athletes[world.random.random_range(0..club.athletes.len())],
            "started_at": started_at.to_string(),
            "time_zone": club.zone,
            "minutes": world.random.random_range(60..=300),
            "rpe": world.random.random_range(1..=10),
            "setting": "club",
            "kind": "practice",
            "reason": "said late",
        });
        world.plan(club.tenant, Kind::Report, report, machine)
    };
    world.send(machine, number).await;
}

/// The same once more, whether it was answered or not.
async fn write_again(world: &mut World, machine: usize) {
    let now = world.clock(machine);
    let open: Vec<usize> = (0..world.sent.len())
        .filter(|number| world.sent[*number].may_be_sent_again(now))
        .collect();
    if !open.is_empty() {
        let number = open[world.random.random_range(0..open.len())];
        world.send(machine, number).await;
    }
}
