//! Results of tests, and the injuries they are read against.

use plimsoll_api::store::{Known, Who, injuries, test_results};

use crate::support::{AUTHOR, Fixture, later, now, on_both_databases, september};

on_both_databases!(
    results_up_to_a_day_come_by_day_and_as_they_were_known,
    injuries_up_to_a_day_come_by_day,
    results_and_injuries_are_paged_by_id,
);

async fn results_up_to_a_day_come_by_day_and_as_they_were_known(on: Fixture) {
    let (mara, nina) = (on.add_athlete("Mara").await, on.add_athlete("Nina").await);
    let rows = [9, 3, 6].map(|day| on.test_result(mara, september(day)));
    let mut stored = rows.to_vec();
    stored.push(on.test_result(nina, september(4)));
    on.write(now(), move |conn, tenant, moment| {
        test_results::insert(conn, tenant, moment, AUTHOR, &stored)
    })
    .await
    .unwrap();
    let (found, before) = on
        .read(move |conn, tenant| {
            let (who, to) = (Who::Athletes(&[mara]), september(8));
            Ok((
                test_results::until(conn, tenant, who, to, Known::Now)?,
                test_results::until(conn, tenant, who, to, Known::AsOf(later(-1)))?,
            ))
        })
        .await;
    let found: Vec<_> = found.into_iter().map(|row| row.content).collect();
    assert_eq!(found, [rows[1].clone(), rows[2].clone()]);
    assert!(before.is_empty());
}

async fn injuries_up_to_a_day_come_by_day(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let rows = [9, 3, 6].map(|day| on.injury(mara, september(day)));
    let stored = rows.to_vec();
    on.write(now(), move |conn, tenant, moment| {
        injuries::insert(conn, tenant, moment, AUTHOR, &stored)
    })
    .await
    .unwrap();
    let found = on
        .read(move |conn, tenant| {
            injuries::until(
                conn,
                tenant,
                Who::Athletes(&[mara]),
                september(8),
                Known::Now,
            )
        })
        .await;
    let found: Vec<_> = found.into_iter().map(|row| row.content).collect();
    assert_eq!(found, [rows[1].clone(), rows[2].clone()]);
}

async fn results_and_injuries_are_paged_by_id(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let results = [1, 2, 3, 4].map(|day| on.test_result(mara, september(day)));
    let hurt = [1, 2, 3, 4].map(|day| on.injury(mara, september(day)));
    let (stored, also) = (results.clone(), hurt.clone());
    on.write(now(), move |conn, tenant, moment| {
        test_results::insert(conn, tenant, moment, AUTHOR, &stored)?;
        injuries::insert(conn, tenant, moment, AUTHOR, &also)
    })
    .await
    .unwrap();
    let (first_result, first_injury) = (results[0].test_result_id, hurt[0].injury_id);
    let (tested, injured) = on
        .read(move |conn, tenant| {
            let (who, dates) = (Who::WholeClub, (september(1), september(3)));
            Ok((
                test_results::page(conn, tenant, who, dates, Some(first_result), 9)?,
                injuries::page(conn, tenant, who, dates, Some(first_injury), 1)?,
            ))
        })
        .await;
    let tested: Vec<_> = tested.into_iter().map(|row| row.content).collect();
    assert_eq!(tested, results[1..3]);
    let injured: Vec<_> = injured.into_iter().map(|row| row.content).collect();
    assert_eq!(injured, hurt[1..2]);
}
