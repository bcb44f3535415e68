//! The acceptance scenarios about time: organised hours, free days, games, and who sees what share.
//!
//! The scenarios give no times of day; those here are chosen so that nothing overlaps.
#![allow(clippy::unwrap_used)]

mod common;

use common::time::{by_pe, hours_by_age, judged_time, session};
use common::{au, example_policy, four, two};
use jiff::ToSpan;
use jiff::civil::{Date, date};
use plimsoll_domain::age::completed_years;
use plimsoll_domain::{
    Attended, Bounds, Certainty, Figure, Kind, Minutes, Outcome, Reason, RollingWindow, RuleCode,
    SessionTime, Setting, SettingPart, breaks_between_games, densest, hours_above_line, shares,
    tournament, visible_share,
};

const CERTAIN: Outcome = Outcome::Raised(Certainty::Certain);

const S12_MONDAY: Date = date(2026, 11, 9);
const S12_BORN: Date = date(2012, 5, 20);

/// D-05's week in two squads, two clubs and at school.
fn s12() -> Vec<SessionTime> {
    use Kind::{Game, Other, Practice, Strength};
    use Setting::{Club, Pe, PrescribedHome, SecondClub};
    let at = |day: i64, hour: i64, setting, kind, minutes| {
        session(S12_MONDAY + day.days(), 60 * hour, minutes, setting, kind)
    };
    vec![
        // U14
        at(0, 17, Club, Practice, 75),
        at(2, 17, Club, Practice, 75),
        at(5, 14, Club, Game, 60),
        // U16
        at(1, 17, Club, Practice, 90),
        at(3, 17, Club, Practice, 90),
        at(6, 11, Club, Game, 75),
        at(1, 7, PrescribedHome, Strength, 30),
        at(3, 7, PrescribedHome, Strength, 30),
        // Club B
        at(0, 20, SecondClub, Practice, 60),
        at(4, 17, SecondClub, Practice, 90),
        at(5, 10, SecondClub, Practice, 60),
        at(2, 10, Pe, Other, 60),
        at(4, 10, Pe, Other, 60),
    ]
}

fn without(settings: &[Setting]) -> Vec<SessionTime> {
    let mut sessions = s12();
    sessions.retain(|session| !settings.contains(&session.slot.setting));
    sessions
}

#[test]
fn s12_two_squads_two_clubs_and_the_age_rule() {
    let week = by_pe(&s12(), S12_MONDAY, 0).by_policy(&example_policy());
    assert_eq!(week.minutes, Bounds::exact(855));
    assert_eq!(
        hours_by_age(S12_BORN, &week),
        ("14.25".into(), "0.25".into())
    );
    let by_age = judged_time(RuleCode::OrganisedHours, S12_BORN, &week);
    assert_eq!(four(by_age.against.unwrap().limit), "14");
    assert_eq!(by_age.outcome(), CERTAIN);
    assert_eq!(week.free_days, Bounds::exact(0));
    let free = judged_time(RuleCode::FreeDays, S12_BORN, &week);
    assert_eq!(free.outcome(), CERTAIN);
    assert_eq!(four(free.against.unwrap().beyond_by.point), "1");
    assert_eq!(hours_above_line(&week).outcome, Outcome::NotRaised);
    assert_eq!(four(hours_above_line(&week).beyond_by.point), "-1.75");
}

#[test]
fn s12_without_pe_the_hours_are_within_and_no_day_is_free() {
    let week = by_pe(&s12(), S12_MONDAY, 0).without_pe;
    assert_eq!(week.minutes, Bounds::exact(735));
    assert_eq!(
        hours_by_age(S12_BORN, &week),
        ("12.25".into(), "-1.75".into())
    );
    assert!(judged_time(RuleCode::OrganisedHours, S12_BORN, &week).is_within_policy());
    assert_eq!(week.free_days, Bounds::exact(0));
    assert_eq!(
        judged_time(RuleCode::FreeDays, S12_BORN, &week).outcome(),
        CERTAIN
    );
}

#[test]
fn s12_without_club_b_nothing_is_called_within_policy() {
    let week = by_pe(&without(&[Setting::SecondClub]), S12_MONDAY, 1).with_pe;
    assert_eq!(week.minutes, Bounds::exact(645));
    assert_eq!(hours_by_age(S12_BORN, &week).0, "10.75");
    let judgement = judged_time(RuleCode::OrganisedHours, S12_BORN, &week);
    assert_eq!(judgement.outcome(), Outcome::NotRaised);
    assert_eq!(judgement.settings_not_shared, 1);
    assert!(!judgement.is_within_policy());
    assert_eq!(week.free_days, Bounds::exact(0), "PE on Friday");
}

#[test]
fn s12_club_a_only_leaves_friday_free() {
    let club_a = without(&[Setting::SecondClub, Setting::Pe]);
    let week = by_pe(&club_a, S12_MONDAY, 2).with_pe;
    assert_eq!(week.minutes, Bounds::exact(525));
    assert_eq!(hours_by_age(S12_BORN, &week).0, "8.75");
    assert_eq!(week.free_days, Bounds::exact(1));
    let friday = S12_MONDAY + 4.days();
    assert!(club_a.iter().all(|session| session.slot.date != friday));
    assert!(!judged_time(RuleCode::FreeDays, S12_BORN, &week).is_within_policy());
}

#[test]
fn s12_age_is_that_of_monday() {
    assert_eq!(completed_years(S12_BORN, S12_MONDAY), Some(14));
    let week = by_pe(&s12(), S12_MONDAY, 0).with_pe;
    let birthday_on_wednesday = date(2012, 11, 11);
    assert_eq!(completed_years(birthday_on_wednesday, S12_MONDAY), Some(13));
    assert_eq!(
        hours_by_age(birthday_on_wednesday, &week).1,
        "1.25",
        "limit 13"
    );
    let leap = date(2012, 2, 29);
    assert_eq!(completed_years(leap, date(2027, 2, 28)), Some(14));
    assert_eq!(completed_years(leap, date(2027, 3, 1)), Some(15));
}

/// The call-up to the older squad's game on Sunday is what takes the hours over and the last free day.
#[test]
fn s12_before_and_after_a_call_up() {
    let mut before = s12();
    before.retain(|session| session.slot.date < S12_MONDAY + 6.days());
    let week = by_pe(&before, S12_MONDAY, 0).with_pe;
    assert_eq!(hours_by_age(S12_BORN, &week), ("13".into(), "-1".into()));
    assert_eq!(week.free_days, Bounds::exact(1));
    let in_72_hours = |sessions: &[SessionTime]| {
        let most = densest(sessions, RollingWindow::Hours72);
        (most.games.point, most.minutes.point)
    };
    assert_eq!(in_72_hours(&before), (1, 60));
    assert_eq!(in_72_hours(&s12()), (2, 135));
    let breaks = breaks_between_games(&s12());
    assert_eq!(four(breaks[1].hours.point.unwrap()), "20");
}

#[test]
fn s12_an_unlogged_practice_makes_the_age_rule_possible() {
    let mut sessions = s12();
    let planned = Minutes::new(90).unwrap();
    sessions[3].attended = Attended::Unlogged { planned };
    let week = by_pe(&sessions, S12_MONDAY, 0).with_pe;
    let judgement = judged_time(RuleCode::OrganisedHours, S12_BORN, &week);
    let over = judgement.against.unwrap().beyond_by;
    assert_eq!(
        (four(over.low), four(over.high)),
        ("-1.25".into(), "0.25".into())
    );
    assert_eq!(judgement.outcome(), Outcome::Raised(Certainty::Possible));
    assert_eq!(week.free_days, Bounds::exact(0), "home training on Tuesday");
}

#[test]
fn s09_the_fixed_games_of_the_weekend() {
    let monday = date(2026, 11, 2);
    let game = |day: i64, hour: i64| {
        session(
            monday + day.days(),
            60 * hour,
            30,
            Setting::Club,
            Kind::Game,
        )
    };
    let games = [
        game(5, 10),
        game(5, 12),
        game(5, 14),
        game(6, 10),
        game(6, 12),
    ];
    let found = tournament(&games, monday + 5.days(), monday + 6.days());
    let days = found.days.iter();
    let days = days.map(|day| (day.played.games.point, day.played.minutes.point));
    assert_eq!(days.collect::<Vec<_>>(), [(3, 90), (2, 60)]);
    assert_eq!(found.days[0].over_games_a_day(), CERTAIN);
    assert_eq!(
        (found.total.games.point, found.total.minutes.point),
        (5, 150)
    );
}

/// The school is one organisation that runs a team and PE; how its load splits between them is chosen.
#[test]
fn s03_the_share_the_club_coach_sees() {
    let part = |setting, load| SettingPart {
        setting,
        load: Bounds::exact(au(load)),
    };
    let weeks = [
        (1080.0, 300.0, "78.26"),
        (1080.0, 300.0, "78.26"),
        (1170.0, 360.0, "76.47"),
        (1260.0, 1620.0, "43.75"),
    ];
    let club = |setting| setting == Setting::Club;
    for (seen, school, percent) in weeks {
        let parts = [
            part(Setting::Club, seen),
            part(Setting::SchoolTeam, school - 120.0),
            part(Setting::Pe, 120.0),
        ];
        let visible = visible_share(&parts, 0, club);
        assert_eq!(two(visible.point.unwrap()), percent);
        assert_eq!((visible.low, visible.high), (visible.point, visible.point));
        let of_settings = shares(&parts, 0);
        assert_eq!(of_settings[0].share, visible);
        assert_eq!(of_settings.len(), 3);
        let not_shared = visible_share(&parts[..1], 1, club);
        assert_eq!(not_shared, Figure::none(Reason::TotalNotShared));
    }
}
