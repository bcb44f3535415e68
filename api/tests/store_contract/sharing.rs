//! Links to other organisations, copies of what they share, and which consents share.

use jiff::civil::Date;
use plimsoll_api::ids::{AthleteId, LinkId};
use plimsoll_api::store::flags::{NewFlag, NewFlagVersion};
use plimsoll_api::store::shared_day_totals::{self, SharedTotal};
use plimsoll_api::store::sharing_links::{self, SharingLink};
use plimsoll_api::store::{Certainty, FlagState, Known, StoreError, Who, flags, shares};
use serde_json::json;

use crate::support::{Fixture, later, now, on_both_databases, september};

on_both_databases!(
    a_link_is_found_changed_and_paged,
    copies_are_read_as_they_were_known_and_leave_without_a_trace,
    a_share_is_due_when_the_club_has_changed,
    judgements_that_rested_on_copies_are_hidden,
);

/// A link with each field in use.
pub(crate) fn link(on: &Fixture, athlete_id: AthleteId) -> SharingLink {
    SharingLink {
        link_id: on.id(),
        athlete_id,
        organisation: "Fjordby Gymnastics".to_owned().into(),
        code_hash: vec![7; 32],
        code_until: later(99),
        made_at: now(),
        linked_at: None,
        linked_seq: None,
        ended_at: None,
        left_at: None,
        version: 1,
    }
}

/// A copy of a day.
pub(crate) fn copy(link: &SharingLink, date: Date, load_half: i64) -> SharedTotal {
    SharedTotal {
        link_id: link.link_id,
        athlete_id: link.athlete_id,
        date,
        load_half,
        minutes: 90,
    }
}

async fn add(on: &Fixture, link: &SharingLink) {
    let row = link.clone();
    on.write(now(), move |conn, tenant, _| {
        sharing_links::insert(conn, tenant, &row)
    })
    .await
    .unwrap();
}

async fn a_link_is_found_changed_and_paged(on: Fixture) {
    let (mara, ida) = (on.add_athlete("Mara").await, on.add_athlete("Ida").await);
    let rows = [link(&on, mara), link(&on, ida), link(&on, mara)];
    for row in &rows {
        add(&on, row).await;
    }
    let linked = SharingLink {
        linked_at: Some(later(3)),
        linked_seq: Some(12),
        ..rows[0].clone()
    };
    let change = linked.clone();
    on.write(later(3), move |conn, tenant, _| {
        sharing_links::update(conn, tenant, change)
    })
    .await
    .unwrap();
    let id = linked.link_id;
    let found = on
        .read(move |conn, tenant| sharing_links::find(conn, tenant, id))
        .await;
    let linked = SharingLink {
        version: 2,
        ..linked
    };
    assert_eq!(found.as_ref(), Some(&linked));
    let of = on.read(move |conn, tenant| sharing_links::of(conn, tenant, Who::Athletes(&[mara])));
    assert_eq!(of.await, [linked, rows[2].clone()]);
    let page = on.read(move |conn, tenant| sharing_links::page(conn, tenant, mara, Some(id), 9));
    assert_eq!(page.await, [rows[2].clone()]);
    let unknown = link(&on, mara);
    let missing = on.write(later(4), move |conn, tenant, _| {
        sharing_links::update(conn, tenant, unknown)
    });
    assert!(matches!(missing.await, Err(StoreError::NotFound)));
}

async fn copies_are_read_as_they_were_known_and_leave_without_a_trace(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let link = link(&on, mara);
    add(&on, &link).await;
    let id: LinkId = link.link_id;
    let append = async |at, copies: Vec<SharedTotal>, gone: Vec<Date>| {
        on.write(at, move |conn, tenant, moment| {
            shared_day_totals::append(conn, tenant, moment, id, (&copies, &gone))
        })
        .await
        .unwrap();
    };
    let (first, second) = (
        copy(&link, september(7), 900),
        copy(&link, september(8), 700),
    );
    append(later(1), vec![first, second], vec![]).await;
    let corrected = copy(&link, september(7), 950);
    append(later(5), vec![corrected], vec![september(8)]).await;
    let read = async |known| {
        on.read(move |conn, tenant| {
            let dates = (september(1), september(30));
            shared_day_totals::in_dates(conn, tenant, Who::WholeClub, dates, known)
        })
        .await
    };
    assert_eq!(read(Known::AsOf(now())).await, []);
    assert_eq!(read(Known::AsOf(later(4))).await, [first, second]);
    assert_eq!(read(Known::Now).await, [corrected]);
    let current = on.read(move |conn, tenant| shared_day_totals::of_link(conn, tenant, id));
    assert_eq!(current.await, [corrected]);
    assert_eq!(on.read(shared_day_totals::links).await, [id]);
    on.write(later(9), move |conn, tenant, _| {
        shared_day_totals::remove(conn, tenant, id)
    })
    .await
    .unwrap();
    assert_eq!(read(Known::AsOf(later(4))).await, []);
    assert_eq!(on.read(shared_day_totals::links).await, []);
}

async fn a_share_is_due_when_the_club_has_changed(on: Fixture) {
    let consent = on.id();
    on.write(now(), move |conn, tenant, moment| {
        shares::copied(conn, tenant, consent, moment.last_seq())
    })
    .await
    .unwrap();
    let due = async || on.read(|conn, _| shares::due(conn, 9)).await;
    assert_eq!(due().await, []);
    on.add_athlete("Mara").await;
    assert_eq!(due().await, [(on.tenant.club_id(), consent)]);
    on.write(later(9), move |conn, tenant, moment| {
        shares::copied(conn, tenant, consent, moment.last_seq())
    })
    .await
    .unwrap();
    assert_eq!(due().await, []);
    assert_eq!(on.read(shares::all).await, [consent]);
    on.write(later(10), move |conn, tenant, _| {
        shares::remove(conn, tenant, consent)
    })
    .await
    .unwrap();
    assert_eq!(on.read(shares::all).await, []);
}

async fn judgements_that_rested_on_copies_are_hidden(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let judge = async |at, rule: &'static str, state| {
        let id = on.id();
        on.write(at, move |conn, tenant, moment| {
            let wanted = NewFlag {
                flag_id: id,
                athlete_id: mara,
                rule: rule.to_owned(),
                monday: september(7),
            };
            let found = flags::find_or_create(conn, tenant, moment, &[wanted])?;
            let judgement = NewFlagVersion {
                flag_id: found[0].flag_id,
                state,
                certainty: Certainty::Certain,
                policy_version: 1,
                cause: "week_closed".to_owned(),
                body: json!({}),
            };
            flags::append(conn, tenant, moment, &[judgement])?;
            Ok((found[0].flag_id, moment.last_seq()))
        })
        .await
        .unwrap()
    };
    // One was raised before anything was shared, one only by what was shared, and one by what was shared and by her own load.
    let (own, linked) = judge(later(1), "own", FlagState::Raised).await;
    let (shared, _) = judge(later(2), "shared", FlagState::Raised).await;
    let (both, last) = judge(later(3), "both", FlagState::Raised).await;
    judge(later(4), "shared", FlagState::Withdrawn).await;
    judge(later(5), "both", FlagState::Raised).await;
    on.write(later(6), move |conn, tenant, moment| {
        flags::hide(conn, tenant, moment, mara, (linked, last))
    })
    .await
    .unwrap();
    let versions = async |flag| {
        let history = on
            .read(move |conn, tenant| flags::history(conn, tenant, flag))
            .await;
        history.iter().map(|one| one.version).collect::<Vec<_>>()
    };
    assert_eq!(versions(own).await, [1]);
    assert_eq!(versions(shared).await, [] as [i32; 0]);
    assert_eq!(versions(both).await, [2]);
    let in_weeks = on.read(move |conn, tenant| {
        let monday = september(7);
        flags::in_weeks(
            conn,
            tenant,
            Who::WholeClub,
            monday,
            monday,
            Known::AsOf(later(3)),
        )
    });
    let seen: Vec<_> = in_weeks
        .await
        .into_iter()
        .map(|one| one.flag.flag_id)
        .collect();
    assert_eq!(seen, [own]);
    assert!(
        on.read(move |conn, tenant| flags::current(conn, tenant, shared))
            .await
            .is_none()
    );
    // Judged again it is there again, after what is hidden.
    judge(later(7), "shared", FlagState::Raised).await;
    assert_eq!(versions(shared).await, [3]);
}
