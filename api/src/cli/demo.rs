//! `plimsoll demo`: the main job in one go.

mod tour;
mod week;

use std::path::PathBuf;

use jiff::civil::{self, Date};
use jiff::tz::TimeZone;

use super::{Failure, serve, start};
use crate::auth::LocalKey;
use crate::config::{Config, LogFormat, Switch};
use crate::demo;
use crate::ids::Ids;
use crate::telemetry;

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
    #[arg(long, value_name = "DATE", value_parser = date)]
    at: Option<Date>,
}

pub(super) fn run(arguments: &Arguments) -> Result<(), Failure> {
    let scratch = scratch(arguments.keep.clone())?;
    let folder = scratch.path();
    let config = config(arguments, folder)?;
    telemetry::start(&config);
    telemetry::metrics::start();
    let ids = Ids::seeded(arguments.seed);
    let (seed, serves) = (arguments.seed, !arguments.no_serve);
    actix_web::rt::System::new().block_on(async move {
        let app = start::app_with(config, start::Migrations::Apply, ids).await?;
        // An address that is taken is noticed first.
        let listener = serves.then(|| serve::bind(&app)).transpose()?;
        let key = LocalKey::open(&app.config.local_key).map_err(Failure::found)?;
        let now = app.clock.now();
        let today = TimeZone::get(demo::ZONE)
            .map_err(Failure::found)?
            .to_datetime(now)
            .date();
        let club = demo::build(&app, today, seed).await;
        let club = club.map_err(|problem| Failure::Found(problem.to_string()))?;
        week::print(&app, &club).await?;
        let Some(listener) = listener else {
            return Ok(());
        };
        let address = listener.local_addr().map_err(Failure::found)?;
        let recipient = demo::recipient(&app, &club).await;
        let recipient = recipient.map_err(|problem| Failure::Found(problem.to_string()))?;
        tour::print(&format!("http://{address}"), &app, &key, &club, &recipient)?;
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
    std::fs::create_dir_all(&folder).map_err(|error| Failure::file(&folder, &error))?;
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
        audit_key: folder.join("audit.key"),
        audit_sign_key: folder.join("audit-sign.key"),
        audit_heads: folder.join("audit-heads.jsonl"),
        erasures: folder.join("erasures.jsonl"),
        page_key: folder.join("page.key"),
        master_key: folder.join("master.key"),
        // The demonstration shows one closed week and leaves it at that.
        jobs: Switch::Off,
        sandboxes: Switch::On,
        drain_seconds: 0,
        clock,
        log: "warn".to_owned(),
        log_format: LogFormat::Text,
        ..Config::default()
    })
}

/// A date the demo can be pinned to: sessions are taken from the year 2000 on.
fn date(text: &str) -> Result<Date, String> {
    let (first, last) = (civil::date(2001, 1, 1), civil::date(2199, 12, 31));
    let date: Option<Date> = text.parse().ok();
    date.filter(|date| (first..=last).contains(date))
        .ok_or_else(|| format!("a date is written YYYY-MM-DD, from {first} to {last}"))
}
