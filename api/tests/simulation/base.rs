//! The databases that simulations begin with, made once and copied for each.

use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicI64;
use std::time::Duration;

use jiff::civil::Date;
use jiff::{SignedDuration, Timestamp, ToSpan};
use plimsoll_api::app::{App, Parts};
use plimsoll_api::auth::Verifier;
use plimsoll_api::auth::tenant::Caller;
use plimsoll_api::clock::Clock;
use plimsoll_api::clock_watch::ClockWatch;
use plimsoll_api::config::Config;
use plimsoll_api::error::Problem;
use plimsoll_api::ids::{AthleteId, Ids, NoticeEndpointId};
use plimsoll_api::jobs::watch::Watch;
use plimsoll_api::services::audit::AuditLog;
use plimsoll_api::services::audit_chain::ChainKey;
use plimsoll_api::services::page_link::LinkKey;
use plimsoll_api::services::policy::body::PolicyBody;
use plimsoll_api::services::revocations::Revocations;
use plimsoll_api::services::sandboxes::Sandboxes;
use plimsoll_api::services::sessions::bulk;
use plimsoll_api::services::write::{self, Change};
use plimsoll_api::store::athletes::{self, Athlete};
use plimsoll_api::store::look_aheads::LookAheadTime;
use plimsoll_api::store::memberships::{self, Membership};
use plimsoll_api::store::notices::endpoints::{self, Endpoint};
use plimsoll_api::store::policies::{self, NewPolicy};
use plimsoll_api::store::squads::{self, SquadContent};
use plimsoll_api::store::testing::{TestDatabase, execute_elsewhere};
use plimsoll_api::store::{
    Channel, DatabaseUrl, MasterKeys, MembershipRole, NameKey, Store, StoreSettings, Tenant, clubs,
    look_aheads, migrate,
};
use plimsoll_api::web::rate_limit::Limiter;
use plimsoll_domain::IsoWeek;
use serde_json::json;
use tempfile::TempDir;

/// When simulations begin and the zones of their two clubs: a change of the clocks, week 53, or the ends of the earth are near.
const BEGINNINGS: [(&str, [&str; 2]); 4] = [
    (
        "2026-03-24T12:00:00Z",
        ["Europe/Copenhagen", "America/St_Johns"],
    ),
    (
        "2026-10-20T12:00:00Z",
        ["America/New_York", "Africa/Casablanca"],
    ),
    (
        "2026-12-15T12:00:00Z",
        ["Pacific/Kiritimati", "Pacific/Pago_Pago"],
    ),
    (
        "2027-03-23T12:00:00Z",
        ["Australia/Lord_Howe", "Asia/Kathmandu"],
    ),
];

/// A club of an amateur handball league, as a simulation knows it.
#[derive(Clone)]
pub(crate) struct Club {
    pub(crate) tenant: Tenant,
    pub(crate) zone: &'static str,
    pub(crate) athletes: Vec<AthleteId>,
    /// An endpoint whose messages are taken, soon or late.
    pub(crate) steady: NoticeEndpointId,
    /// An endpoint that fails in every way.
    pub(crate) troubled: NoticeEndpointId,
    /// A recipient of mail.
    pub(crate) mail: NoticeEndpointId,
}

/// A database with two clubs.
pub(crate) struct Base {
    pub(crate) begin: Timestamp,
    pub(crate) clubs: Vec<Club>,
    place: Place,
}

/// On which database a simulation is played.
#[derive(Debug, Clone, Copy)]
pub(crate) enum On {
    Sqlite,
    Postgres,
}

/// Where a database is; it goes with this.
pub(crate) enum Place {
    /// A file in memory, in a folder of its own.
    File(
        PathBuf,
        #[expect(dead_code, reason = "removes the folder when dropped")] TempDir,
    ),
    Server(TestDatabase),
}

impl Place {
    fn migrated(on: On) -> Self {
        let place = match on {
            On::Postgres => return Self::Server(TestDatabase::postgres()),
            On::Sqlite => Self::file(),
        };
        migrate::apply(&place.url()).unwrap();
        place
    }

    fn file() -> Self {
        let folder = folder();
        Self::File(folder.path().join("plimsoll.sqlite"), folder)
    }

    fn url(&self) -> DatabaseUrl {
        match self {
            Self::File(file, _) => DatabaseUrl::sqlite(file),
            Self::Server(database) => database.url().clone(),
        }
    }

    /// Brings a SQLite database with its log into one file, which can then be copied.
    fn settled(self) -> Self {
        let Self::File(..) = &self else {
            return self;
        };
        let whole = Self::file();
        let Self::File(to, _) = &whole else {
            unreachable!("it was made as a file");
        };
        let copy = format!("VACUUM INTO '{}'", to.display());
        execute_elsewhere(&self.url(), &copy).unwrap();
        whole
    }

    fn copy(&self) -> Self {
        match self {
            Self::File(file, _) => {
                let folder = folder();
                let to = folder.path().join("plimsoll.sqlite");
                std::fs::copy(file, &to).unwrap();
                Self::File(to, folder)
            }
            Self::Server(database) => Self::Server(database.copy()),
        }
    }

    /// Whether a notice's payload names an id of this column.
    pub(crate) fn payload_names(&self, id: &str) -> String {
        match self {
            Self::File(..) => format!("instr(replace(n.payload, '-', ''), lower(hex({id}))) > 0"),
            Self::Server(_) => {
                format!("position(CAST({id} AS text) IN CAST(n.payload AS text)) > 0")
            }
        }
    }

    /// The moment, in microseconds, from which a pending delivery may be taken up.
    pub(crate) fn takeable_from(&self) -> &'static str {
        match self {
            Self::File(..) => "max(due_at, coalesce(lease_until, 0))",
            Self::Server(_) => "extract(epoch FROM greatest(due_at, lease_until)) * 1000000",
        }
    }

    /// A store on it; no wait in it ends before the simulation does.
    pub(crate) fn store(&self) -> Store {
        let settings = StoreSettings {
            read_connections: 1,
            permit_wait: Duration::from_secs(300),
            lock_timeout: Duration::from_secs(300),
            commit_timeout: Duration::from_secs(300),
            ..StoreSettings::default()
        };
        let masters = MasterKeys::new(&[[7; 32]]).unwrap();
        Store::connect(&self.url(), settings, masters).unwrap()
    }
}

/// A folder on a file system in memory, where there is one.
pub(crate) fn folder() -> TempDir {
    let memory = Path::new("/dev/shm");
    if memory.is_dir() {
        tempfile::tempdir_in(memory).unwrap()
    } else {
        tempfile::tempdir().unwrap()
    }
}

/// The service on a machine with this clock, its keys in a folder.
pub(crate) fn app(store: &Store, hand: &'static AtomicI64, ids: Ids, keys: &Path) -> App {
    let config = Config::default();
    let chain = ChainKey::open(&keys.join("audit.key")).unwrap();
    App::new(Parts {
        verifier: Verifier::new(&config.auth, None).unwrap(),
        limiter: Limiter::new(config.rate_limit),
        revocations: Revocations::default(),
        closing: Watch::default(),
        looking_ahead: Watch::default(),
        signing: Watch::default(),
        retention: Watch::default(),
        stop: tokio::sync::watch::Sender::new(false),
        audit: AuditLog::start(store.clone(), chain),
        links: LinkKey::open(&keys.join("page.key")).unwrap(),
        sandboxes: Sandboxes::new(config.sandboxes),
        hand: None,
        store: store.clone(),
        clock: Clock::ByHand(hand),
        clock_watch: ClockWatch::new(),
        ids,
        config,
    })
}

impl Base {
    /// How many there are.
    pub(crate) const COUNT: usize = BEGINNINGS.len();

    /// Makes one.
    pub(crate) async fn make(number: usize, on: On) -> Self {
        let (begin, zones) = BEGINNINGS[number];
        let begin: Timestamp = begin.parse().unwrap();
        let (keys, place) = (folder(), Place::migrated(on));
        let store = place.store();
        let hand: &'static AtomicI64 = Box::leak(Box::new(begin.as_microsecond().into()));
        let app = app(&store, hand, Ids::seeded(number as u64), keys.path());
        let mut clubs = Vec::new();
        for zone in zones {
            clubs.push(club(&app, zone, begin).await);
        }
        Self {
            begin,
            clubs,
            place: place.settled(),
        }
    }

    /// A copy of the database of its own for one simulation.
    pub(crate) fn copy(&self) -> Place {
        self.place.copy()
    }
}

async fn club(app: &App, zone: &'static str, begin: Timestamp) -> Club {
    let tenant = Tenant::granted(app.ids.next(begin).into());
    app.store
        .write(tenant, move |conn| {
            clubs::insert(conn, tenant, "Havneby Handball", zone, begin)
        })
        .await
        .unwrap();
    let caller = Caller::system(tenant, "club-app", begin);
    write::job(app, caller, move |change| fill(change, zone))
        .await
        .unwrap()
}

/// A squad of two, four weeks of sessions, a policy, two webhooks, a recipient of mail, and a look ahead on Thursdays.
fn fill(change: &mut Change<'_>, zone: &'static str) -> Result<Club, Problem> {
    let tenant = change.tenant();
    let today = change.at().in_tz(zone).unwrap().date();
    let monday = IsoWeek::of(today)
        .unwrap()
        .monday()
        .saturating_sub(28.days());
    let athletes = squad(change, monday)?;
    adopt_policy(change, monday)?;
    let mut rows = Vec::new();
    for (athlete, day) in athletes
        .iter()
        .flat_map(|athlete| (0..28).map(move |day| (athlete, day)))
    {
        let date = monday.saturating_add(day.days());
        if day % 7 < 4 {
            let report = json!({
                "athlete_id": athlete, "started_at": format!("{date}T17:30:00"), "time_zone": zone,
                "minutes": 60, "rpe": 4 + day % 3, "setting": "club", "kind": "practice",
                "reason": "the season so far" });
            rows.push(bulk::row(report.to_string().as_bytes()));
        }
    }
    let stored = bulk::store(change, &rows, 1)?;
    assert!(
        stored.iter().all(|row| row.outcome == "accepted"),
        "{stored:?}"
    );
    let time = LookAheadTime {
        enabled: true,
        weekday: 4,
        minute: LOOK_AHEAD * 60,
        set_at: change.at(),
        version: 1,
    };
    look_aheads::set_time(change.conn, tenant, &time)?;
    Ok(Club {
        tenant,
        zone,
        athletes,
        steady: endpoint(change, Channel::Webhook)?,
        troubled: endpoint(change, Channel::Webhook)?,
        mail: endpoint(change, Channel::Email)?,
    })
}

fn squad(change: &mut Change<'_>, joined_on: Date) -> Result<Vec<AthleteId>, Problem> {
    let squad = SquadContent {
        squad_id: change.new_id(),
        name: "U16".to_owned(),
        external_id: None,
    };
    squads::insert(
        change.conn,
        change.tenant(),
        change.moment,
        std::slice::from_ref(&squad),
    )?;
    let athlete = |code: &str| Athlete {
        athlete_id: change.new_id(),
        external_id: Some(code.to_owned()),
        source: "club-app".to_owned(),
        display_name: code.to_owned(),
        name_key: NameKey::of(code),
        birth_date: None,
        joined_on,
        time_zone: None,
    };
    let rows: Vec<Athlete> = ["P-07", "P-12"].map(athlete).into();
    let member = |row: &Athlete| Membership {
        membership_id: change.new_id(),
        squad_id: squad.squad_id,
        athlete_id: row.athlete_id,
        role: MembershipRole::Member,
        from_date: joined_on,
        to_date: None,
        is_primary: true,
    };
    let members: Vec<Membership> = rows.iter().map(member).collect();
    change.store_with(|conn, tenant, moment, author| {
        athletes::insert(conn, tenant, moment, author, &rows)?;
        memberships::insert(conn, tenant, moment, author, &members)
    })?;
    Ok(rows.iter().map(|row| row.athlete_id).collect())
}

fn adopt_policy(change: &mut Change<'_>, effective_from: Date) -> Result<(), Problem> {
    let body = PolicyBody::example(effective_from, "I. Holm, head of youth");
    let new = NewPolicy {
        effective_from,
        approved_by: body.approved_by.clone(),
        approver: None,
        source_note: body.source_note.clone(),
        body: serde_json::to_value(&body).unwrap(),
    };
    change.store_with(|conn, tenant, moment, author| {
        policies::append(conn, tenant, moment, author, &new)
    })?;
    Ok(())
}

fn endpoint(change: &mut Change<'_>, channel: Channel) -> Result<NoticeEndpointId, Problem> {
    let (address, secret) = match channel {
        Channel::Webhook => ("https://club.example.org/notices", Some(vec![7; 32].into())),
        Channel::Email => ("coach@club.example.org", None),
    };
    let endpoint = Endpoint {
        endpoint_id: change.new_id(),
        channel,
        address: address.to_owned().into(),
        squads: Vec::new(),
        secret,
        old_secret: None,
        old_secret_until: None,
        failing_since: None,
        disabled_at: None,
        disabled_why: None,
        version: 1,
        created_at: change.at(),
        confirmed_at: Some(change.at()),
        challenge_id: None,
        entered_by: None,
        questions: false,
    };
    let tenant = change.tenant();
    endpoints::insert(change.conn, tenant, &endpoint)?;
    Ok(endpoint.endpoint_id)
}

/// The hour of the Thursday at which clubs look ahead.
pub(crate) const LOOK_AHEAD: i32 = 18;

/// So long after the last clock anybody has seen, everything is over.
pub(crate) const AFTERWARDS: SignedDuration = SignedDuration::from_hours(3);
