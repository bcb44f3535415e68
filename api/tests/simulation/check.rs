//! What must be true of every simulation once it has come to rest.

use jiff::civil::Date;
use jiff::{SignedDuration, Timestamp, ToSpan};
use plimsoll_api::auth::tenant::Caller;
use plimsoll_api::error::Problem;
use plimsoll_api::services::{audit_chain, flags, write};
use plimsoll_api::store::flags::{self as stored, Judged};
use plimsoll_api::store::notices::deliveries::{self, Delivery, StoredNotice};
use plimsoll_api::store::notices::endpoints::{self, Endpoint};
use plimsoll_api::store::sessions;
use plimsoll_api::store::testing::number;
use plimsoll_api::store::weeks::{self, ClosedWeek};
use plimsoll_api::store::{Clubs, Conn, DeliveryState, Known, NoticeKind, StoreError, Tenant, Who};
use plimsoll_domain::IsoWeek;

use crate::base::{Club, LOOK_AHEAD};
use crate::client::{Kind, Sent};
use crate::world::World;

/// Queries that count what must not be there.
const NOWHERE: [(&str, &str); 10] = [
    (
        "closed weeks without exactly one notice of their moment",
        "SELECT count(*) FROM closed_weeks w WHERE 1 <> (SELECT count(*) FROM notices n WHERE n.club_id = w.club_id \
         AND n.monday = w.monday AND n.kind = 'week_closed' AND n.created_at = w.closed_at)",
    ),
    (
        "notices of weeks that are not closed",
        "SELECT count(*) FROM notices n WHERE n.kind IN ('week_closed', 'week_corrected') AND NOT EXISTS \
         (SELECT 1 FROM closed_weeks w WHERE w.club_id = n.club_id AND w.monday = n.monday)",
    ),
    (
        "corrections of a flag without as many notices of their moment that name it",
        "SELECT count(*) FROM (SELECT club_id, flag_id, monday, received_at, count(*) AS corrected FROM flag_versions \
         JOIN flags USING (club_id, flag_id) WHERE cause <> 'week_closed' GROUP BY club_id, flag_id, monday, received_at) v \
         WHERE corrected <> (SELECT count(*) FROM notices n WHERE n.club_id = v.club_id AND n.monday = v.monday \
         AND n.kind = 'week_corrected' AND n.created_at = v.received_at \
         AND payload_names(v.flag_id))",
    ),
    (
        "notices of corrections that there were not",
        "SELECT count(*) FROM notices n WHERE n.kind = 'week_corrected' AND NOT EXISTS (SELECT 1 FROM flag_versions v \
         JOIN flags f USING (club_id, flag_id) WHERE f.club_id = n.club_id AND f.monday = n.monday \
         AND v.received_at = n.created_at AND v.cause <> 'week_closed')",
    ),
    (
        "look-aheads without exactly one notice of their moment",
        "SELECT count(*) FROM look_aheads l WHERE 1 <> (SELECT count(*) FROM notices n WHERE n.club_id = l.club_id \
         AND n.monday = l.monday AND n.kind = 'look_ahead' AND n.created_at = l.made_at)",
    ),
    (
        "notices of look-aheads that there were not",
        "SELECT count(*) FROM notices n WHERE n.kind = 'look_ahead' AND NOT EXISTS \
         (SELECT 1 FROM look_aheads l WHERE l.club_id = n.club_id AND l.monday = n.monday)",
    ),
    (
        "endpoints disabled for their failures without exactly one notice",
        "SELECT count(*) FROM notice_endpoints e WHERE e.disabled_at IS NOT NULL AND 1 <> (SELECT count(*) FROM notices n \
         WHERE n.club_id = e.club_id AND n.kind = 'endpoint_disabled' \
         AND payload_names(e.endpoint_id))",
    ),
    (
        "notices of endpoints that are not disabled",
        "SELECT count(*) FROM notices n WHERE n.kind = 'endpoint_disabled' AND NOT EXISTS (SELECT 1 FROM notice_endpoints e \
         WHERE e.club_id = n.club_id AND e.disabled_at IS NOT NULL \
         AND payload_names(e.endpoint_id))",
    ),
    (
        "rows without a club",
        "SELECT count(*) FROM deliveries WHERE club_id NOT IN (SELECT club_id FROM clubs)",
    ),
    (
        "deliveries that are over or pending without a reason that is shown",
        "SELECT count(*) FROM deliveries d JOIN notice_endpoints e USING (club_id, endpoint_id) \
         WHERE d.state IN ('failed', 'disabled') AND e.disabled_at IS NULL AND (d.state = 'disabled' OR d.attempts < 10)",
    ),
];

/// All dates that a simulation can reach; PostgreSQL has fewer than the calendar.
const EVER: (Date, Date) = (Date::constant(2000, 1, 1), Date::constant(4000, 1, 1));

/// What was there to be judged.
#[derive(Default, Clone, Copy)]
pub(crate) struct Found {
    pub(crate) closed: usize,
    pub(crate) late: usize,
    pub(crate) corrections: usize,
    pub(crate) notices: usize,
    pub(crate) letters: usize,
    pub(crate) ahead: usize,
    pub(crate) disabled: usize,
    pub(crate) writes: usize,
}

pub(crate) async fn check(world: &mut World) -> Found {
    let mut found = Found::default();
    for (what, query) in NOWHERE {
        assert_eq!(count(world, query.to_owned()).await, 0, "{what}");
    }
    for club in world.clubs.clone() {
        check_weeks(world, &club, &mut found).await;
        check_notices(world, &club, &mut found).await;
        judge_again(world, club.tenant).await;
    }
    check_writes(world).await;
    check_audit(world).await;
    found.writes = world.sent.iter().filter(|sent| sent.succeeded()).count();
    found
}

async fn count(world: &World, mut query: String) -> i64 {
    for id in ["v.flag_id", "e.endpoint_id"] {
        query = query.replace(
            &format!("payload_names({id})"),
            &world.database.payload_names(id),
        );
    }
    world
        .store
        .read(Clubs::Every, move |conn| number(conn, &query))
        .await
        .unwrap()
}

/// Each week from the club's first to the last that is due was closed once, in its order, never before its time, and is called
/// late when it was.
async fn check_weeks(world: &mut World, club: &Club, found: &mut Found) {
    let (tenant, zone) = (club.tenant, club.zone);
    let all = move |conn: &mut Conn| weeks::in_dates(conn, tenant, EVER.0, EVER.1);
    let closed: Vec<ClosedWeek> = world.store.read(tenant, all).await.unwrap();
    let due = |monday: Date| -> Timestamp {
        let at = monday.saturating_add(7.days()).at(7, 0, 0, 0);
        at.in_tz(zone).unwrap().timestamp()
    };
    let mut monday = IsoWeek::of(world.begin.in_tz(zone).unwrap().date())
        .unwrap()
        .monday();
    let (mut seq, mut at) = (0, Timestamp::MIN);
    for week in &closed {
        assert_eq!(week.monday, monday, "a week was passed over");
        assert!(
            week.closed_at >= due(monday),
            "{monday} was closed too early"
        );
        let late = week.closed_at > due(monday) + SignedDuration::from_hours(1);
        assert_eq!(week.late, late, "{monday}");
        assert!(
            week.seq > seq && week.closed_at >= at,
            "{monday} out of order"
        );
        (seq, at) = (week.seq, week.closed_at);
        monday = monday.saturating_add(7.days());
    }
    assert!(
        due(monday) > world.now,
        "{monday} is due and was not closed"
    );
    found.closed += closed.len();
    found.late += closed.iter().filter(|week| week.late).count();
    world.trace.note(format!("{closed:?}"));
}

/// Each notice has the deliveries it must have, and each delivery has arrived or says why not.
async fn check_notices(world: &mut World, club: &Club, found: &mut Found) {
    let rows = outbox(world, club).await;
    for (notice, deliveries) in &rows.notices {
        found.notices += 1;
        found.corrections += usize::from(notice.kind == NoticeKind::WeekCorrected);
        found.ahead += usize::from(notice.kind == NoticeKind::LookAhead);
        found.disabled += usize::from(notice.kind == NoticeKind::EndpointDisabled);
        check_addressees(club, &rows, notice, deliveries);
        check_moment(club, notice);
        for delivery in deliveries {
            let delivered = delivery.state == DeliveryState::Delivered;
            let by_mail = delivery.endpoint_id == club.mail;
            found.letters += usize::from(by_mail);
            let given_up = by_mail && delivery.attempts == 10;
            assert!(
                delivered || given_up || delivery.endpoint_id == club.troubled,
                "{delivery:?}"
            );
            assert!(
                !delivered || world.receivers.has(delivery.delivery_id),
                "{delivery:?} never arrived"
            );
            assert!(delivery.state != DeliveryState::Pending, "{delivery:?}");
        }
        world.trace.note(format!("{notice:?} {deliveries:?}"));
    }
}

/// Each webhook is told once, unless it was disabled, and so is who gets mail; a correction may be told in a letter that is still
/// on its way.
fn check_addressees(club: &Club, rows: &Outbox, notice: &StoredNotice, deliveries: &[Delivery]) {
    let to = |endpoint| {
        deliveries
            .iter()
            .filter(|one| one.endpoint_id == endpoint)
            .count()
    };
    let (webhooks, letters) = match notice.kind {
        NoticeKind::Test | NoticeKind::Challenge | NoticeKind::QuestionAsked => return,
        NoticeKind::WeekClosed | NoticeKind::LookAhead => (1, 1..=1),
        NoticeKind::WeekCorrected => (1, 0..=1),
        NoticeKind::EndpointDisabled => (0, 1..=1),
    };
    assert_eq!(to(club.steady), webhooks, "{notice:?}");
    let disabled = rows.troubled.disabled_at.is_some();
    assert!(
        to(club.troubled) == webhooks || disabled && to(club.troubled) == 0,
        "{notice:?}"
    );
    assert!(letters.contains(&to(club.mail)), "{notice:?}");
    if notice.kind == NoticeKind::WeekCorrected && is_told(club, notice) {
        let all = rows
            .notices
            .iter()
            .filter(|(one, _)| one.monday == notice.monday);
        let letters = all.flat_map(|(_, deliveries)| deliveries);
        let mut letters = letters.filter(|one| one.endpoint_id == club.mail);
        assert!(
            letters.any(|letter| as_of(letter) >= notice.created_at),
            "no letter tells {notice:?}"
        );
    }
}

/// Whether a correction is told by mail: for so long everybody may enter reports.
fn is_told(club: &Club, correction: &StoredNotice) -> bool {
    let on = correction.created_at.in_tz(club.zone).unwrap().date();
    on <= correction.monday.saturating_add((6 + 14).days())
}

/// The instant that a letter tells of.
fn as_of(letter: &Delivery) -> Timestamp {
    let body: serde_json::Value = serde_json::from_str(&letter.body).unwrap();
    body["as_of"].as_str().unwrap().parse().unwrap()
}

/// A look-ahead was made between its time and the end of its week.
fn check_moment(club: &Club, notice: &StoredNotice) {
    if notice.kind != NoticeKind::LookAhead {
        return;
    }
    let made = notice.created_at.in_tz(club.zone).unwrap().datetime();
    let thursday = notice.monday.saturating_add(3.days());
    let hour = i8::try_from(LOOK_AHEAD).unwrap();
    let over = notice.monday.saturating_add(7.days()).at(0, 0, 0, 0);
    assert!(
        thursday.at(hour, 0, 0, 0) <= made && made < over,
        "{notice:?}"
    );
}

struct Outbox {
    notices: Vec<(StoredNotice, Vec<Delivery>)>,
    troubled: Endpoint,
}

async fn outbox(world: &World, club: &Club) -> Outbox {
    let (tenant, troubled) = (club.tenant, club.troubled);
    let read = move |conn: &mut Conn| -> Result<Outbox, StoreError> {
        let notices = deliveries::notices_page(conn, tenant, None, 1_000_000)?;
        let with_deliveries = |notice: StoredNotice| {
            let of_notice = deliveries::of_notice(conn, tenant, notice.notice_id)?;
            Ok((notice, of_notice))
        };
        Ok(Outbox {
            notices: notices
                .into_iter()
                .map(with_deliveries)
                .collect::<Result<_, StoreError>>()?,
            troubled: endpoints::find(conn, tenant, troubled)?.ok_or(StoreError::NotFound)?,
        })
    };
    world.store.read(tenant, read).await.unwrap()
}

/// The last closed weeks, judged once more from what is stored, bring nothing new.
async fn judge_again(world: &World, tenant: Tenant) {
    let app = &world.machines[0].app;
    let caller = Caller::job(tenant, "weekly_close", app.clock.now());
    let judged = write::trial(app, caller, move |change| {
        let before = standing(change)?;
        let closed = weeks::in_dates(change.conn, tenant, EVER.0, EVER.1)?;
        for week in closed.iter().rev().take(6) {
            let week = IsoWeek::of(week.monday).map_err(|error| Problem::internal(&error))?;
            flags::judge_closed(change, week)?;
        }
        Ok::<_, Problem>((before, standing(change)?))
    });
    let (before, after) = judged.await.unwrap();
    let news: Vec<_> = after.iter().filter(|one| !before.contains(one)).collect();
    assert!(
        news.is_empty(),
        "flags that are not what their inputs say: {news:#?}, of {before:#?}"
    );
}

fn standing(change: &mut write::Change<'_>) -> Result<Vec<Judged>, StoreError> {
    let (tenant, all) = (change.tenant(), EVER);
    stored::in_weeks(
        change.conn,
        tenant,
        Who::WholeClub,
        all.0,
        all.1,
        Known::Now,
    )
}

/// The note of each version of each report of a club, which is the key that it was sent with.
async fn notes(world: &World, tenant: Tenant) -> Vec<String> {
    let read = move |conn: &mut Conn| {
        let (from, to) = EVER;
        let reports = sessions::in_dates(conn, tenant, Who::WholeClub, from, to, Known::Now)?;
        let versions = reports.into_iter();
        let versions = versions.map(|one| sessions::history(conn, tenant, one.content.session_id));
        versions.collect::<Result<Vec<_>, StoreError>>()
    };
    let found = world.store.read(tenant, read).await.unwrap();
    let versions = found.into_iter().flatten();
    let notes = versions.filter_map(|one| one.content.note.as_deref().map(str::to_owned));
    notes.collect()
}

/// What was answered with success is there, once; what was refused is not; what was not answered is there once or not at all.
async fn check_writes(world: &World) {
    let mut noted = Vec::new();
    for club in &world.clubs {
        noted.push((club.tenant, notes(world, club.tenant).await));
    }
    let reports = |sent: &Sent| {
        let of_club = noted.iter().filter(|(tenant, _)| *tenant == sent.tenant);
        let notes = of_club.flat_map(|(_, notes)| notes);
        i64::try_from(notes.filter(|note| **note == *sent.key).count()).unwrap()
    };
    for sent in &world.sent {
        let effects = match sent.kind {
            Kind::Report => reports(sent),
            Kind::TestNotice(_) => i64::from(notice_is_there(world, sent).await),
        };
        let expected = match &sent.answer {
            Some(_) if sent.succeeded() => 1..=1,
            Some(_) => 0..=0,
            None => 0..=1,
        };
        assert!(
            expected.contains(&effects),
            "{}: {effects} effects",
            sent.key
        );
    }
    let tests = count(
        world,
        "SELECT count(*) FROM notices WHERE kind = 'test'".to_owned(),
    )
    .await;
    let of = |answered: bool| {
        let tests = world
            .sent
            .iter()
            .filter(|sent| matches!(sent.kind, Kind::TestNotice(_)));
        let sent = tests.filter(|sent| sent.succeeded() || !answered && sent.answer.is_none());
        i64::try_from(sent.count()).unwrap()
    };
    assert!(
        (of(true)..=of(false)).contains(&tests),
        "{tests} notices to try an endpoint"
    );
}

async fn notice_is_there(world: &World, sent: &Sent) -> bool {
    let (tenant, Some(id)) = (sent.tenant, sent.notice()) else {
        return false;
    };
    let find = move |conn: &mut Conn| deliveries::find_notice(conn, tenant, id);
    world.store.read(tenant, find).await.unwrap().is_some()
}

/// The audit list is whole and has every read.
async fn check_audit(world: &World) {
    let mut reads = 0;
    for club in &world.clubs {
        let (tenant, key) = (club.tenant, world.key.clone());
        let verify = move |conn: &mut Conn| audit_chain::verify(conn, tenant, &key, &[]);
        let head = world.store.read(tenant, verify).await.unwrap();
        reads += head.unwrap().number;
    }
    assert_eq!(
        reads,
        i64::try_from(world.done.reads).unwrap(),
        "reads in the audit list"
    );
}
