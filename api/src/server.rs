//! Puts routes, limits and middleware on a listener that is already bound.

use std::net::TcpListener;
use std::time::Duration;

use actix_web::dev::Server;
use actix_web::middleware::from_fn;
use actix_web::{HttpRequest, HttpServer, web};
use utoipa_swagger_ui::{Config as DocsConfig, SwaggerUi};

use crate::app::App;
use crate::error::{Code, Problem};
use crate::routes::{self, Routes};
use crate::web::known_paths::KnownPaths;
use crate::web::{fallback, rate_limit, refused, request_line, sandbox, scim};

/// The head of a request must be there in this time.
pub const HEAD_TIME: Duration = Duration::from_secs(5);
/// An idle connection is kept this long.
pub const KEEP_ALIVE: Duration = Duration::from_secs(15);
/// A caller has this time to take what was sent; then the connection ends. None where the system has no such limit to set.
pub const UNREAD_TIME: Option<Duration> = if cfg!(target_os = "linux") {
    Some(Duration::from_secs(30))
} else {
    None
};
/// Accepted requests may finish in this time when the service stops. What systemd and container runtimes are told to wait is longer.
pub const STOP_TIME: Duration = Duration::from_secs(8);
/// More connections than this a worker are left in the listener's queue.
const CONNECTIONS: usize = 2_000;

/// The running server: await it. It takes connections until `closing` is over.
pub fn start(
    app: &App,
    listener: TcpListener,
    closing: impl Future<Output = ()> + Send + 'static,
) -> std::io::Result<Server> {
    give_up_what_is_not_read(&listener)?;
    let workers = match app.config.workers {
        0 => std::thread::available_parallelism().map_or(1, usize::from),
        workers => workers,
    };
    let app = web::Data::new(app.clone());
    let known_paths = web::Data::new(KnownPaths::of_routes().map_err(std::io::Error::other)?);
    let server = HttpServer::new(move || {
        let service = actix_web::App::new()
            .app_data(app.clone())
            .app_data(known_paths.clone())
            .app_data(web::PathConfig::default().error_handler(|_, _| Problem::not_found().into()))
            .configure(|config| routes::configure(&mut Routes::Served(config)))
            .service(docs())
            .default_service(web::to(no_route));
        let service = service.wrap(from_fn(refused::enter_refused));
        #[cfg(feature = "testing")]
        let service = service.wrap(from_fn(crate::web::fault::fault));
        service
            .wrap(from_fn(sandbox::enter_sandbox))
            .wrap(from_fn(rate_limit::rate_limit))
            .wrap(from_fn(scim::errors))
            .wrap(from_fn(fallback::head_as_get))
            .wrap(from_fn(request_line::request_line))
    })
    .workers(workers)
    // About two blocking threads a core in all: waiting requests queue at the store's permits.
    .worker_max_blocking_threads(2)
    .max_connections(CONNECTIONS)
    .client_request_timeout(HEAD_TIME)
    .keep_alive(KEEP_ALIVE)
    .shutdown_timeout(STOP_TIME.as_secs())
    .shutdown_signal(closing)
    .server_hostname("plimsoll")
    .listen(listener)?
    .run();
    Ok(server)
}

/// Each accepted connection takes this over from its listener (tcp(7), `TCP_USER_TIMEOUT`).
#[cfg(target_os = "linux")]
fn give_up_what_is_not_read(listener: &TcpListener) -> std::io::Result<()> {
    socket2::SockRef::from(listener).set_tcp_user_timeout(UNREAD_TIME)
}

/// Other systems have their own limits.
#[cfg(not(target_os = "linux"))]
fn give_up_what_is_not_read(_: &TcpListener) -> std::io::Result<()> {
    Ok(())
}

/// The documentation page, from files inside the program: it works without a network.
fn docs() -> SwaggerUi {
    SwaggerUi::new("/docs/{_:.*}").config(DocsConfig::from("/openapi.json"))
}

async fn no_route(request: HttpRequest) -> Result<actix_web::HttpResponse, Problem> {
    if request.path() == "/docs" {
        return Ok(actix_web::HttpResponse::PermanentRedirect()
            .insert_header(("location", "/docs/"))
            .finish());
    }
    let problem = fallback::no_route(&request);
    debug_assert!(matches!(
        problem.code,
        Code::NotFound | Code::MethodNotAllowed
    ));
    Err(problem)
}
