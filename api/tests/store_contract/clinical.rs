//! Licences, restrictions and clearance records.

use jiff::civil::Date;
use plimsoll_api::ids::AthleteId;
use plimsoll_api::store::clearances::{self, Clearance};
use plimsoll_api::store::licences::{self, Licence};
use plimsoll_api::store::restrictions::{self, Restriction};
use plimsoll_api::store::{
    Change, Decision, Known, RestrictedTo, StoreError, Tenant, Who, WrittenClearance,
};

use crate::support::{AUTHOR, Fixture, later, now, on_both_databases, september, write_as};

on_both_databases!(
    a_licence_holds_to_its_last_day,
    a_restriction_without_an_end_goes_on,
    restrictions_are_paged_by_id_and_read_as_they_were_known,
    decisions_are_listed_in_their_order,
    a_decision_needs_its_athlete_and_an_id_of_its_own,
);

/// A licence of the subject `trainer-1`.
pub(crate) fn licence(on: &Fixture, valid_until: Date) -> Licence {
    Licence {
        licence_id: on.id(),
        subject: "trainer-1".to_owned(),
        name: "Vera Holm".to_owned(),
        licence_type: "physiotherapist".to_owned(),
        valid_until,
    }
}

/// A restriction with each field in use.
pub(crate) fn restriction(on: &Fixture, athlete_id: AthleteId, from_date: Date) -> Restriction {
    Restriction {
        restriction_id: on.id(),
        athlete_id,
        from_date,
        until_date: None,
        review_date: september(28),
        availability: RestrictedTo::Limited,
        max_minutes: Some(60),
        max_week_au: Some(1_400),
        max_contacts: Some(40),
        no_games: true,
        no_jumps: false,
        no_throws: false,
        no_contact: true,
        instruction: Some("no jump throws".to_owned().into()),
        note: Some("for clinicians".to_owned().into()),
        written_clearance: Some(WrittenClearance::HeatIllness),
        reason: None,
    }
}

/// A decision about the athlete.
pub(crate) fn clearance(on: &Fixture, athlete_id: AthleteId, decided_on: Date) -> Clearance {
    Clearance {
        clearance_id: on.id(),
        athlete_id,
        restriction_id: Some(on.id()),
        decision: Decision::ReturnToSport,
        scope: "practice and games".to_owned().into(),
        name: "Vera Holm".to_owned(),
        licence_type: "physiotherapist".to_owned(),
        decided_on,
        document_reference: "folder 12".to_owned().into(),
    }
}

async fn a_licence_holds_to_its_last_day(on: Fixture) {
    let rows = [licence(&on, september(10)), licence(&on, september(20))];
    let [short, long] = rows.clone().map(|row| row.licence_id);
    on.write(now(), move |conn, tenant, moment| {
        licences::insert(conn, tenant, moment, AUTHOR, &rows)
    })
    .await
    .unwrap();
    let valid = async |subject: &'static str, date| {
        let found = on.read(move |conn, tenant| licences::valid(conn, tenant, subject, date));
        let found = found.await.into_iter();
        found.map(|row| row.content.licence_id).collect::<Vec<_>>()
    };
    assert_eq!(valid("trainer-1", september(10)).await, [long, short]);
    assert_eq!(valid("trainer-1", september(11)).await, [long]);
    assert_eq!(valid("trainer-1", september(21)).await, []);
    assert_eq!(valid("trainer-2", september(1)).await, []);
    let page = on
        .read(move |conn, tenant| licences::page(conn, tenant, Some(short), 9))
        .await;
    let removed = Change {
        replaces: 1,
        content: page[0].content.clone(),
        deleted: true,
    };
    assert_eq!((page.len(), removed.content.licence_id), (1, long));
    on.write(later(1), move |conn, tenant, moment| {
        licences::supersede(conn, tenant, moment, AUTHOR, &[removed])
    })
    .await
    .unwrap();
    assert_eq!(valid("trainer-1", september(10)).await, [short]);
}

async fn a_restriction_without_an_end_goes_on(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let open = restriction(&on, mara, september(5));
    let ended = Restriction {
        until_date: Some(september(7)),
        ..restriction(&on, mara, september(6))
    };
    let rows = [open.clone(), ended.clone()];
    on.write(now(), move |conn, tenant, moment| {
        restrictions::insert(conn, tenant, moment, AUTHOR, &rows)
    })
    .await
    .unwrap();
    for (from, to, expected) in [
        (1, 4, vec![]),
        (5, 5, vec![&open]),
        (7, 9, vec![&open, &ended]),
        (8, 30, vec![&open]),
    ] {
        let found = on
            .read(move |conn, tenant| {
                let (who, from, to) = (Who::Athletes(&[mara]), september(from), september(to));
                restrictions::in_dates(conn, tenant, who, from, to, Known::Now)
            })
            .await;
        let found: Vec<_> = found.iter().map(|row| &row.content).collect();
        assert_eq!(found, expected, "{from} to {to}");
    }
}

async fn restrictions_are_paged_by_id_and_read_as_they_were_known(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let rows = [5, 3, 4].map(|day| restriction(&on, mara, september(day)));
    let ids = rows.clone().map(|row| row.restriction_id);
    let stored = rows.clone();
    on.write(later(1), move |conn, tenant, moment| {
        restrictions::insert(conn, tenant, moment, AUTHOR, &stored)
    })
    .await
    .unwrap();
    let removed = Change {
        replaces: 1,
        content: rows[0].clone(),
        deleted: true,
    };
    on.write(later(5), move |conn, tenant, moment| {
        restrictions::supersede(conn, tenant, moment, AUTHOR, &[removed])
    })
    .await
    .unwrap();
    let page = async |after, limit| {
        let page = on.read(move |conn, tenant| {
            restrictions::page(conn, tenant, Who::WholeClub, after, limit)
        });
        let page = page.await.into_iter();
        page.map(|row| row.content.restriction_id)
            .collect::<Vec<_>>()
    };
    assert_eq!(page(None, 1).await, [ids[1]]);
    assert_eq!(page(Some(ids[1]), 9).await, [ids[2]]);
    for (known, count) in [
        (Known::AsOf(now()), 0),
        (Known::AsOf(later(4)), 3),
        (Known::Now, 2),
    ] {
        let found = on
            .read(move |conn, tenant| {
                let (from, to) = (september(1), september(30));
                restrictions::in_dates(conn, tenant, Who::WholeClub, from, to, known)
            })
            .await;
        assert_eq!(found.len(), count, "{known:?}");
    }
}

async fn decisions_are_listed_in_their_order(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let rows = [9, 7, 9].map(|day| clearance(&on, mara, september(day)));
    let ids = rows.clone().map(|row| row.clearance_id);
    for (row, at) in rows.clone().into_iter().zip(1..) {
        on.write(later(at), move |conn, tenant, moment| {
            clearances::append(conn, tenant, moment, AUTHOR, row)
        })
        .await
        .unwrap();
    }
    let known = async |state| {
        let found = on.read(move |conn, tenant| {
            clearances::known(conn, tenant, Who::Athletes(&[mara]), state)
        });
        found.await
    };
    let listed = known(Known::Now).await;
    let order: Vec<_> = listed.iter().map(|row| row.content.clearance_id).collect();
    assert_eq!(
        order,
        [ids[1], ids[0], ids[2]],
        "by the day, then as received"
    );
    assert_eq!(listed[1].content, rows[0]);
    assert_eq!(
        (listed[1].received_at, listed[1].author.as_str()),
        (later(1), "suite")
    );
    assert_eq!(known(Known::AsOf(later(2))).await.len(), 2);
    let page = on
        .read(move |conn, tenant| {
            clearances::page(conn, tenant, Who::Athletes(&[mara]), Some(ids[0]), 1)
        })
        .await;
    assert_eq!(page.len(), 1);
    assert_eq!(page[0].content.clearance_id, ids[1]);
}

async fn a_decision_needs_its_athlete_and_an_id_of_its_own(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let row = clearance(&on, mara, september(9));
    let append = |tenant: Tenant, row: Clearance| {
        write_as(&on.store, tenant, now(), move |conn, tenant, moment| {
            clearances::append(conn, tenant, moment, AUTHOR, row)
        })
    };
    append(on.tenant, row.clone()).await.unwrap();
    let twice = append(on.tenant, row.clone()).await;
    assert!(matches!(twice, Err(StoreError::Conflict)), "{twice:?}");
    let foreign = append(on.other_club().await, row).await;
    assert!(matches!(foreign, Err(StoreError::Reference)), "{foreign:?}");
}
