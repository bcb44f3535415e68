//! What must be true of every simulation once it has come to rest.

use jiff::civil::Date;
use jiff::{SignedDuration, Timestamp, ToSpan};
use plimsoll_api::auth::tenant::Caller;
use plimsoll_api::error::Problem;
use plimsoll_api::services::{audit_chain, flags, write};
use plimsoll_api::store::flags::{self as stored, Judged};
use plimsoll_api::store::notices::deliveries::{self, Delivery, StoredNotice};
use plimsoll_api::store::notices::endpoints::{self, Endpoint};
use plimsoll_api::store::testing::number;
use plimsoll_api::store::weeks::{self, ClosedWeek};
use plimsoll_api::store::{Conn, DeliveryState, Known, NoticeKind, StoreError, Tenant, Who};
use plimsoll_domain::IsoWeek;

use crate::base::Club;
use crate::client::{Kind, Sent};
use crate::world::World;

/// Queries that count what must not be there.
const NOWHERE: [(&str, &str); 6] = [
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
         AND instr(replace(n.payload, '-', ''), lower(hex(v.flag_id))) > 0)",
    ),
    (
        "notices of corrections that there were not",
        "SELECT count(*) FROM notices n WHERE n.kind = 'week_corrected' AND NOT EXISTS (SELECT 1 FROM flag_versions v \
         JOIN flags f USING (club_id, flag_id) WHERE f.club_id = n.club_id AND f.monday = n.monday \
         AND v.received_at = n.created_at AND v.cause <> 'week_closed')",
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

/// What was there to be judged.
#[derive(Default, Clone, Copy)]
pub(crate) struct Found {
    pub(crate) closed: usize,
    pub(crate) late: usize,
    pub(crate) corrections: usize,
    pub(crate) notices: usize,
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

async fn count(world: &World, query: String) -> i64 {
    world
        .store
        .read(move |conn| number(conn, &query))
        .await
        .unwrap()
}

/// Each week from the club's first to the last that is due was closed once, in its order, never before its time, and is called
/// late when it was.
async fn check_weeks(world: &mut World, club: &Club, found: &mut Found) {
    let (tenant, zone) = (club.tenant, club.zone);
    let all = move |conn: &mut Conn| weeks::in_dates(conn, tenant, Date::MIN, Date::MAX);
    let closed: Vec<ClosedWeek> = world.store.read(all).await.unwrap();
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

/// Each notice has one delivery to each endpoint that took any, and each delivery has arrived or says why not.
async fn check_notices(world: &mut World, club: &Club, found: &mut Found) {
    let rows = outbox(world, club).await;
    for (notice, deliveries) in &rows.notices {
        found.notices += 1;
        found.corrections += usize::from(notice.kind == NoticeKind::WeekCorrected);
        let to = |endpoint| {
            deliveries
                .iter()
                .filter(|one| one.endpoint_id == endpoint)
                .count()
        };
        if notice.kind != NoticeKind::Test {
            assert_eq!(to(club.steady), 1, "{notice:?}");
            let disabled = rows.troubled.disabled_at.is_some();
            assert!(
                to(club.troubled) == 1 || disabled && to(club.troubled) == 0,
                "{notice:?}"
            );
        }
        for delivery in deliveries {
            let delivered = delivery.state == DeliveryState::Delivered;
            assert!(
                delivered || delivery.endpoint_id == club.troubled,
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
    world.store.snapshot(read).await.unwrap()
}

/// The last closed weeks, judged once more from what is stored, bring nothing new.
async fn judge_again(world: &World, tenant: Tenant) {
    let app = &world.machines[0].app;
    let caller = Caller::job(tenant, "weekly_close", app.clock.now());
    let judged = write::trial(app, caller, move |change| {
        let before = standing(change)?;
        let closed = weeks::in_dates(change.conn, tenant, Date::MIN, Date::MAX)?;
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
    let (tenant, all) = (change.tenant(), (Date::MIN, Date::MAX));
    stored::in_weeks(
        change.conn,
        tenant,
        Who::WholeClub,
        all.0,
        all.1,
        Known::Now,
    )
}

/// What was answered with success is there, once; what was refused is not; what was not answered is there once or not at all.
async fn check_writes(world: &World) {
    for sent in &world.sent {
        let effects = match sent.kind {
            Kind::Report => {
                let query = format!(
                    "SELECT count(*) FROM session_reports WHERE note = '{}'",
                    sent.key
                );
                count(world, query).await
            }
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
    world.store.read(find).await.unwrap().is_some()
}

/// The audit list is whole and has every read.
async fn check_audit(world: &World) {
    let mut reads = 0;
    for club in &world.clubs {
        let (tenant, key) = (club.tenant, world.key.clone());
        let verify = move |conn: &mut Conn| audit_chain::verify(conn, tenant, &key);
        let head = world.store.snapshot(verify).await.unwrap();
        reads += head.unwrap().number;
    }
    assert_eq!(
        reads,
        i64::try_from(world.done.reads).unwrap(),
        "reads in the audit list"
    );
}
