//! What every case starts from.

use jiff::Timestamp;
use jiff::civil::date;
use plimsoll_api::ids::{AthleteId, ClubId, Ids, SessionId};
use plimsoll_api::store::athletes::Athlete;
use plimsoll_api::store::sessions::Session;
use plimsoll_api::store::{
    Author, Conn, Moment, NameKey, Store, StoreError, Tenant, athletes, clubs, sessions,
};
use plimsoll_api::testing::TestDatabase;
use plimsoll_domain::{Basis, GivenBy, Kind, Setting};

/// Makes two tests of each case: `sqlite::case` and `postgres::case`.
macro_rules! on_both_databases {
    ($($case:ident),+ $(,)?) => {
        mod sqlite {
            $(#[tokio::test]
            async fn $case() {
                super::$case($crate::support::Fixture::new(
                    plimsoll_api::testing::TestDatabase::sqlite(),
                ).await)
                .await;
            })+
        }

        mod postgres {
            $(#[tokio::test]
            async fn $case() {
                super::$case($crate::support::Fixture::new(
                    plimsoll_api::testing::TestDatabase::postgres(),
                ).await)
                .await;
            })+
        }
    };
}
pub(crate) use on_both_databases;

/// Whom the suite's writes are by.
pub(crate) const AUTHOR: Author<'static> = Author {
    subject: "suite",
    acting_role: "integration",
};

/// A database with one club of an amateur handball league.
pub(crate) struct Fixture {
    pub(crate) store: Store,
    pub(crate) tenant: Tenant,
    pub(crate) ids: Ids,
    // Dropped last: the store's connections end before their database goes.
    pub(crate) database: TestDatabase,
}

impl Fixture {
    pub(crate) async fn new(database: TestDatabase) -> Self {
        let ids = Ids::seeded(20);
        let tenant = Tenant::granted(ClubId::from(ids.next(now())));
        let fixture = Self {
            store: database.store(),
            tenant,
            ids,
            database,
        };
        fixture.add_club(tenant).await;
        fixture
    }

    pub(crate) async fn add_club(&self, tenant: Tenant) {
        self.store
            .write(move |conn| clubs::insert(conn, tenant, "HSG Nordufer", "Europe/Berlin", now()))
            .await
            .unwrap();
    }

    /// A write of the fixture's club at an instant, with its moment.
    pub(crate) async fn write<T, F>(&self, at: Timestamp, work: F) -> Result<T, StoreError>
    where
        T: Send + 'static,
        F: FnOnce(&mut Conn, &mut Moment) -> Result<T, StoreError> + Send + 'static,
    {
        let tenant = self.tenant;
        self.store
            .write(move |conn| {
                let mut moment = clubs::lock(conn, tenant, at)?;
                let value = work(conn, &mut moment)?;
                clubs::moment_save(conn, tenant, &moment)?;
                Ok(value)
            })
            .await
    }

    pub(crate) fn athlete(&self, name: &str) -> Athlete {
        Athlete {
            athlete_id: AthleteId::from(self.ids.next(now())),
            external_id: Some(format!("ext-{name}")),
            source: "roster".to_owned(),
            display_name: name.to_owned(),
            name_key: NameKey::of(name),
            birth_date: Some(date(2010, 3, 31)),
            joined_on: date(2026, 7, 1),
            time_zone: None,
        }
    }

    pub(crate) fn session(&self, athlete_id: AthleteId, day: i8) -> Session {
        let load_date = date(2026, 9, day);
        Session {
            session_id: SessionId::from(self.ids.next(now())),
            athlete_id,
            source: "app".to_owned(),
            natural_key: format!("app-{athlete_id}-{day}"),
            external_id: Some(format!("app-{athlete_id}-{day}")),
            event_external_id: None,
            started_at: format!("{load_date}T15:30:00Z").parse().unwrap(),
            utc_offset_seconds: 7_200,
            time_zone: Some("Europe/Berlin".to_owned()),
            load_date,
            minutes: 90,
            minutes_before_midnight: None,
            rpe_half: 12,
            setting: Setting::Club,
            kind: Kind::Practice,
            basis: Basis::WholeSession,
            given_at: format!("{load_date}T17:25:00Z").parse().unwrap(),
            given_by: GivenBy::Athlete,
            note: None,
            reason: None,
        }
    }

    /// Stores a new athlete.
    pub(crate) async fn add_athlete(&self, name: &str) -> AthleteId {
        let (tenant, athlete) = (self.tenant, self.athlete(name));
        let id = athlete.athlete_id;
        self.write(now(), move |conn, moment| {
            athletes::insert(conn, tenant, moment, AUTHOR, &[athlete])
        })
        .await
        .unwrap();
        id
    }

    /// Stores a new session report.
    pub(crate) async fn add_session(&self, session: Session, at: Timestamp) {
        let tenant = self.tenant;
        self.write(at, move |conn, moment| {
            sessions::insert(conn, tenant, moment, AUTHOR, &[session])
        })
        .await
        .unwrap();
    }
}

/// The suite's clock stands still.
pub(crate) fn now() -> Timestamp {
    "2026-11-09T06:00:00Z".parse().unwrap()
}

/// So many seconds after the clock.
pub(crate) fn later(seconds: i64) -> Timestamp {
    now() + jiff::SignedDuration::from_secs(seconds)
}
