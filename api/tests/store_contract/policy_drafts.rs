//! Drafts of the policy: kept apart from its versions, and gone when they are taken away.

use plimsoll_api::ids::PolicyDraftId;
use plimsoll_api::store::policy_drafts::{self, PolicyDraft};
use plimsoll_api::store::{Clubs, StoreError, Tenant};
use serde_json::json;

use crate::support::{Fixture, later, now, on_both_databases, write_as, write_of};

on_both_databases!(
    a_draft_is_changed_listed_and_taken_away,
    a_draft_that_is_not_there_is_not_found,
);

fn draft(on: &Fixture) -> PolicyDraft {
    draft_of(on.id())
}

/// A draft with this id.
pub fn draft_of(draft_id: PolicyDraftId) -> PolicyDraft {
    PolicyDraft {
        draft_id,
        body: json!({ "rules": [{ "code": "week_monotony", "limit": 2.0 }], "midnight": null }),
        written_by: "vera".to_owned(),
        written_at: now(),
        changed_by: "vera".to_owned(),
        changed_at: now(),
        version: 1,
    }
}

async fn a_draft_is_changed_listed_and_taken_away(on: Fixture) {
    let drafts = [draft(&on), draft(&on)];
    let changed = PolicyDraft {
        body: json!({ "rules": [] }),
        changed_by: "ida".to_owned(),
        changed_at: later(5),
        version: 2,
        ..drafts[0].clone()
    };
    let (first, second, next) = (drafts[0].clone(), drafts[1].clone(), changed.clone());
    on.write(now(), move |conn, tenant, _| {
        policy_drafts::insert(conn, tenant, &first)?;
        policy_drafts::insert(conn, tenant, &second)?;
        policy_drafts::save(conn, tenant, &next)
    })
    .await
    .unwrap();
    let [first, second] = drafts.map(|draft| draft.draft_id);
    let all = on
        .read(|conn, tenant| policy_drafts::page(conn, tenant, None, 9))
        .await;
    let ids: Vec<_> = all.iter().map(|draft| draft.draft_id).collect();
    assert_eq!((ids, &all[0]), (vec![first, second], &changed));
    let rest = on
        .read(move |conn, tenant| policy_drafts::page(conn, tenant, Some(first), 9))
        .await;
    assert_eq!(rest, all[1..]);
    on.write(later(6), move |conn, tenant, _| {
        policy_drafts::remove(conn, tenant, first)
    })
    .await
    .unwrap();
    let gone = on
        .read(move |conn, tenant| policy_drafts::find(conn, tenant, first))
        .await;
    assert_eq!(gone, None);
}

async fn a_draft_that_is_not_there_is_not_found(on: Fixture) {
    let (absent, foreign) = (draft(&on), draft(&on));
    let other = on.other_club().await;
    let kept = foreign.clone();
    on.write(now(), move |conn, tenant, _| {
        policy_drafts::insert(conn, tenant, &kept)
    })
    .await
    .unwrap();
    for (tenant, one) in [(on.tenant, absent), (other, foreign)] {
        let (changed, id) = (one.clone(), one.draft_id);
        let saved = write_as(&on.store, tenant, later(1), move |conn, tenant, _| {
            policy_drafts::save(conn, tenant, &changed)
        })
        .await;
        assert!(matches!(saved, Err(StoreError::NotFound)), "{saved:?}");
        let removed = write_as(&on.store, tenant, later(1), move |conn, tenant, _| {
            policy_drafts::remove(conn, tenant, id)
        })
        .await;
        assert!(matches!(removed, Err(StoreError::NotFound)), "{removed:?}");
    }
    let nobody = Tenant::granted(on.id());
    let refused = write_of(
        &on.store,
        Clubs::Two(on.tenant, nobody),
        on.tenant,
        now(),
        move |conn, _, _| {
            policy_drafts::insert(conn, nobody, &draft_of(uuid::Uuid::from_u128(9).into()))
        },
    )
    .await;
    assert!(matches!(refused, Err(StoreError::Reference)), "{refused:?}");
}
