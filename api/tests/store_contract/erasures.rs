//! Erasing what is kept of an athlete, by classes of records.

use plimsoll_api::ids::AthleteId;
use plimsoll_api::store::erasures::{self, Erasure};
use plimsoll_api::store::subject_records::catalogue::{Erasing, tables};
use plimsoll_api::store::subject_records::{self, Counts, Records};
use plimsoll_api::store::{Clubs, ErasureReason, StoreError, idempotency, withheld_weeks};
use plimsoll_domain::RecordClass;
use serde_json::{Value, json};

use crate::support::{Fixture, later, now, on_both_databases, september};
use crate::tenancy::{Everything, everything, store_all};

on_both_databases!(
    all_classes_leave_nothing_but_what_stays,
    one_class_leaves_the_others_alone,
    who_is_still_referred_to_stays,
    what_belongs_to_others_too_is_freed_of_her,
    kept_answers_go_and_their_work_stays_done,
    closed_weeks_are_marked;
    filtered:
    unfinished_erasures_are_found_until_they_are_done,
);

async fn stored(on: &Fixture) -> (Everything, AthleteId) {
    let all = everything(on);
    let rows = all.clone();
    on.write(now(), move |conn, tenant, moment| {
        store_all(conn, tenant, moment, &rows)
    })
    .await
    .unwrap();
    let ida = on.add_athlete("Ida").await;
    on.add_session(on.session(ida, september(7)), now()).await;
    (all, ida)
}

async fn erase(
    on: &Fixture,
    athlete_id: AthleteId,
    classes: &'static [RecordClass],
) -> Result<Counts, StoreError> {
    on.write(later(5), move |conn, tenant, _| {
        subject_records::erase(conn, tenant, athlete_id, classes)
    })
    .await
}

async fn copy(on: &Fixture, athlete_id: AthleteId) -> Vec<Records> {
    on.read(move |conn, tenant| subject_records::read(conn, tenant, athlete_id))
        .await
}

fn filled(copy: &[Records]) -> Vec<&'static str> {
    let filled = copy.iter().filter(|records| !records.rows.is_empty());
    filled.map(|records| records.table).collect()
}

async fn all_classes_leave_nothing_but_what_stays(on: Fixture) {
    let (all, ida) = stored(&on).await;
    let mara = all.athlete.athlete_id;
    let (before, of_ida) = (copy(&on, mara).await, copy(&on, ida).await);
    let counts = erase(&on, mara, RecordClass::ALL).await.unwrap();
    for records in &before {
        let table = tables().find(|table| table.name == records.table).unwrap();
        let expected = match table.erasing {
            Erasing::Deleted => records.rows.len(),
            Erasing::TakenOut(..) | Erasing::Stays(_) => 0,
        };
        let counted = counts.get(records.table).copied().unwrap_or(0);
        assert_eq!(counted, expected, "{}", records.table);
    }
    assert_eq!(filled(&copy(&on, mara).await), ["audit_reads"]);
    assert_eq!(copy(&on, ida).await, of_ida);
    let again = erase(&on, mara, RecordClass::ALL).await.unwrap();
    assert_eq!(again, Counts::new());
}

async fn one_class_leaves_the_others_alone(on: Fixture) {
    let (all, _) = stored(&on).await;
    let mara = all.athlete.athlete_id;
    let before = copy(&on, mara).await;
    let counts = erase(&on, mara, &[RecordClass::Clinical]).await.unwrap();
    let clinical = [
        "clearance_records",
        "idempotency_keys",
        "injuries",
        "pain_reports",
        "questions",
        "restrictions",
        "test_results",
    ];
    assert_eq!(counts.into_keys().collect::<Vec<_>>(), clinical);
    for (before, after) in before.iter().zip(copy(&on, mara).await) {
        if clinical.contains(&before.table) {
            assert_eq!(after.rows, Vec::<Vec<Value>>::new());
        } else {
            assert_eq!(before, &after);
        }
    }
}

async fn who_is_still_referred_to_stays(on: Fixture) {
    let (all, _) = stored(&on).await;
    let mara = all.athlete.athlete_id;
    let refused = erase(&on, mara, &[RecordClass::Identity]).await;
    assert!(matches!(refused, Err(StoreError::Reference)), "{refused:?}");
    assert!(filled(&copy(&on, mara).await).len() > 20);
}

async fn what_belongs_to_others_too_is_freed_of_her(on: Fixture) {
    let (all, ida) = stored(&on).await;
    let mara = all.athlete.athlete_id;
    let mut event = on.event(september(9), &[]);
    let mut athletes = vec![mara, ida];
    athletes.sort_unstable();
    event.athletes = athletes;
    (event.natural_key, event.external_id) = ("id:hall-2".to_owned(), None);
    let id = event.event_id;
    on.write(now(), move |conn, tenant, moment| {
        let author = crate::support::AUTHOR;
        plimsoll_api::store::events::insert(conn, tenant, moment, author, &[event])
    })
    .await
    .unwrap();
    assert!(filled(&copy(&on, mara).await).contains(&"events"));
    let counts = erase(&on, mara, RecordClass::ALL).await.unwrap();
    assert_eq!(counts["events"], 1);
    let event = on
        .read(move |conn, tenant| plimsoll_api::store::events::current(conn, tenant, id))
        .await
        .unwrap();
    assert_eq!(event.content.athletes, [ida]);
}

async fn kept_answers_go_and_their_work_stays_done(on: Fixture) {
    let (all, _) = stored(&on).await;
    let refusal = idempotency::StoredAnswer {
        key_hash: vec![7],
        status: 422,
        ..all.answer.clone()
    };
    on.write(now(), move |conn, tenant, _| {
        idempotency::insert(conn, tenant, &refusal)
    })
    .await
    .unwrap();
    let counts = erase(&on, all.athlete.athlete_id, &[RecordClass::AccessTrail])
        .await
        .unwrap();
    assert_eq!(counts["idempotency_keys"], 2);
    let find = |key: &'static [u8]| {
        on.read(move |conn, tenant| idempotency::find(conn, tenant, key, now()))
    };
    let kept = find(&[1]).await.unwrap();
    assert!(kept.erased && kept.body.is_empty() && kept.headers.is_null());
    assert_eq!((kept.status, kept.fingerprint), (200, vec![2]));
    assert_eq!(find(&[7]).await, None);
}

async fn closed_weeks_are_marked(on: Fixture) {
    let (all, _) = stored(&on).await;
    let (squad, monday) = (all.squad.squad_id, september(7));
    let marks = || {
        on.read(move |conn, tenant| {
            let squad = withheld_weeks::is_withheld(conn, tenant, squad, monday)?;
            let club = withheld_weeks::of_club(conn, tenant, september(1), september(30))?;
            Ok((squad, club))
        })
    };
    let mara = all.athlete.athlete_id;
    erase(&on, mara, &[RecordClass::Clinical]).await.unwrap();
    assert_eq!(marks().await, (false, vec![]));
    erase(&on, mara, &[RecordClass::Findings]).await.unwrap();
    assert_eq!(marks().await, (false, vec![monday]));
    erase(&on, mara, &[RecordClass::Load]).await.unwrap();
    assert_eq!(marks().await, (true, vec![monday]));
    erase(&on, mara, RecordClass::ALL).await.unwrap();
    assert_eq!(marks().await, (true, vec![monday]));
}

async fn unfinished_erasures_are_found_until_they_are_done(on: Fixture) {
    let erasure = Erasure {
        erasure_id: on.id(),
        athlete_id: on.id(),
        at: now(),
        by_subject: "lead-1".to_owned(),
        acting_role: "privacy_lead".to_owned(),
        reason: ErasureReason::Left,
        counts: json!({ "flags": 3 }),
        filed_at: None,
        cleaned_at: None,
    };
    let (row, id) = (erasure.clone(), erasure.erasure_id);
    on.write(now(), move |conn, tenant, moment| {
        erasures::insert(conn, tenant, moment, &row)
    })
    .await
    .unwrap();
    let unfinished = async || {
        let found = on.store.read(Clubs::Every, erasures::unfinished);
        found.await.unwrap()
    };
    assert_eq!(unfinished().await, [(on.tenant.club_id(), erasure.clone())]);
    let finish = |done| {
        on.write(later(9), move |conn, tenant, _| {
            erasures::finish(conn, tenant, id, done)
        })
    };
    finish((Some(later(1)), None)).await.unwrap();
    assert_eq!(unfinished().await.len(), 1);
    finish((Some(later(1)), Some(later(2)))).await.unwrap();
    assert_eq!(unfinished().await, []);
    // Entered again, as after a restore, it is to be cleaned up after once more.
    let again = Erasure {
        by_subject: "job".to_owned(),
        ..erasure
    };
    on.write(now(), move |conn, tenant, moment| {
        erasures::insert(conn, tenant, moment, &again)
    })
    .await
    .unwrap();
    let found = unfinished().await;
    assert_eq!((found.len(), found[0].1.by_subject.as_str()), (1, "lead-1"));
    let page = on
        .read(|conn, tenant| erasures::page(conn, tenant, None, 9))
        .await;
    assert_eq!(page.len(), 1);
    let other = on.other_club().await;
    let elsewhere = on
        .store
        .read(other, move |conn| erasures::page(conn, other, None, 9))
        .await;
    assert_eq!(elsewhere.unwrap(), []);
}
