//! Terms, holds and runs of retention; which records there are of whom, and erasing them.

use jiff::civil::{Date, date};
use plimsoll_api::ids::AthleteId;
use plimsoll_api::store::absences::Absence;
use plimsoll_api::store::retention::holds::{self, RetentionHold};
use plimsoll_api::store::retention::runs::{self, RetentionRun, RowsByClass};
use plimsoll_api::store::retention::settings::{self, RetentionSettings};
use plimsoll_api::store::{
    AbsenceCategory, Change, Clubs, HoldEnd, HoldReason, Known, StoreError, Who, absences,
    memberships, sessions, subject_records,
};
use plimsoll_domain::retention::Terms;
use plimsoll_domain::{GivenBy, RecordClass, RecordRegime};

use crate::support::{AUTHOR, Fixture, later, now, on_both_databases, september, write_as};

on_both_databases!(
    settings_are_kept_as_they_were,
    a_hold_that_was_lifted_is_none_and_says_why,
    holds_of_an_athlete_are_paged_by_id,
    a_night_has_one_run,
    last_days_are_those_of_memberships_as_known,
    erasing_takes_every_version_of_one_athlete_and_class;
    filtered:
    runs_are_found_until_their_bytes_are_gone,
);

/// Settings with each field in use.
pub(crate) fn said() -> RetentionSettings {
    let terms = [(RecordClass::Load, 730), (RecordClass::Findings, 0)];
    RetentionSettings {
        record_regime: RecordRegime::HealthProvider,
        terms: Terms::new(terms).unwrap(),
        source_note: Some("club board".to_owned()),
    }
}

/// A hold with each field in use.
pub(crate) fn hold(on: &Fixture, athlete_id: AthleteId) -> RetentionHold {
    RetentionHold {
        hold_id: on.id(),
        athlete_id,
        reason: HoldReason::Insurance,
        until_date: Some(september(30)),
        lifted: None,
    }
}

/// A night's run.
pub(crate) fn run(night: Date) -> RetentionRun {
    RetentionRun {
        night,
        run_at: now(),
        settings_version: 1,
        athletes: 2,
        erased: RowsByClass([(RecordClass::Load, 1_312)].into()),
        cleaned_at: None,
    }
}

async fn settings_are_kept_as_they_were(on: Fixture) {
    let none = RetentionSettings {
        record_regime: RecordRegime::Club,
        terms: Terms::default(),
        source_note: None,
    };
    for (at, content) in [(1, said()), (2, none.clone())] {
        let version = on.write(later(at), move |conn, tenant, moment| {
            settings::append(conn, tenant, moment, AUTHOR, &content)
        });
        assert_eq!(i64::from(version.await.unwrap()), at);
    }
    let history = on.read(settings::history).await;
    let seen: Vec<_> = history
        .into_iter()
        .map(|one| (one.version, one.content, one.received_at))
        .collect();
    assert_eq!(seen, [(1, said(), later(1)), (2, none, later(2))]);
}

async fn a_hold_that_was_lifted_is_none_and_says_why(on: Fixture) {
    let (mara, ida) = (on.add_athlete("Mara").await, on.add_athlete("Ida").await);
    let rows = [hold(&on, mara), hold(&on, mara), hold(&on, ida)];
    let stored = rows.clone();
    on.write(now(), move |conn, tenant, moment| {
        holds::insert(conn, tenant, moment, AUTHOR, &stored)
    })
    .await
    .unwrap();
    let lifted = RetentionHold {
        lifted: Some(HoldEnd::Settled),
        ..rows[0].clone()
    };
    let change = Change {
        replaces: 1,
        content: lifted.clone(),
        deleted: true,
    };
    on.write(later(5), move |conn, tenant, moment| {
        holds::supersede(conn, tenant, moment, AUTHOR, &[change])
    })
    .await
    .unwrap();
    let found = on
        .read(move |conn, tenant| holds::of(conn, tenant, Who::Athletes(&[mara])))
        .await;
    let found: Vec<_> = found.into_iter().map(|row| row.content).collect();
    assert_eq!(found, [rows[1].clone()]);
    let id = rows[0].hold_id;
    let history = on
        .read(move |conn, tenant| holds::history(conn, tenant, id))
        .await;
    let history: Vec<_> = history.into_iter().map(|row| row.content).collect();
    assert_eq!(history, [rows[0].clone(), lifted]);
}

async fn holds_of_an_athlete_are_paged_by_id(on: Fixture) {
    let (mara, ida) = (on.add_athlete("Mara").await, on.add_athlete("Ida").await);
    let rows = [mara, ida, mara].map(|athlete| hold(&on, athlete));
    let ids = rows.clone().map(|row| row.hold_id);
    on.write(now(), move |conn, tenant, moment| {
        holds::insert(conn, tenant, moment, AUTHOR, &rows)
    })
    .await
    .unwrap();
    let page = async |after, limit| {
        let page = on.read(move |conn, tenant| holds::page(conn, tenant, mara, after, limit));
        let page = page.await.into_iter();
        page.map(|row| row.content.hold_id).collect::<Vec<_>>()
    };
    assert_eq!(page(None, 1).await, [ids[0]]);
    assert_eq!(page(Some(ids[0]), 9).await, [ids[2]]);
}

async fn a_night_has_one_run(on: Fixture) {
    let other = on.other_club().await;
    let store = |tenant, night| {
        write_as(&on.store, tenant, now(), move |conn, tenant, _| {
            runs::insert(conn, tenant, &run(night))
        })
    };
    store(on.tenant, september(8)).await.unwrap();
    store(on.tenant, september(7)).await.unwrap();
    store(other, september(9)).await.unwrap();
    let twice = store(on.tenant, september(8)).await;
    assert!(matches!(twice, Err(StoreError::Conflict)), "{twice:?}");
    assert_eq!(on.read(runs::latest).await, Some(run(september(8))));
}

async fn runs_are_found_until_their_bytes_are_gone(on: Fixture) {
    let other = on.other_club().await;
    let erased_nothing = RetentionRun {
        athletes: 0,
        ..run(september(6))
    };
    let rows = [
        (on.tenant, run(september(8))),
        (on.tenant, run(september(7))),
        (other, run(september(8))),
    ];
    for (tenant, run) in rows.into_iter().chain([(on.tenant, erased_nothing)]) {
        let stored = write_as(&on.store, tenant, now(), move |conn, tenant, _| {
            runs::insert(conn, tenant, &run)
        });
        stored.await.unwrap();
    }
    let mut unclean = vec![
        (on.tenant.club_id(), september(7)),
        (on.tenant.club_id(), september(8)),
        (other.club_id(), september(8)),
    ];
    unclean.sort_unstable();
    let found = || on.store.read(Clubs::Every, runs::unclean);
    assert_eq!(found().await.unwrap(), unclean);
    on.write(later(1), |conn, tenant, moment| {
        runs::cleaned(conn, tenant, september(8), moment.at())
    })
    .await
    .unwrap();
    unclean.retain(|one| *one != (on.tenant.club_id(), september(8)));
    assert_eq!(found().await.unwrap(), unclean);
    let cleaned = on.read(runs::latest).await.unwrap().cleaned_at;
    assert_eq!(cleaned, Some(later(1)));
}

async fn last_days_are_those_of_memberships_as_known(on: Fixture) {
    let (mara, girls) = (
        on.add_athlete("Mara").await,
        on.add_squad("U17 girls").await,
    );
    let open = on.membership(mara, girls);
    on.add_membership(open.clone(), now()).await;
    let over = memberships::Membership {
        to_date: Some(september(30)),
        ..on.membership(mara, girls)
    };
    on.add_membership(over.clone(), later(1)).await;
    let days = async |state| {
        let mut days = on
            .read(move |conn, tenant| memberships::last_days(conn, tenant, state))
            .await;
        days.sort_unstable();
        days
    };
    let before = [(mara, None), (mara, Some(september(30)))];
    assert_eq!(days(Known::Now).await, before);
    let ended = memberships::Membership {
        to_date: Some(date(2026, 10, 31)),
        ..open
    };
    let changes = [(ended, false), (over, true)].map(|(content, deleted)| Change {
        replaces: 1,
        content,
        deleted,
    });
    on.write(later(2), move |conn, tenant, moment| {
        memberships::supersede(conn, tenant, moment, AUTHOR, &changes)
    })
    .await
    .unwrap();
    assert_eq!(days(Known::Now).await, [(mara, Some(date(2026, 10, 31)))]);
    assert_eq!(days(Known::AsOf(later(1))).await, before, "as it was known");
}

async fn erasing_takes_every_version_of_one_athlete_and_class(on: Fixture) {
    let other = on.other_club().await;
    let (mara, ida) = (on.add_athlete("Mara").await, on.add_athlete("Ida").await);
    let report = on.session(mara, september(7));
    on.add_session(report.clone(), now()).await;
    on.add_session(on.session(ida, september(7)), now()).await;
    let amended = Change {
        replaces: 1,
        content: report,
        deleted: false,
    };
    let away = Absence {
        absence_id: on.id(),
        athlete_id: mara,
        from_date: september(10),
        to_date: september(12),
        category: AbsenceCategory::Away,
        given_by: GivenBy::Coach,
    };
    on.write(later(1), move |conn, tenant, moment| {
        sessions::supersede(conn, tenant, moment, AUTHOR, &[amended])?;
        absences::insert(conn, tenant, moment, AUTHOR, &[away])
    })
    .await
    .unwrap();
    let kept = async || {
        on.read(move |conn, tenant| subject_records::kept(conn, tenant, &[mara, ida]))
            .await
            .into_iter()
            .collect::<Vec<_>>()
    };
    let (load, away) = (RecordClass::Load, RecordClass::Availability);
    let all = [(mara, load), (mara, away), (ida, load)];
    let before = kept().await;
    assert!(all.iter().all(|one| before.contains(one)), "{before:?}");
    let erase = |tenant| {
        write_as(&on.store, tenant, later(2), move |conn, tenant, _| {
            subject_records::erase(conn, tenant, mara, &[load])
        })
    };
    let rows = async |tenant| {
        let counts = erase(tenant).await.unwrap();
        counts.values().sum::<usize>()
    };
    assert_eq!(rows(other).await, 0, "another club's");
    assert_eq!(rows(on.tenant).await, 2, "both versions");
    assert_eq!(rows(on.tenant).await, 0, "erasing can be repeated");
    let after = kept().await;
    assert!(!after.contains(&(mara, load)));
    assert!(after.contains(&(ida, load)) && after.contains(&(mara, away)));
    let left = on
        .read(|conn, tenant| {
            let (from, to) = (september(1), september(30));
            sessions::in_dates(
                conn,
                tenant,
                Who::WholeClub,
                from,
                to,
                Known::AsOf(later(9)),
            )
        })
        .await;
    assert_eq!(left.len(), 1);
}
