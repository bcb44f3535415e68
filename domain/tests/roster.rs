//! A roster that comes in against the one that is there.
#![allow(clippy::unwrap_used, clippy::panic)]

mod common;

use common::roster::{
    MAIN, MEMBER, TODAY, carried_out, dated, incoming, known, link, roster, row, squad_row,
};
use jiff::civil::date;
use plimsoll_domain::roster::{
    CopyOf, Current, Fault, FaultKind, Field, Incoming, KnownPerson, LinkChange, Mode, Outcome,
    Part, PersonRow, Plan, Status, plan,
};

/// A name, what is spoilt, and where which fault is found.
type Case = (&'static str, fn(&mut PersonRow), Part, FaultKind);

fn of<'a>(plan: &'a Plan, key: &str) -> &'a Outcome {
    &plan
        .people
        .iter()
        .find(|person| person.key == key)
        .unwrap()
        .outcome
}

fn kinds(outcome: &Outcome) -> Vec<FaultKind> {
    match outcome {
        Outcome::Rejected(faults) => faults.iter().map(|fault| fault.kind).collect(),
        other => panic!("not rejected: {other:?}"),
    }
}

fn in_squad(number: usize, key: &str, name: &str) -> PersonRow {
    PersonRow {
        memberships: vec![link("a", None, None, MEMBER)],
        ..row(number, key, name)
    }
}

fn two() -> Current {
    roster(
        &["a", "b"],
        vec![
            known("P-1", "Runa Falk", "a"),
            known("P-2", "Ida Lund", "a"),
        ],
    )
}

fn planned(current: &Current, people: Vec<PersonRow>) -> Plan {
    plan(current, &incoming(Mode::Delta, people))
}

#[test]
fn who_is_new_who_changed_and_who_is_as_before() {
    let mut moved = in_squad(1, "P-1", "Runa Holm");
    moved.memberships = vec![link("b", None, None, MAIN)];
    let sent = vec![
        moved,
        in_squad(2, "P-2", "Ida Lund"),
        in_squad(3, "P-3", "Maja Berg"),
    ];
    let current = two();
    let plan = plan(&current, &incoming(Mode::Full, sent));
    assert_eq!(
        *of(&plan, "P-1"),
        Outcome::Changed(vec![Field::Name, Field::Memberships])
    );
    assert_eq!(*of(&plan, "P-2"), Outcome::Unchanged);
    assert_eq!(*of(&plan, "P-3"), Outcome::Created);
    let yesterday = date(2026, 11, 8);
    let change = LinkChange::Change {
        known: 0,
        to: dated("a", date(2026, 1, 1), Some(yesterday), MEMBER),
    };
    assert_eq!(
        plan.people[0].memberships,
        [LinkChange::Begin(dated("b", TODAY, None, MAIN)), change]
    );
    let new = &plan.people[2];
    assert_eq!(
        new.details.joined_on,
        Some(TODAY),
        "her record begins with her first membership"
    );
    assert_eq!(
        (plan.members, plan.leaving),
        (2, 0),
        "who changes squads does not leave"
    );
}

#[test]
fn leaving_ends_memberships_and_takes_nothing_back() {
    let current = two();
    let plan = plan(
        &current,
        &incoming(Mode::Full, vec![in_squad(1, "P-1", "Runa Falk")]),
    );
    assert_eq!(*of(&plan, "P-2"), Outcome::Removed);
    assert_eq!((plan.members, plan.leaving), (2, 1));
    assert!(plan.is_large_removal());
    let after = carried_out(&current, &plan);
    let left = &after.people[1].memberships;
    assert_eq!(
        *left,
        [dated(
            "a",
            date(2026, 1, 1),
            Some(date(2026, 11, 8)),
            MEMBER
        )]
    );
}

#[test]
fn a_fifth_may_leave_and_no_more() {
    let names: Vec<String> = (0..10).map(|number| format!("P-{number}")).collect();
    let people = names.iter().map(|key| known(key, key, "a")).collect();
    let current = roster(&["a"], people);
    for (stay, large) in [(10, false), (8, false), (7, true), (0, true)] {
        let sent = names[..stay]
            .iter()
            .map(|key| in_squad(1, key, key))
            .collect();
        let plan = plan(&current, &incoming(Mode::Full, sent));
        assert_eq!((plan.leaving, plan.is_large_removal()), (10 - stay, large));
    }
    let nobody = roster(&["a"], Vec::new());
    assert!(!plan(&nobody, &incoming(Mode::Full, Vec::new())).is_large_removal());
}

#[test]
fn a_delta_ends_nothing_unless_it_says_so() {
    let current = two();
    assert_eq!(planned(&current, Vec::new()).people, []);
    let mut gone = row(1, "P-2", "Ida Lund");
    gone.details.status = Some(Status::Left);
    let plan = planned(&current, vec![gone.clone()]);
    assert_eq!(*of(&plan, "P-2"), Outcome::Removed);
    let again = planned(&carried_out(&current, &plan), vec![gone.clone()]);
    assert_eq!(*of(&again, "P-2"), Outcome::Unchanged);
    gone.key = "P-9".to_owned();
    assert_eq!(
        kinds(of(&planned(&current, vec![gone.clone()]), "P-9")),
        [FaultKind::UnknownPerson]
    );
    gone.key = "P-1".to_owned();
    gone.memberships = vec![link("a", None, None, MEMBER)];
    assert_eq!(
        kinds(of(&planned(&current, vec![gone]), "P-1")),
        [FaultKind::LeftWithMembership]
    );
}

#[test]
fn a_membership_that_had_not_begun_is_withdrawn() {
    let mut later = known("P-1", "Runa Falk", "a");
    later.memberships = vec![dated("a", date(2027, 1, 1), None, MEMBER)];
    let plan = plan(
        &roster(&["a"], vec![later]),
        &incoming(Mode::Full, Vec::new()),
    );
    assert_eq!(
        plan.people[0].memberships,
        [LinkChange::Withdraw { known: 0 }]
    );
}

#[test]
fn a_later_first_day_begins_another_membership() {
    let current = two();
    let mut sent = row(1, "P-1", "Runa Falk");
    sent.memberships = vec![link("a", Some(date(2026, 8, 1)), None, MEMBER)];
    let plan = planned(&current, vec![sent]);
    let after = carried_out(&current, &plan);
    let before = dated("a", date(2026, 1, 1), Some(date(2026, 7, 31)), MEMBER);
    let since = dated("a", date(2026, 8, 1), None, MEMBER);
    assert_eq!(after.people[0].memberships, [before, since]);
}

#[test]
fn an_earlier_first_day_is_a_correction() {
    let current = two();
    let mut sent = row(1, "P-1", "Runa Falk");
    sent.memberships = vec![link("a", Some(date(2025, 8, 1)), None, MEMBER)];
    let after = carried_out(&current, &planned(&current, vec![sent]));
    assert_eq!(
        after.people[0].memberships,
        [dated("a", date(2025, 8, 1), None, MEMBER)]
    );
}

#[test]
fn squads_without_a_key_are_left_alone() {
    let mut person = known("P-1", "Runa Falk", "a");
    person.memberships[0].key = None;
    let current = roster(&["a"], vec![person]);
    let plan = plan(&current, &incoming(Mode::Full, Vec::new()));
    assert_eq!((plan.people.len(), plan.members), (0, 0));
}

#[test]
fn rows_that_cannot_be_taken_say_why() {
    let cases: [Case; 9] = [
        (
            "unreadable",
            |row| row.is_readable = false,
            Part::Key,
            FaultKind::Unreadable,
        ),
        (
            "no name",
            |row| (row.key, row.details.name) = ("P-9".to_owned(), None),
            Part::Name,
            FaultKind::NoName,
        ),
        (
            "squad",
            |row| row.memberships[0].key = "z".to_owned(),
            Part::Membership(0),
            FaultKind::UnknownSquad,
        ),
        (
            "own",
            |row| row.guardians = vec![link("P-1", None, None, ())],
            Part::Guardian(0),
            FaultKind::OwnGuardian,
        ),
        (
            "reversed",
            |row| {
                (row.memberships[0].from, row.memberships[0].to) =
                    (Some(TODAY), Some(date(2026, 11, 8)));
            },
            Part::Membership(0),
            FaultKind::Reversed,
        ),
        (
            "already over",
            |row| (row.key, row.memberships[0].to) = ("P-9".to_owned(), Some(date(2026, 11, 8))),
            Part::Membership(0),
            FaultKind::Reversed,
        ),
        (
            "overlap",
            |row| {
                row.memberships = vec![
                    link("b", Some(TODAY), None, MEMBER),
                    link("b", Some(TODAY), None, MAIN),
                ];
            },
            Part::Membership(0),
            FaultKind::Overlapping,
        ),
        (
            "two main squads",
            |row| {
                row.memberships = vec![
                    link("a", None, None, MAIN),
                    link("b", Some(TODAY), None, MAIN),
                ];
            },
            Part::Membership(0),
            FaultKind::SecondPrimary,
        ),
        (
            "too many",
            |row| {
                row.guardians = (0..51)
                    .map(|number| link(&format!("G-{number}"), None, None, ()))
                    .collect();
            },
            Part::Guardian(9),
            FaultKind::TooMany,
        ),
    ];
    for (name, spoil, part, kind) in cases {
        let mut sent = in_squad(7, "P-1", "Runa Falk");
        spoil(&mut sent);
        let plan = planned(&two(), vec![sent]);
        let Outcome::Rejected(faults) = &plan.people[0].outcome else {
            panic!("{name}")
        };
        assert_eq!(faults[0], Fault { row: 7, part, kind }, "{name}");
        assert!(
            plan.people[0].memberships.is_empty() && plan.people[0].guardians.is_empty(),
            "{name}"
        );
    }
}

#[test]
fn rows_of_one_person_are_taken_together_or_not_at_all() {
    let mut second = row(2, "P-1", "Runa Falk");
    second.memberships = vec![link("b", None, None, MAIN)];
    let plan = planned(
        &two(),
        vec![in_squad(1, "P-1", "Runa Falk"), second.clone()],
    );
    assert_eq!(
        (plan.people.len(), plan.people[0].rows.as_slice()),
        (1, &[1, 2][..])
    );
    assert_eq!(
        plan.people[0].memberships,
        [LinkChange::Begin(dated("b", TODAY, None, MAIN))]
    );
    let mut other = second.clone();
    other.details.name = Some("Runa Holm".to_owned());
    let plan = planned(&two(), vec![in_squad(1, "P-1", "Runa Falk"), other]);
    assert_eq!(kinds(of(&plan, "P-1")), [FaultKind::Contradicted; 2]);
    second.memberships[0].key = "z".to_owned();
    let plan = planned(&two(), vec![in_squad(1, "P-1", "Runa Falk"), second]);
    assert_eq!(
        kinds(of(&plan, "P-1")),
        [FaultKind::BesideRejected, FaultKind::UnknownSquad]
    );
}

#[test]
fn a_rejected_or_nameless_row_makes_nobody_leave() {
    let mut spoiled = in_squad(1, "P-2", "Ida Lund");
    spoiled.is_readable = false;
    let sent = vec![in_squad(2, "P-1", "Runa Falk"), spoiled];
    let plan_of = |incoming: &Incoming| plan(&two(), incoming);
    assert_eq!(plan_of(&incoming(Mode::Full, sent)).leaving, 0);
    let nameless = Incoming {
        has_nameless: true,
        ..incoming(Mode::Full, Vec::new())
    };
    assert_eq!(plan_of(&nameless).people, []);
    assert!(!nameless.judges_leaving());
    assert!(incoming(Mode::Full, Vec::new()).judges_leaving());
    assert!(!incoming(Mode::Delta, Vec::new()).judges_leaving());
}

#[test]
fn another_sources_athlete_is_not_touched() {
    let mut foreign = known("P-1", "Runa Falk", "a");
    foreign.is_own = false;
    let current = roster(&["a"], vec![foreign]);
    let plan_of = |people| plan(&current, &incoming(Mode::Full, people));
    assert_eq!(
        kinds(of(&plan_of(vec![in_squad(1, "P-1", "Runa Falk")]), "P-1")),
        [FaultKind::OfOtherSource]
    );
    let nobody = plan_of(Vec::new());
    assert_eq!((nobody.people.len(), nobody.members), (0, 0));
}

#[test]
fn a_full_roster_that_names_no_guardian_ends_no_link() {
    let guarded = |number, key: &str| PersonRow {
        guardians: vec![link("G-1", None, None, ())],
        ..in_squad(number, key, key)
    };
    let current = roster(&["a"], Vec::new());
    let both = vec![guarded(1, "P-1"), guarded(2, "P-2")];
    let current = carried_out(&current, &plan(&current, &incoming(Mode::Full, both)));
    let unsaid = vec![in_squad(1, "P-1", "P-1"), in_squad(2, "P-2", "P-2")];
    let unsaid = plan(&current, &incoming(Mode::Full, unsaid));
    assert_eq!(*of(&unsaid, "P-1"), Outcome::Unchanged);
    let of_one = vec![guarded(1, "P-1"), in_squad(2, "P-2", "P-2")];
    let of_one = plan(&current, &incoming(Mode::Full, of_one));
    assert_eq!(
        *of(&of_one, "P-2"),
        Outcome::Changed(vec![Field::Guardians])
    );
}

#[test]
fn guardians_in_a_circle_are_refused_and_a_chain_is_fine() {
    let guarded = |number, key: &str, by: &str| PersonRow {
        guardians: vec![link(by, None, None, ())],
        ..row(number, key, key)
    };
    let circle = vec![
        guarded(1, "A", "B"),
        guarded(2, "B", "C"),
        guarded(3, "C", "A"),
        guarded(4, "D", "A"),
    ];
    let current = roster(&[], Vec::new());
    let plan = planned(&current, circle);
    for key in ["A", "B", "C"] {
        assert_eq!(
            kinds(of(&plan, key)),
            [FaultKind::CircularGuardian],
            "{key}"
        );
    }
    assert_eq!(*of(&plan, "D"), Outcome::Created);
    let chain = vec![guarded(1, "A", "B"), guarded(2, "B", "C")];
    let after = carried_out(&current, &planned(&current, chain));
    assert_eq!(after.people.len(), 2);
    let closing = planned(&after, vec![guarded(1, "B", "A")]);
    assert_eq!(
        kinds(of(&closing, "B")),
        [FaultKind::CircularGuardian],
        "with one that is known"
    );
}

#[test]
fn a_likely_second_copy_is_proposed_and_made_all_the_same() {
    let born = Some(date(2011, 3, 14));
    let before = KnownPerson {
        birth_date: born,
        ..known("P-1", "Runa Falk", "a")
    };
    let mut new = in_squad(1, "P-3", "Runa Holm");
    new.details.birth_date = born;
    let mut twice = new.clone();
    (twice.row, twice.key) = (2, "P-4".to_owned());
    let current = roster(&["a"], vec![before]);
    let plan = planned(&current, vec![new.clone(), twice]);
    let of: Vec<_> = plan
        .second_copies
        .iter()
        .map(|copy| (copy.person, copy.of))
        .collect();
    assert_eq!(of, [(0, CopyOf::Known(0)), (1, CopyOf::Known(0))]);
    assert_eq!(plan.people[0].outcome, Outcome::Created);
    new.details.birth_date = Some(date(2011, 3, 15));
    assert_eq!(planned(&current, vec![new]).second_copies, []);
}

#[test]
fn squads_are_made_and_renamed_and_never_ended() {
    let squads = vec![
        squad_row(1, "a", "U16 girls"),
        squad_row(2, "c", "U18 girls"),
    ];
    let sent = Incoming {
        squads,
        ..incoming(Mode::Full, Vec::new())
    };
    let empty = roster(&["a", "b"], Vec::new());
    let made = plan(&empty, &sent);
    let outcomes: Vec<_> = made.squads.iter().map(|squad| &squad.outcome).collect();
    assert_eq!(
        outcomes,
        [&Outcome::Changed(vec![Field::Name]), &Outcome::Created]
    );
    let mut both = sent.clone();
    both.squads[1].key = "a".to_owned();
    let Outcome::Rejected(faults) = &plan(&empty, &both).squads[0].outcome else {
        panic!("two names")
    };
    assert_eq!(
        faults.iter().map(|fault| fault.kind).collect::<Vec<_>>(),
        [FaultKind::Contradicted; 2]
    );
}
