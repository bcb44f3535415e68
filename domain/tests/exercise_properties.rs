//! Whatever a club enters: no exercise ever has to come before itself, and no step of the landings is skipped.
#![allow(clippy::unwrap_used)]

use std::collections::BTreeSet;

use plimsoll_domain::contacts::Landing;
use plimsoll_domain::exercises::{
    Catalogue, CatalogueError, CatalogueExercise, ExerciseCode, ExerciseSides, JumpStep, Progress,
    TrainingCategory,
};
use proptest::prelude::*;

const OWN: [&str; 6] = ["own_a", "own_b", "own_c", "own_d", "own_e", "own_f"];

fn code(text: &str) -> ExerciseCode {
    ExerciseCode::parse(text).unwrap()
}

fn own(text: &str, landing: Option<Landing>, loaded: bool, before: &[&str]) -> CatalogueExercise {
    CatalogueExercise {
        code: code(text),
        name: "Our own".to_owned(),
        description: "As we do it.".to_owned(),
        category: TrainingCategory::Landing,
        components: Vec::new(),
        sides: ExerciseSides::Both,
        landing,
        hands: 0,
        loaded,
        prerequisites: before.iter().map(|text| code(text)).collect(),
        equal_choice: None,
        taught: false,
        caution: None,
    }
}

/// An exercise of the club, with anything before it and in any group.
fn any_own() -> impl Strategy<Value = CatalogueExercise> {
    let names: Vec<String> = Catalogue::of([])
        .exercises()
        .map(|one| one.code.to_string())
        .chain(OWN.map(str::to_owned))
        .collect();
    let landing = prop::option::of(prop::sample::select(Landing::ALL));
    let before = prop::collection::vec(prop::sample::select(names), 0..4);
    let group = prop::option::of(prop::sample::select(vec![
        "jumps_on_both_feet",
        "own_group",
    ]));
    let named = prop::sample::select(OWN.to_vec());
    (named, landing, any::<bool>(), before, group).prop_map(
        |(named, landing, loaded, before, group)| {
            let before: Vec<&str> = before.iter().map(String::as_str).collect();
            CatalogueExercise {
                equal_choice: group.map(code),
                ..own(named, landing, loaded, &before)
            }
        },
    )
}

/// What a catalogue comes to when these are entered one after the other, as far as they are accepted.
fn entered(all: Vec<CatalogueExercise>) -> Catalogue {
    all.into_iter().fold(Catalogue::of([]), |catalogue, one| {
        catalogue.with(one).unwrap_or(catalogue)
    })
}

/// The steps at which something stands.
fn steps(catalogue: &Catalogue, standing: &BTreeSet<ExerciseCode>) -> BTreeSet<JumpStep> {
    let all = standing.iter().filter_map(|code| catalogue.get(code));
    all.filter_map(CatalogueExercise::step).collect()
}

proptest! {
    #[test]
    fn whatever_is_accepted_can_be_signed_off_in_some_order_and_nothing_is_its_own_condition(
        all in prop::collection::vec(any_own(), 0..24),
    ) {
        let catalogue = entered(all);
        let every: BTreeSet<_> = catalogue.exercises().map(|one| one.code.clone()).collect();
        // A circle would never stand.
        prop_assert_eq!(catalogue.standing(&every), every.clone());
    }

    #[test]
    fn what_may_come_next_never_skips_a_step(
        all in prop::collection::vec(any_own(), 0..16),
        picks in prop::collection::vec(any::<prop::sample::Index>(), 1..40),
    ) {
        let catalogue = entered(all);
        let mut signed = BTreeSet::new();
        for pick in picks {
            let may = |one: &&CatalogueExercise| {
                !signed.contains(&one.code) && catalogue.missing(&one.code, &signed) == Some(Vec::new())
            };
            let open: Vec<_> = catalogue.exercises().filter(may).collect();
            if open.is_empty() { break; }
            let there = steps(&catalogue, &signed);
            for one in &open {
                let before = one.step().and_then(JumpStep::before);
                prop_assert!(before.is_none_or(|before| there.contains(&before)), "{} skips", one.code);
            }
            let last = pick.get(&open).code.clone();
            signed.insert(last.clone());
            for next in Progress::new(&catalogue, signed.clone()).next_after(&last) {
                prop_assert!(!signed.contains(&next.code));
                prop_assert_eq!(catalogue.missing(&next.code, &signed), Some(Vec::new()));
            }
        }
    }

    #[test]
    fn whatever_is_withdrawn_takes_along_what_builds_on_it_alone(
        all in prop::collection::vec(any_own(), 0..12),
        gone in any::<prop::sample::Index>(),
    ) {
        let catalogue = entered(all);
        let mut signed: BTreeSet<_> = catalogue.exercises().map(|one| one.code.clone()).collect();
        let gone = gone.get(&signed.iter().cloned().collect::<Vec<_>>()).clone();
        signed.remove(&gone);
        let standing = catalogue.standing(&signed);
        prop_assert!(standing.is_subset(&signed));
        for code in &standing {
            prop_assert_eq!(catalogue.missing(code, &standing), Some(Vec::new()));
        }
    }
}

#[test]
fn a_circle_is_refused_where_it_closes() {
    let one = Catalogue::of([])
        .with(own("own_a", None, false, &["squat"]))
        .unwrap();
    let two = one.with(own("own_b", None, false, &["own_a"])).unwrap();
    assert_eq!(
        two.with(own("own_a", None, false, &["squat", "own_b"])),
        Err(CatalogueError::Circular(code("own_b")))
    );
    assert_eq!(
        two.with(own("own_c", None, false, &["own_c"])),
        Err(CatalogueError::Circular(code("own_c")))
    );
    assert_eq!(
        two.with(own("own_c", None, false, &["own_z"])),
        Err(CatalogueError::UnknownPrerequisite(code("own_z")))
    );
    assert_eq!(
        two.without(&code("own_a")),
        Err(CatalogueError::Needed(code("own_b")))
    );
    assert!(two.without(&code("own_b")).is_ok());
}

#[test]
fn a_landing_builds_on_the_step_before_it() {
    let catalogue = Catalogue::of([]);
    let on_one =
        |before: &[&str]| catalogue.with(own("own_a", Some(Landing::EachFoot), false, before));
    let skipped = CatalogueError::StepSkipped(JumpStep::BothFeetLoaded);
    assert_eq!(on_one(&[]), Err(skipped.clone()));
    assert_eq!(on_one(&["block_jump"]), Err(skipped));
    assert!(on_one(&["squat_jump_loaded"]).is_ok());
    assert!(on_one(&["hurdle_hop_one_leg"]).is_ok(), "the same step");
    assert_eq!(
        on_one(&["squat_jump_loaded", "hop_one_leg_loaded"]),
        Err(CatalogueError::LaterStep(code("hop_one_leg_loaded")))
    );
    // What others build on does not become a later step under them.
    let base = catalogue
        .with(own("own_a", Some(Landing::BothFeet), false, &["squat"]))
        .unwrap();
    let loaded = base
        .with(own("own_b", Some(Landing::BothFeet), true, &["own_a"]))
        .unwrap();
    assert_eq!(
        loaded.with(own("own_a", Some(Landing::None), false, &["squat"])),
        Err(CatalogueError::Needed(code("own_b")))
    );
    let mixed = CatalogueExercise {
        equal_choice: Some(code("hops_on_one_leg")),
        ..own("own_c", Some(Landing::BothFeet), false, &[])
    };
    assert!(matches!(
        catalogue.with(mixed),
        Err(CatalogueError::OtherStepInGroup(_))
    ));
}

#[test]
fn any_of_equal_choice_leads_on_and_a_withdrawn_step_stops_what_follows() {
    let catalogue = Catalogue::of([]);
    let codes = |texts: &[&str]| texts.iter().map(|text| code(text)).collect::<BTreeSet<_>>();
    let next = |after: &str, signed: &[&str]| {
        let progress = Progress::new(&catalogue, codes(signed));
        let next = progress.next_after(&code(after)).into_iter();
        next.map(|one| one.code.to_string()).collect::<Vec<_>>()
    };
    let held = "step_off_landing_both_feet";
    assert_eq!(
        next(held, &["squat", held]),
        ["block_jump", "hurdle_hop_both_feet", "standing_long_jump"]
    );
    let jumped = ["squat", held, "standing_long_jump", "squat_loaded"];
    assert_eq!(next("standing_long_jump", &jumped), ["squat_jump_loaded"]);
    assert_eq!(
        next("standing_long_jump", &jumped[1..]),
        [""; 0],
        "squat is withdrawn"
    );
    let missing = catalogue.missing(&code("squat_jump_loaded"), &codes(&["squat", held]));
    let missing: Vec<_> = missing
        .unwrap()
        .into_iter()
        .map(ExerciseCode::as_str)
        .collect();
    assert_eq!(missing, ["block_jump", "squat_loaded"]);
}
