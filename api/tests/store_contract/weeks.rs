//! Closed weeks.

use jiff::civil::date;
use plimsoll_api::store::weeks::{self, ClosedWeek, ClosingTime};

use crate::support::{Fixture, later, now, on_both_databases};

on_both_databases!(
    a_closing_time_is_set_and_changed,
    a_week_is_closed_once,
    closed_weeks_are_listed_in_order
);

fn week(monday: jiff::civil::Date, policy_version: Option<i32>) -> ClosedWeek {
    ClosedWeek {
        monday,
        closed_at: now(),
        seq: 7,
        policy_version,
        late: policy_version.is_none(),
    }
}

async fn a_week_is_closed_once(on: Fixture) {
    assert_eq!(on.read(weeks::latest).await, None);
    let close = |week: ClosedWeek| {
        on.write(later(1), move |conn, tenant, _| {
            weeks::close(conn, tenant, &week)
        })
    };
    let monday = date(2026, 12, 28);
    assert!(close(week(monday, Some(3))).await.unwrap());
    assert!(!close(week(monday, None)).await.unwrap());
    assert_eq!(on.read(weeks::latest).await, Some(week(monday, Some(3))));
}

async fn closed_weeks_are_listed_in_order(on: Fixture) {
    let mondays = [date(2026, 11, 9), date(2026, 10, 26), date(2026, 11, 2)];
    on.write(now(), move |conn, tenant, _| {
        for monday in mondays {
            assert!(weeks::close(conn, tenant, &week(monday, None))?);
        }
        Ok(())
    })
    .await
    .unwrap();
    let found = on
        .read(|conn, tenant| weeks::in_dates(conn, tenant, date(2026, 10, 27), date(2026, 11, 9)))
        .await;
    assert_eq!(found, [week(mondays[2], None), week(mondays[0], None)]);
}

async fn a_closing_time_is_set_and_changed(on: Fixture) {
    assert_eq!(on.read(weeks::closing_time).await, None);
    for (weekday, minute, version) in [(1, 0, 1), (7, 1439, 2)] {
        let time = ClosingTime {
            weekday,
            minute,
            version,
        };
        on.write(later(1), move |conn, tenant, _| {
            weeks::set_closing_time(conn, tenant, time)
        })
        .await
        .unwrap();
        assert_eq!(on.read(weeks::closing_time).await, Some(time));
    }
}
