//! What every case starts from.

use jiff::civil::{Date, date};
use jiff::{SignedDuration, Timestamp};
use plimsoll_api::clock::Clock;
use plimsoll_api::ids::{AthleteId, ClubId, EventId, Ids, ProgrammeId, SquadId};
use plimsoll_api::store::athletes::Athlete;
use plimsoll_api::store::directory::Entry;
use plimsoll_api::store::event_warm_ups::EventWarmUp;
use plimsoll_api::store::events::Event;
use plimsoll_api::store::exercises::ClubExercise;
use plimsoll_api::store::guardian_links::GuardianLink;
use plimsoll_api::store::injuries::Injury;
use plimsoll_api::store::memberships::Membership;
use plimsoll_api::store::pain_reports::PainReport;
use plimsoll_api::store::programme_assignments::Assignment;
use plimsoll_api::store::programmes::StoredProgramme;
use plimsoll_api::store::questions::Question;
use plimsoll_api::store::second_copies::SecondCopy;
use plimsoll_api::store::session_contacts::SessionContacts;
use plimsoll_api::store::sessions::Session;
use plimsoll_api::store::sign_offs::SignOff;
use plimsoll_api::store::squads::SquadContent;
use plimsoll_api::store::test_results::TestResult;
use plimsoll_api::store::{
    Author, Clubs, Conn, CopyDecision, EventStatus, MembershipRole, Moment, NameKey, Store,
    StoreError, Tenant, athletes, clubs, memberships, sessions, squads,
};
use plimsoll_api::testing::TestDatabase;
use plimsoll_domain::{
    Basis, Better, BodyArea, CountBasis, GivenBy, Kind, Phase, Setting, Side, TrialValue, Trials,
};

/// Makes three tests of each case: `sqlite::case`, `postgres::case`, and `unfiltered::case` on PostgreSQL with reads that leave the club
/// out (`TestDatabase::unfiltered`). Not the third of those behind `filtered:`, which read all clubs, look at the database past the
/// store, or write more rows than twins can be made of in time.
macro_rules! on_both_databases {
    ($($case:ident),* $(,)? $(; filtered: $($filtered:ident),+ $(,)?)?) => {
        mod sqlite {
            $crate::support::on_database!(sqlite: $($case,)* $($($filtered,)+)?);
        }

        mod postgres {
            $crate::support::on_database!(postgres: $($case,)* $($($filtered,)+)?);
        }

        mod unfiltered {
            $crate::support::on_database!(unfiltered: $($case,)*);
        }
    };
}
pub(crate) use on_both_databases;

macro_rules! on_database {
    ($database:ident: $($case:ident),* $(,)?) => {$(
        #[tokio::test]
        async fn $case() {
            let database = plimsoll_api::testing::TestDatabase::$database();
            super::$case($crate::support::Fixture::new(database).await).await;
        }
    )*};
}
pub(crate) use on_database;

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

    /// The same database seen as another club.
    pub(crate) async fn other_club(&self) -> Tenant {
        let tenant = Tenant::granted(self.id());
        self.add_club(tenant).await;
        tenant
    }

    async fn add_club(&self, tenant: Tenant) {
        self.store
            .write(tenant, move |conn| {
                clubs::insert(conn, tenant, "HSG Nordufer", "Europe/Berlin", now())
            })
            .await
            .unwrap();
    }

    pub(crate) fn id<I: From<uuid::Uuid>>(&self) -> I {
        I::from(self.ids.next(now()))
    }

    pub(crate) async fn read<T, F>(&self, work: F) -> T
    where
        T: Send + 'static,
        F: Fn(&mut Conn, Tenant) -> Result<T, StoreError> + Send + 'static,
    {
        let tenant = self.tenant;
        self.store
            .read(tenant, move |conn| work(conn, tenant))
            .await
            .unwrap()
    }

    /// A write of the fixture's club at an instant.
    pub(crate) async fn write<T, F>(&self, at: Timestamp, work: F) -> Result<T, StoreError>
    where
        T: Send + 'static,
        F: FnOnce(&mut Conn, Tenant, &mut Moment) -> Result<T, StoreError> + Send + 'static,
    {
        write_as(&self.store, self.tenant, at, work).await
    }

    pub(crate) fn athlete(&self, name: &str) -> Athlete {
        Athlete {
            athlete_id: self.id(),
            external_id: Some(format!("ext-{name}")),
            source: "roster".to_owned(),
            display_name: name.to_owned(),
            name_key: NameKey::of(name),
            birth_date: Some(date(2010, 3, 31)),
            joined_on: date(2026, 7, 1),
            time_zone: None,
        }
    }

    pub(crate) fn session(&self, athlete_id: AthleteId, load_date: Date) -> Session {
        Session {
            session_id: self.id(),
            athlete_id,
            source: "app".to_owned(),
            natural_key: format!("app-{athlete_id}-{load_date}"),
            external_id: Some(format!("app-{athlete_id}-{load_date}")),
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

    pub(crate) fn session_contacts(&self, session: &Session) -> SessionContacts {
        SessionContacts {
            session_id: session.session_id,
            athlete_id: session.athlete_id,
            both_feet: Some(61),
            left_foot: Some(51),
            right_foot: Some(51),
            loaded: Some(15),
            hands: None,
            throws: None,
            basis: CountBasis::Counted,
        }
    }

    pub(crate) fn test_result(&self, athlete_id: AthleteId, tested_on: Date) -> TestResult {
        TestResult {
            test_result_id: self.id(),
            athlete_id,
            test: "single_hop_distance".to_owned(),
            unit: "cm".to_owned(),
            better: Better::Higher,
            side: Side::Left,
            trials: trials(&[126_000, 128_500]),
            tested_on,
            tester: "Runa F.".to_owned(),
            phase: Phase::Post,
        }
    }

    pub(crate) fn injury(&self, athlete_id: AthleteId, injured_on: Date) -> Injury {
        Injury {
            injury_id: self.id(),
            athlete_id,
            side: Side::Left,
            injured_on,
            surgery_on: None,
        }
    }

    pub(crate) fn pain_report(&self, athlete_id: AthleteId, felt_on: Date) -> PainReport {
        PainReport {
            pain_report_id: self.id(),
            athlete_id,
            felt_on,
            area: Some(BodyArea::Knee),
            side: Some(Side::Left),
        }
    }

    pub(crate) fn exercise(&self) -> ClubExercise {
        ClubExercise {
            exercise_id: self.id(),
            code: "bench_hop".to_owned(),
            film_url: Some("https://films.example/bench-hop".to_owned()),
            content: Some(serde_json::json!({ "name": "Bench hop" })),
        }
    }

    pub(crate) fn warm_up(&self, event_id: EventId) -> EventWarmUp {
        EventWarmUp {
            event_id,
            minutes: 15,
            categories: serde_json::json!(["jump", "balance"]),
            feedback: true,
        }
    }

    pub(crate) fn programme(&self) -> StoredProgramme {
        StoredProgramme {
            programme_id: self.id(),
            name: "Summer".to_owned(),
            weeks: 26,
            content: serde_json::json!({ "name": "Summer", "blocks": [] }),
        }
    }

    pub(crate) fn assignment(
        &self,
        programme_id: ProgrammeId,
        athlete_id: AthleteId,
        from_date: Date,
    ) -> Assignment {
        Assignment {
            assignment_id: self.id(),
            programme_id,
            programme_version: 1,
            squad_id: None,
            athlete_id: Some(athlete_id),
            from_date,
            until_date: from_date,
            changes: serde_json::json!([]),
        }
    }

    pub(crate) fn sign_off(&self, athlete_id: AthleteId, signed_on: Date) -> SignOff {
        SignOff {
            sign_off_id: self.id(),
            athlete_id,
            exercise: "squat".to_owned(),
            signed_on,
            watched_by: "coach-3".to_owned(),
            watched_role: "coach".to_owned(),
            note: Some("Heels stay down.".to_owned().into()),
            reason: None,
        }
    }

    pub(crate) fn question(&self, athlete_id: AthleteId) -> Question {
        Question {
            question_id: self.id(),
            athlete_id,
            about: serde_json::json!({ "session_id": "a session" }),
            hurts: true,
            asked_by: "guardian".to_owned(),
            asked_at: now(),
            is_open: true,
            text: "Do I do both legs?".to_owned().into(),
            reply: None,
        }
    }

    pub(crate) fn second_copy(&self, athlete_id: AthleteId) -> SecondCopy {
        SecondCopy {
            second_copy_id: self.id(),
            athlete_id,
            of_athlete_id: athlete_id,
            decision: CopyDecision::SamePerson,
            carried: Some(serde_json::json!({"moved": {}})),
        }
    }

    pub(crate) fn guardian_link(&self, athlete_id: AthleteId, from_date: Date) -> GuardianLink {
        GuardianLink {
            guardian_link_id: self.id(),
            athlete_id,
            external_id: "G-11".to_owned(),
            from_date,
            to_date: None,
        }
    }

    pub(crate) fn directory_entry(&self, athlete_id: Option<AthleteId>) -> Entry {
        let entry_id = athlete_id.map_or_else(|| self.id(), |athlete_id| athlete_id.uuid().into());
        Entry {
            entry_id,
            athlete_id,
            squad_id: None,
            user_name: Some("Mara.Lind".to_owned()),
            user_name_key: Some("mara.lind".to_owned()),
            external_id: Some("d-11".to_owned()),
            display_name: Some("Mara Lind".to_owned()),
            roles: "coach".to_owned(),
            active: true,
        }
    }

    pub(crate) fn event(&self, load_date: Date, squads: &[SquadId]) -> Event {
        Event {
            event_id: self.id(),
            source: "hall".to_owned(),
            natural_key: "id:hall-1".to_owned(),
            external_id: Some("hall-1".to_owned()),
            setting: Setting::Club,
            kind: Kind::Practice,
            starts_at: format!("{load_date}T15:30:00Z").parse().unwrap(),
            utc_offset_seconds: 7_200,
            time_zone: Some("Europe/Berlin".to_owned()),
            load_date,
            minutes: 90,
            intended_rpe_half: Some(12),
            is_fixed: false,
            status: EventStatus::Planned,
            squads: squads.to_vec(),
            athletes: Vec::new(),
            calendar_id: None,
            uid: None,
            recurrence_id: None,
        }
    }

    pub(crate) fn membership(&self, athlete_id: AthleteId, squad_id: SquadId) -> Membership {
        Membership {
            membership_id: self.id(),
            squad_id,
            athlete_id,
            role: MembershipRole::Member,
            from_date: date(2026, 7, 1),
            to_date: None,
            is_primary: true,
        }
    }

    /// Stores a new athlete.
    pub(crate) async fn add_athlete(&self, name: &str) -> AthleteId {
        let athlete = self.athlete(name);
        let id = athlete.athlete_id;
        self.write(now(), move |conn, tenant, moment| {
            athletes::insert(conn, tenant, moment, AUTHOR, &[athlete])
        })
        .await
        .unwrap();
        id
    }

    /// Stores a new squad.
    pub(crate) async fn add_squad(&self, name: &str) -> SquadId {
        let squad_id = self.id();
        let external_id = Some(format!("ext-{name}"));
        let squad = SquadContent {
            squad_id,
            name: name.to_owned(),
            external_id,
        };
        self.write(now(), move |conn, tenant, moment| {
            squads::insert(conn, tenant, moment, &[squad])
        })
        .await
        .unwrap();
        squad_id
    }

    /// Stores a new session report.
    pub(crate) async fn add_session(&self, session: Session, at: Timestamp) {
        self.write(at, move |conn, tenant, moment| {
            sessions::insert(conn, tenant, moment, AUTHOR, &[session])
        })
        .await
        .unwrap();
    }

    /// Stores a new membership.
    pub(crate) async fn add_membership(&self, membership: Membership, at: Timestamp) {
        self.write(at, move |conn, tenant, moment| {
            memberships::insert(conn, tenant, moment, AUTHOR, &[membership])
        })
        .await
        .unwrap();
    }
}

/// A write of a club at an instant: lock, work, remember.
pub(crate) async fn write_as<T, F>(
    store: &Store,
    tenant: Tenant,
    at: Timestamp,
    work: F,
) -> Result<T, StoreError>
where
    T: Send + 'static,
    F: FnOnce(&mut Conn, Tenant, &mut Moment) -> Result<T, StoreError> + Send + 'static,
{
    write_of(store, tenant.into(), tenant, at, work).await
}

/// As [`write_as`], where rows of other clubs too may be touched.
pub(crate) async fn write_of<T, F>(
    store: &Store,
    clubs: Clubs,
    tenant: Tenant,
    at: Timestamp,
    work: F,
) -> Result<T, StoreError>
where
    T: Send + 'static,
    F: FnOnce(&mut Conn, Tenant, &mut Moment) -> Result<T, StoreError> + Send + 'static,
{
    store
        .write(clubs, move |conn| {
            let mut moment = clubs::lock(conn, tenant, Clock::Fixed(at))?;
            let value = work(conn, tenant, &mut moment)?;
            clubs::moment_save(conn, tenant, &moment)?;
            Ok(value)
        })
        .await
}

/// The suite's clock stands still.
pub(crate) fn now() -> Timestamp {
    "2026-11-09T06:00:00Z".parse().unwrap()
}

/// So many seconds after the clock.
pub(crate) fn later(seconds: i64) -> Timestamp {
    now() + SignedDuration::from_secs(seconds)
}

/// A day of September 2026.
pub(crate) fn september(day: i8) -> Date {
    date(2026, 9, day)
}

pub(crate) fn trials(thousandths: &[i64]) -> Trials {
    let trials = thousandths
        .iter()
        .map(|one| TrialValue::from_thousandths(*one));
    Trials::new(trials.collect::<Result<_, _>>().unwrap()).unwrap()
}
