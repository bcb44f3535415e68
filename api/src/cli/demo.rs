//! `plimsoll demo`: the main job in one go.

use std::path::PathBuf;
use std::time::Duration;

use jiff::civil::Date;
use jiff::tz::TimeZone;
use plimsoll_domain::Entry;

use super::{Failure, say, serve, start};
use crate::app::App;
use crate::auth::{LocalKey, Reference, Role, TokenRequest};
use crate::config::{Config, LogFormat, Switch};
use crate::demo::{self, DemoClub};
use crate::ids::{AthleteId, Ids};
use crate::services::weekly_list::{self, Wanted};
use crate::store::{Known, Tenant};
use crate::telemetry;
use crate::web::figures::{CAUTION, RATIO_NOTE};

/// Arguments of `demo`.
#[derive(Debug, clap::Args)]
pub(super) struct Arguments {
    /// Print the week and exit.
    #[arg(long)]
    no_serve: bool,
    /// Port on 127.0.0.1; 0 takes a free one.
    #[arg(long, default_value_t = 8080)]
    port: u16,
    /// Keep database and key in this folder, which must not hold a database yet.
    #[arg(long, value_name = "DIR")]
    keep: Option<PathBuf>,
    /// Another seed makes another season.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// The date it is, instead of today: pins the clock and the data.
    #[arg(long, value_name = "DATE")]
    at: Option<Date>,
}

pub(super) fn run(arguments: &Arguments) -> Result<(), Failure> {
    let scratch = scratch(arguments.keep.clone())?;
    let folder = scratch.path();
    let config = config(arguments, folder)?;
    telemetry::start(&config);
    telemetry::metrics::start();
    let ids = Ids::seeded(arguments.seed);
    let arguments = (arguments.seed, arguments.no_serve);
    actix_web::rt::System::new().block_on(async move {
        let app = start::app_with(config, start::Migrations::Apply, ids).await?;
        let key = LocalKey::open(&app.config.local_key).map_err(Failure::found)?;
        let now = app.clock.now();
        let today = TimeZone::get(demo::ZONE)
            .map_err(Failure::found)?
            .to_datetime(now)
            .date();
        let club = demo::build(&app, today, arguments.0).await;
        let club = club.map_err(|problem| Failure::Found(problem.to_string()))?;
        print_week(&app, &club).await?;
        if arguments.1 {
            return Ok(());
        }
        let listener = serve::bind(&app)?;
        let address = listener.local_addr().map_err(Failure::found)?;
        print_tour(&format!("http://{address}"), &app, &key, &club)?;
        serve::serve(app, listener).await
    })
}

/// Where the demo keeps its files.
enum Scratch {
    Kept(PathBuf),
    Temporary(tempfile::TempDir),
}

impl Scratch {
    fn path(&self) -> &std::path::Path {
        match self {
            Scratch::Kept(path) => path,
            Scratch::Temporary(folder) => folder.path(),
        }
    }
}

fn scratch(keep: Option<PathBuf>) -> Result<Scratch, Failure> {
    let Some(folder) = keep else {
        return tempfile::tempdir()
            .map(Scratch::Temporary)
            .map_err(Failure::found);
    };
    std::fs::create_dir_all(&folder).map_err(Failure::found)?;
    if folder.join("demo.sqlite").exists() {
        return Err(Failure::Usage(format!(
            "{} holds a database already; name another folder, or serve that one",
            folder.display()
        )));
    }
    Ok(Scratch::Kept(folder))
}

fn config(arguments: &Arguments, folder: &std::path::Path) -> Result<Config, Failure> {
    let zone = TimeZone::get(demo::ZONE).map_err(Failure::found)?;
    let clock = match arguments.at {
        None => None,
        Some(date) => {
            let morning = date
                .at(7, 0, 0, 0)
                .to_zoned_datetime(zone)
                .map_err(Failure::found)?;
            Some(morning.timestamp())
        }
    };
    Ok(Config {
        database_url: format!("sqlite://{}", folder.join("demo.sqlite").display()),
        listen: ([127, 0, 0, 1], arguments.port).into(),
        local_issuer: Switch::On,
        local_key: folder.join("demo.key"),
        clock,
        log: "warn".to_owned(),
        log_format: LogFormat::Text,
        ..Config::default()
    })
}

async fn print_week(app: &App, club: &DemoClub) -> Result<(), Failure> {
    say(&format!(
        "{}, week {}: who needs a decision",
        club.name, club.week
    ));
    for (squad_id, name) in &club.squads {
        let wanted = Wanted {
            squad_id: *squad_id,
            week: club.week,
            known: Known::Now,
        };
        let tenant = Tenant::granted(club.club_id);
        let read = app
            .store
            .snapshot(move |conn| weekly_list::read(conn, tenant, wanted))
            .await;
        let list = read
            .map_err(|problem| Failure::Found(problem.to_string()))?
            .list;
        say(&format!(
            "\n{name}: {} of {}",
            list.entries.len(),
            list.entries.len() + list.not_listed
        ));
        for entry in &list.entries {
            say(&line(entry));
        }
    }
    say(&format!("\n{CAUTION}\n{RATIO_NOTE}"));
    Ok(())
}

fn line(entry: &Entry<AthleteId>) -> String {
    let certainty = entry
        .certainty
        .map_or("cannot say", plimsoll_domain::Certainty::code);
    format!("  {} ({certainty}): {}", entry.display_name, entry.sentence)
}

/// Addresses, tokens and what to try, as lines for a shell.
fn print_tour(address: &str, app: &App, key: &LocalKey, club: &DemoClub) -> Result<(), Failure> {
    let base = format!("{address}/v1/clubs/{}", club.club_id);
    let athlete = |code: &str| club.athletes.get(code).copied();
    let squad = |name: &str| {
        let found = club.squads.iter().find(|(_, squad)| squad == name);
        found
            .map(|(id, _)| *id)
            .ok_or_else(|| Failure::Found(format!("no squad {name}")))
    };
    let example = athlete("P-28").ok_or_else(|| Failure::Found("no athlete P-28".into()))?;
    say(&format!(
        "\nDocumentation: {address}/docs/\n\nFor your shell (tokens good for a day):\n"
    ));
    say(&format!("export CLUB={base}"));
    say(&format!(
        "export U18={} ATHLETE={example} WEEK={}",
        squad("U18")?,
        club.week
    ));
    for (name, role) in [
        ("CLUB_IT", Role::Integration),
        ("COACH", Role::Coach),
        ("STRENGTH_COACH", Role::StrengthCoach),
        ("TRAINER", Role::AthleticTrainer),
        ("ADMIN", Role::ClubAdmin),
        ("PRIVACY_LEAD", Role::PrivacyLead),
        ("ATHLETE_TOKEN", Role::Athlete),
        ("GUARDIAN", Role::Guardian),
    ] {
        say(&format!(
            "export {name}={}",
            token(app, key, club, role, example)?
        ));
    }
    say(&tour());
    Ok(())
}

fn tour() -> String {
    "\nThree things to try next:\n\n\
     The coach reads the week:\n  \
     curl -s $CLUB/squads/$U18/weeks/$WEEK -H \"Authorization: Bearer $COACH\"\n\
     The athletic trainer reads one athlete's weeks:\n  \
     curl -s $CLUB/athletes/$ATHLETE/weeks -H \"Authorization: Bearer $TRAINER\"\n\
     The privacy lead sees that she did:\n  \
     curl -s $CLUB/audit -H \"Authorization: Bearer $PRIVACY_LEAD\"\n"
        .to_owned()
}

fn token(
    app: &App,
    key: &LocalKey,
    club: &DemoClub,
    role: Role,
    athlete: AthleteId,
) -> Result<String, Failure> {
    let own = matches!(role, Role::Athlete | Role::Guardian);
    let now = app.clock.now();
    let request = TokenRequest {
        subject: format!("demo-{}", role.code()),
        client: "club-app".to_owned(),
        token_id: app.ids.next(now),
        roles: vec![role],
        club: Some(Reference::Id(club.club_id.uuid())),
        squads: None,
        athletes: own
            .then(|| Reference::Id(athlete.uuid()))
            .into_iter()
            .collect(),
        lifetime: Duration::from_secs(24 * 60 * 60),
    };
    key.sign(&request, now).map_err(Failure::found)
}
