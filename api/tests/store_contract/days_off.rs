//! Rest days and absences.

use plimsoll_api::store::absences::{self, Absence};
use plimsoll_api::store::rest_days::{self, RestDay};
use plimsoll_api::store::{AbsenceCategory, Change, Known, StoreError, Who};
use plimsoll_domain::GivenBy;

use crate::support::{AUTHOR, Fixture, later, now, on_both_databases, september};

on_both_databases!(
    a_rest_day_is_declared_once,
    rest_days_of_a_span,
    an_absence_is_found_by_any_of_its_days,
    absences_are_paged_by_id,
);

async fn a_rest_day_is_declared_once(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let rest = |rest_day_id| RestDay {
        rest_day_id,
        athlete_id: mara,
        date: september(6),
        given_by: GivenBy::Guardian,
    };
    let insert = |row: RestDay, at| {
        on.write(at, move |conn, tenant, moment| {
            rest_days::insert(conn, tenant, moment, AUTHOR, &[row])
        })
    };
    let first = rest(on.id());
    insert(first.clone(), now()).await.unwrap();
    let id = first.rest_day_id;
    let found = on
        .read(move |conn, tenant| rest_days::current(conn, tenant, id))
        .await
        .unwrap();
    assert_eq!(found.content, first);
    let twice = insert(rest(on.id()), now()).await;
    assert!(matches!(twice, Err(StoreError::Conflict)), "{twice:?}");

    let change = Change {
        replaces: 1,
        content: first,
        deleted: true,
    };
    on.write(later(1), move |conn, tenant, moment| {
        rest_days::supersede(conn, tenant, moment, AUTHOR, &[change])
    })
    .await
    .unwrap();
    insert(rest(on.id()), later(2)).await.unwrap();
}

async fn rest_days_of_a_span(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let rows: Vec<_> = [9, 3, 6]
        .map(|day| RestDay {
            rest_day_id: on.id(),
            athlete_id: mara,
            date: september(day),
            given_by: GivenBy::Athlete,
        })
        .to_vec();
    let stored = rows.clone();
    on.write(now(), move |conn, tenant, moment| {
        rest_days::insert(conn, tenant, moment, AUTHOR, &stored)
    })
    .await
    .unwrap();
    let (found, page, before) = on
        .read(move |conn, tenant| {
            let (who, from, to) = (Who::Athletes(&[mara]), september(3), september(6));
            Ok((
                rest_days::in_dates(conn, tenant, who, from, to, Known::Now)?,
                rest_days::page(conn, tenant, Who::WholeClub, (from, september(9)), None, 2)?,
                rest_days::in_dates(conn, tenant, who, from, to, Known::AsOf(later(-1)))?,
            ))
        })
        .await;
    let days = |found: Vec<plimsoll_api::store::Versioned<RestDay>>| {
        found.into_iter().map(|day| day.content).collect::<Vec<_>>()
    };
    assert_eq!(days(found), [rows[1].clone(), rows[2].clone()]);
    assert_eq!(days(page), rows[..2]);
    assert!(before.is_empty());
}

fn absence(on: &Fixture, athlete_id: plimsoll_api::ids::AthleteId, from: i8, to: i8) -> Absence {
    Absence {
        absence_id: on.id(),
        athlete_id,
        from_date: september(from),
        to_date: september(to),
        category: AbsenceCategory::Exams,
        given_by: GivenBy::Coach,
    }
}

async fn an_absence_is_found_by_any_of_its_days(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let row = absence(&on, mara, 10, 23);
    let stored = row.clone();
    on.write(now(), move |conn, tenant, moment| {
        absences::insert(conn, tenant, moment, AUTHOR, &[stored])
    })
    .await
    .unwrap();
    let mut found = Vec::new();
    for (from, to) in [(1, 9), (1, 10), (12, 15), (23, 30), (24, 30), (1, 30)] {
        let span = on
            .read(move |conn, tenant| {
                let (from, to) = (september(from), september(to));
                absences::in_dates(conn, tenant, Who::Athletes(&[mara]), from, to, Known::Now)
            })
            .await;
        assert!(span.iter().all(|absence| absence.content == row));
        found.push(span.len());
    }
    assert_eq!(found, [0, 1, 1, 1, 0, 1]);
}

async fn absences_are_paged_by_id(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let rows: Vec<_> = AbsenceCategory::ALL
        .iter()
        .map(|category| Absence {
            category: *category,
            ..absence(&on, mara, 3, 4)
        })
        .collect();
    let stored = rows.clone();
    on.write(now(), move |conn, tenant, moment| {
        absences::insert(conn, tenant, moment, AUTHOR, &stored)
    })
    .await
    .unwrap();
    let second = rows[1].absence_id;
    let page = on
        .read(move |conn, tenant| {
            let span = (september(4), september(4));
            absences::page(conn, tenant, Who::WholeClub, span, Some(second), 2)
        })
        .await;
    assert_eq!(
        page.into_iter().map(|row| row.content).collect::<Vec<_>>(),
        rows[2..4]
    );
}
