//! Day totals.

use std::collections::BTreeMap;

use jiff::civil::Date;
use plimsoll_api::ids::AthleteId;
use plimsoll_api::store::day_totals::{self, DayTotal, Days, Totals};
use plimsoll_api::store::{StoreError, Who};
use plimsoll_domain::Setting;

use crate::support::{Fixture, now, on_both_databases, september};

on_both_databases!(
    a_day_reads_back_as_it_was_stored,
    a_replaced_day_holds_what_was_said_last_and_nothing_else,
    other_days_and_athletes_stay,
    totals_of_nobody_are_refused,
);

fn totals(logged_half: i64) -> Totals {
    Totals {
        logged_half,
        low_half: logged_half,
        high_half: logged_half,
        minutes: 90,
        sessions: 1,
        ..Totals::default()
    }
}

fn day(settings: &[(Setting, Totals)]) -> BTreeMap<Setting, Totals> {
    settings.iter().copied().collect()
}

impl Fixture {
    async fn replace(&self, days: Days) -> Result<(), StoreError> {
        self.write(now(), move |conn, tenant, _| {
            day_totals::replace(conn, tenant, &days)
        })
        .await
    }

    async fn totals_of(&self, athlete_id: AthleteId) -> Vec<(Date, Setting, i64)> {
        self.read(move |conn, tenant| {
            let who = Who::Athletes(&[athlete_id]);
            day_totals::in_dates(conn, tenant, who, september(1), september(30))
        })
        .await
        .into_iter()
        .map(|row| (row.date, row.setting, row.totals.logged_half))
        .collect()
    }
}

async fn a_day_reads_back_as_it_was_stored(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let stored = Totals {
        logged_half: 30_000,
        low_half: 0,
        high_half: i64::MAX,
        minutes: 1_500,
        sessions: 3,
        expected: 4,
        unlogged: 1,
    };
    on.replace(Days::from([(
        (mara, september(7)),
        day(&[(Setting::Pe, stored)]),
    )]))
    .await
    .unwrap();
    let rows = on
        .read(|conn, tenant| {
            day_totals::in_dates(conn, tenant, Who::WholeClub, september(7), september(7))
        })
        .await;
    let expected = DayTotal {
        athlete_id: mara,
        date: september(7),
        setting: Setting::Pe,
        totals: stored,
    };
    assert_eq!(rows, [expected]);
}

async fn a_replaced_day_holds_what_was_said_last_and_nothing_else(on: Fixture) {
    let mara = on.add_athlete("Mara").await;
    let key = (mara, september(7));
    let (club, pe, free) = (Setting::Club, Setting::Pe, Setting::Free);
    on.replace(Days::from([(
        key,
        day(&[(club, totals(1_080)), (pe, totals(360))]),
    )]))
    .await
    .unwrap();
    on.replace(Days::from([(
        key,
        day(&[(club, totals(900)), (free, totals(60))]),
    )]))
    .await
    .unwrap();
    assert_eq!(
        on.totals_of(mara).await,
        [(september(7), club, 900), (september(7), free, 60)]
    );
    on.replace(Days::from([(key, day(&[]))])).await.unwrap();
    assert_eq!(on.totals_of(mara).await, []);
    on.replace(Days::new()).await.unwrap();
}

async fn other_days_and_athletes_stay(on: Fixture) {
    let (mara, jonna) = (on.add_athlete("Mara").await, on.add_athlete("Jonna").await);
    let club = Setting::Club;
    let mut days = Days::new();
    for athlete in [mara, jonna] {
        for date in 1..=3 {
            days.insert((athlete, september(date)), day(&[(club, totals(100))]));
        }
    }
    on.replace(days).await.unwrap();
    // The reach spans day 2 of Mara and of Jonna, but only clears two other days.
    on.replace(Days::from([
        ((mara, september(1)), day(&[])),
        ((jonna, september(3)), day(&[(Setting::Pe, totals(7))])),
    ]))
    .await
    .unwrap();
    assert_eq!(
        on.totals_of(mara).await,
        [(september(2), club, 100), (september(3), club, 100)]
    );
    assert_eq!(
        on.totals_of(jonna).await,
        [
            (september(1), club, 100),
            (september(2), club, 100),
            (september(3), Setting::Pe, 7)
        ]
    );
}

async fn totals_of_nobody_are_refused(on: Fixture) {
    let nobody = on.id();
    let refused = on
        .replace(Days::from([(
            (nobody, september(7)),
            day(&[(Setting::Club, totals(1))]),
        )]))
        .await;
    assert!(matches!(refused, Err(StoreError::Reference)), "{refused:?}");
}
