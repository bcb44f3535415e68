//! Plain handlers: a year of rows and as many bytes as asked for; one upsert.

use std::error::Error;
use std::net::SocketAddr;

use actix_web::web::{Data, Json, Path, Query};
use actix_web::{App, HttpResponse, HttpServer, error, web};
use jiff::civil::Date;
use plimsoll_api::ids::{AthleteId, ClubId};
use plimsoll_api::store::day_totals::{self, Days, Totals};
use plimsoll_api::store::{Store, StoreError, Tenant, Who};
use plimsoll_domain::Setting;
use serde::Deserialize;

/// Where to listen.
#[derive(Debug, clap::Args)]
pub(super) struct Arguments {
    #[arg(long)]
    listen: SocketAddr,
}

/// Serves until it is stopped, with as many threads as the service.
pub(super) async fn run(store: Store, arguments: &Arguments) -> Result<(), Box<dyn Error>> {
    let store = Data::new(store);
    HttpServer::new(move || {
        App::new()
            .app_data(store.clone())
            .route("/days/{club_id}/{athlete_id}", web::get().to(days))
            .route("/upsert/{club_id}", web::post().to(upsert))
    })
    .worker_max_blocking_threads(2)
    .workers(std::thread::available_parallelism()?.get())
    .bind(arguments.listen)?
    .run()
    .await?;
    Ok(())
}

#[derive(Debug, Deserialize)]
struct Asked {
    from: Date,
    to: Date,
    bytes: usize,
}

/// Reads an athlete's day totals and sends so many bytes.
async fn days(
    store: Data<Store>,
    path: Path<(ClubId, AthleteId)>,
    asked: Query<Asked>,
) -> actix_web::Result<HttpResponse> {
    let (club_id, athlete_id) = path.into_inner();
    let tenant = Tenant::granted(club_id);
    let (from, to) = (asked.from, asked.to);
    let rows = store
        .read(tenant, move |conn| {
            day_totals::in_dates(conn, tenant, Who::Athletes(&[athlete_id]), from, to)
        })
        .await
        .map_err(error::ErrorInternalServerError::<StoreError>)?;
    if rows.is_empty() {
        return Ok(HttpResponse::NotFound().finish());
    }
    Ok(HttpResponse::Ok().body(vec![b' '; asked.bytes]))
}

#[derive(Debug, Deserialize)]
struct Row {
    athlete_id: AthleteId,
    date: Date,
    load_half_au: i64,
    minutes: i32,
}

/// Puts one row of day totals in the place of the one that is there.
async fn upsert(
    store: Data<Store>,
    path: Path<ClubId>,
    row: Json<Row>,
) -> actix_web::Result<HttpResponse> {
    let tenant = Tenant::granted(path.into_inner());
    let totals = Totals {
        logged_half: row.load_half_au,
        low_half: row.load_half_au,
        high_half: row.load_half_au,
        minutes: row.minutes,
        sessions: 1,
        expected: 0,
        unlogged: 0,
    };
    let day = ((row.athlete_id, row.date), [(Setting::Free, totals)].into());
    let days = Days::from([day]);
    store
        .write(tenant, move |conn| day_totals::upsert(conn, tenant, &days))
        .await
        .map_err(error::ErrorInternalServerError::<StoreError>)?;
    Ok(HttpResponse::Created().finish())
}
