//! Consents and their settings, and the reads that consents stand behind.

use jiff::Timestamp;
use plimsoll_api::ids::AthleteId;
use plimsoll_api::store::audit::AuditRead;
use plimsoll_api::store::consents::{self, Consent};
use plimsoll_api::store::{
    Change, ConsentGiver, ConsentRecipient, DataClasses, Who, consent_settings, consented_reads,
};
use plimsoll_domain::consent::DataClass;

use crate::support::{AUTHOR, Fixture, later, now, on_both_databases};

on_both_databases!(
    a_consent_that_was_withdrawn_stays_on_the_list,
    consents_of_an_athlete_are_paged_by_id,
    settings_are_kept_as_they_were,
    reads_behind_consents_are_found_by_action_and_time,
);

/// A consent with each field in use.
pub(crate) fn consent(on: &Fixture, athlete_id: AthleteId) -> Consent {
    Consent {
        consent_id: on.id(),
        athlete_id,
        given_by: ConsentGiver::Guardian,
        purpose: "return after an injury".to_owned().into(),
        data_classes: DataClasses(vec![DataClass::Tests, DataClass::Pain]),
        recipient_role: Some(ConsentRecipient::AthleticTrainer),
        recipient_club: Some(on.id()),
        recipient_link: Some(on.id()),
        given_at: now(),
        from_at: later(1),
        until_at: Some(later(99)),
        text_version: "2026-1".to_owned(),
        evidence: Some("folder 3".to_owned().into()),
        withdrawn_at: None,
        withdrawn_by: None,
        withdrawal_evidence: None,
    }
}

async fn a_consent_that_was_withdrawn_stays_on_the_list(on: Fixture) {
    let (mara, ida) = (on.add_athlete("Mara").await, on.add_athlete("Ida").await);
    let rows = [consent(&on, mara), consent(&on, mara), consent(&on, ida)];
    let stored = rows.clone();
    on.write(now(), move |conn, tenant, moment| {
        consents::insert(conn, tenant, moment, AUTHOR, &stored)
    })
    .await
    .unwrap();
    let withdrawn = Consent {
        withdrawn_at: Some(later(5)),
        withdrawn_by: Some(ConsentGiver::Athlete),
        withdrawal_evidence: Some("folder 4".to_owned().into()),
        ..rows[0].clone()
    };
    let change = Change {
        replaces: 1,
        content: withdrawn.clone(),
        deleted: false,
    };
    on.write(later(5), move |conn, tenant, moment| {
        consents::supersede(conn, tenant, moment, AUTHOR, &[change])
    })
    .await
    .unwrap();
    let found = on.read(move |conn, tenant| consents::of(conn, tenant, Who::Athletes(&[mara])));
    let found: Vec<Consent> = found.await.into_iter().map(|row| row.content).collect();
    assert_eq!(found, [withdrawn, rows[1].clone()]);
    let id = rows[0].consent_id;
    let history = on
        .read(move |conn, tenant| consents::history(conn, tenant, id))
        .await;
    assert_eq!(history[0].content, rows[0], "as it was given");
    let all = on
        .read(move |conn, tenant| consents::of(conn, tenant, Who::WholeClub))
        .await;
    assert_eq!(all.len(), 3);
}

async fn consents_of_an_athlete_are_paged_by_id(on: Fixture) {
    let (mara, ida) = (on.add_athlete("Mara").await, on.add_athlete("Ida").await);
    let rows = [mara, ida, mara].map(|athlete| consent(&on, athlete));
    let ids = rows.clone().map(|row| row.consent_id);
    on.write(now(), move |conn, tenant, moment| {
        consents::insert(conn, tenant, moment, AUTHOR, &rows)
    })
    .await
    .unwrap();
    let page = async |after, limit| {
        let page = on.read(move |conn, tenant| consents::page(conn, tenant, mara, after, limit));
        let page = page.await.into_iter();
        page.map(|row| row.content.consent_id).collect::<Vec<_>>()
    };
    assert_eq!(page(None, 1).await, [ids[0]]);
    assert_eq!(page(Some(ids[0]), 9).await, [ids[2]]);
}

async fn settings_are_kept_as_they_were(on: Fixture) {
    let classes = DataClasses(vec![DataClass::Tests]);
    for (at, age, needed_for) in [(1, 18, classes.clone()), (2, 16, DataClasses(vec![]))] {
        on.write(later(at), move |conn, tenant, moment| {
            consent_settings::append(conn, tenant, moment, AUTHOR, (age, needed_for))
        })
        .await
        .unwrap();
    }
    let history = on.read(consent_settings::history).await;
    let seen: Vec<_> = history
        .into_iter()
        .map(|one| (one.version, one.own_age, one.needed_for, one.received_at))
        .collect();
    let expected = [
        (1, 18, classes, later(1)),
        (2, 16, DataClasses(vec![]), later(2)),
    ];
    assert_eq!(seen, expected);
}

async fn reads_behind_consents_are_found_by_action_and_time(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let read = |at: Timestamp, action: &str, athlete_id, outcome: &str| AuditRead {
        audit_id: on.id(),
        at,
        subject: "trainer-1".to_owned(),
        client: "club-app".to_owned(),
        acting_role: "athletic_trainer".to_owned(),
        purpose: None,
        athlete_id,
        action: action.to_owned(),
        outcome: outcome.to_owned(),
        request_id: "1".to_owned(),
    };
    let rows = [
        read(now(), "read_test_result", Some(mara), "read"),
        read(later(1), "read_test_result", Some(mara), "read"),
        read(later(2), "read_load", Some(mara), "read"),
        read(later(3), "read_test_result", None, "refused"),
        read(later(4), "list_test_results", Some(mara), "read"),
    ];
    let ids = rows.clone().map(|row| row.audit_id);
    on.write(now(), move |conn, tenant, _| {
        crate::audit::append(conn, tenant, 0, &rows)
    })
    .await
    .unwrap();
    let page = async |after, limit| {
        let page = on.read(move |conn, tenant| {
            let actions = ["read_test_result", "list_test_results"];
            consented_reads::page(conn, tenant, &actions, (later(1), after), limit)
        });
        page.await
            .into_iter()
            .map(|row| row.audit_id)
            .collect::<Vec<_>>()
    };
    let first = uuid::Uuid::nil().into();
    assert_eq!(page(first, 9).await, [ids[1], ids[4]]);
    assert_eq!(page(first, 1).await, [ids[1]]);
    assert_eq!(page(ids[1], 9).await, [ids[4]]);
}
