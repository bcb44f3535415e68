//! How long questions about a plan take, beside the plain figures of the same weeks.
//!
//! Loads are invented: 26 weeks of five practices and a game, after ten logged weeks.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use jiff::ToSpan;
use jiff::civil::{Date, date};
use plimsoll_domain::plan::{
    Plan, PlanSession, Shortenable, check_plan, least_change, rolling_needs,
};
use plimsoll_domain::{
    DailySeries, FigureSettings, IsoWeek, Kind, Load, Minutes, Policy, PolicyDraft, RatioLimit,
    Rpe, Setting, week_figures,
};

const MONDAY: Date = date(2026, 8, 3);
const WEEKS: u8 = 26;
const ATHLETES: u16 = 60;

fn session(day: i64, minutes: i64, rpe: f64, protected: bool) -> Option<PlanSession> {
    Some(PlanSession {
        start: None,
        date: MONDAY.saturating_add(day.days()),
        setting: Setting::Club,
        kind: if protected {
            Kind::Game
        } else {
            Kind::Practice
        },
        intended: Rpe::from_f64(rpe).ok()?,
        minutes: Minutes::new(minutes).ok()?,
        protected,
        contacts: None,
        warm_up: None,
    })
}

/// Five practices a week and a game on Saturday; each fourth week is so hard that the limit is passed.
fn plan() -> Option<Plan> {
    let sessions = (0..i64::from(WEEKS)).flat_map(|week| {
        let (minutes, rpe) = if week % 4 == 3 { (120, 9.0) } else { (90, 5.5) };
        let practices = (0..5).map(move |day| session(7 * week + day, minutes, rpe, false));
        practices.chain([session(7 * week + 5, 60, 8.0, true)])
    });
    let sessions = sessions.collect::<Option<Vec<_>>>()?;
    Plan::new(IsoWeek::of(MONDAY).ok()?, WEEKS, sessions).ok()
}

/// Ten weeks up to the plan, a little different for each athlete.
fn history(athlete: u16) -> Option<DailySeries> {
    let loads: Vec<Load> = (0..70)
        .map(|day| Load::from_au(if day % 7 < 5 { 300 + athlete } else { 0 }))
        .collect();
    DailySeries::of_loads(MONDAY.saturating_sub(70.days()), &loads).ok()
}

fn policy() -> Option<Policy> {
    PolicyDraft::example(MONDAY, "Policy owner").check().ok()
}

fn check(criterion: &mut Criterion) {
    let histories: Option<Vec<DailySeries>> = (0..ATHLETES).map(history).collect();
    let (Some(plan), Some(policy), Some(histories)) = (plan(), policy(), histories) else {
        return;
    };
    let done: Vec<DailySeries> = histories
        .iter()
        .filter_map(|history| plan.as_done(Some(history)).ok())
        .collect();
    let settings = policy.figure_settings();
    let last = plan.weeks().last().unwrap_or(plan.first());
    let mut group = criterion.benchmark_group(format!("{ATHLETES} athletes x {WEEKS} weeks"));
    group.bench_function("plain figures", |bencher| {
        bencher.iter(|| {
            for series in black_box(&done) {
                black_box(week_figures(series, &settings, plan.first(), last));
            }
        });
    });
    group.bench_function("plan check", |bencher| {
        bencher.iter(|| {
            for history in black_box(&histories) {
                black_box(check_plan(&policy, Some(history), &plan)).ok();
            }
        });
    });
    group.finish();
}

/// The sessions of a week that may be cut, so many a day.
fn shortenable(plan: &Plan, week: IsoWeek, a_day: i8) -> Vec<Shortenable<usize>> {
    let free = plan.sessions_of(week).iter().filter(|one| !one.protected);
    let each = free.flat_map(|one| (0..a_day).map(move |hour| (one, hour)));
    let shortenable = |(id, (one, hour)): (usize, (&PlanSession, i8))| Shortenable {
        id,
        start: one.date.at(8 + hour, 0, 0, 0),
        intended: one.intended,
        minutes: one.minutes,
        least: None,
    };
    each.enumerate().map(shortenable).collect()
}

fn change(criterion: &mut Criterion) {
    let (Some(plan), Some(policy), Some(history)) = (plan(), policy(), history(0)) else {
        return;
    };
    let (Some(limit), Some(week)) = (RatioLimit::of(&policy), plan.first().plus(3)) else {
        return;
    };
    let Ok(done) = plan.as_done(Some(&history)) else {
        return;
    };
    let mut group = criterion.benchmark_group("least change in the rolling view");
    group.bench_function("plain figures of the week", |bencher| {
        let settings = FigureSettings::default();
        bencher.iter(|| black_box(week_figures(black_box(&done), &settings, week, week)));
    });
    let Ok(needs) = rolling_needs(limit, &done, week, week.monday()) else {
        return;
    };
    assert!(!needs.is_empty(), "nothing has to be cut");
    for a_day in [1, 8] {
        let sessions = shortenable(&plan, week, a_day);
        let name = format!("{} sessions, {} needs", sessions.len(), needs.len());
        group.bench_function(name, |bencher| {
            bencher.iter(|| black_box(least_change(black_box(&sessions), &needs)));
        });
    }
    group.finish();
}

criterion_group!(benches, check, change);
criterion_main!(benches);
