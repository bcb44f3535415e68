//! The exercises that the service comes with: our own text, for a handball club. Common practice, no source.
//!
//! None states a dose or a height: those are the coach's.

use super::{CatalogueExercise, ExerciseCode, ExerciseSides, TrainingCategory};
use crate::contacts::Landing;
use crate::neuromuscular::ExerciseCategory::{self, Agility, Balance, Flexibility, Jump, Strength};

/// An exercise as it is written down here.
#[derive(Clone, Copy)]
struct Shipped {
    code: &'static str,
    name: &'static str,
    description: &'static str,
    category: TrainingCategory,
    components: &'static [ExerciseCategory],
    sides: ExerciseSides,
    landing: Option<Landing>,
    hands: u8,
    loaded: bool,
    prerequisites: &'static [&'static str],
    equal_choice: Option<&'static str>,
    taught: bool,
    caution: Option<&'static str>,
}

/// The exercises.
pub(super) fn exercises() -> impl Iterator<Item = CatalogueExercise> {
    EXERCISES.iter().map(|one| CatalogueExercise {
        code: ExerciseCode::shipped(one.code),
        name: one.name.to_owned(),
        description: one.description.to_owned(),
        category: one.category,
        components: one.components.to_vec(),
        sides: one.sides,
        landing: one.landing,
        hands: one.hands,
        loaded: one.loaded,
        prerequisites: one
            .prerequisites
            .iter()
            .map(|code| ExerciseCode::shipped(code))
            .collect(),
        equal_choice: one.equal_choice.map(ExerciseCode::shipped),
        taught: one.taught,
        caution: one.caution.map(str::to_owned),
    })
}

/// On both legs, without a load, landing on nothing, after nothing, and to be tried without a teacher.
const PLAIN: Shipped = Shipped {
    code: "",
    name: "",
    description: "",
    category: TrainingCategory::Strength,
    components: &[Strength],
    sides: ExerciseSides::Both,
    landing: Some(Landing::None),
    hands: 0,
    loaded: false,
    prerequisites: &[],
    equal_choice: None,
    taught: false,
    caution: None,
};

/// A landing on both feet, to be taught.
const JUMP: Shipped = Shipped {
    category: TrainingCategory::Landing,
    components: &[Jump],
    landing: Some(Landing::BothFeet),
    taught: true,
    ..PLAIN
};

/// A landing on one foot, as often on either.
const HOP: Shipped = Shipped {
    sides: ExerciseSides::Each,
    components: &[Jump, Balance],
    landing: Some(Landing::EachFoot),
    ..JUMP
};

/// Running and turning.
const RUN: Shipped = Shipped {
    category: TrainingCategory::Speed,
    components: &[Agility],
    ..PLAIN
};

#[rustfmt::skip] // One exercise a paragraph.
const EXERCISES: &[Shipped] = &[
    Shipped {
        code: "squat",
        name: "Squat",
        description: "Feet as wide as the hips, sit down and stand up, knees over the feet, heels on the floor.",
        ..PLAIN
    },
    Shipped {
        code: "squat_loaded",
        name: "Squat with a load",
        description: "The squat with a weight held before the chest or on the back, trunk still.",
        loaded: true,
        prerequisites: &["squat"],
        taught: true,
        caution: Some("Stop where the back rounds or a knee falls inwards."),
        ..PLAIN
    },
    Shipped {
        code: "hip_hinge",
        name: "Hip hinge",
        description: "Bow from the hips with a straight back and soft knees, and come up by the hips.",
        ..PLAIN
    },
    Shipped {
        code: "hip_hinge_loaded",
        name: "Hip hinge with a load",
        description: "The hip hinge with a weight in both hands, close to the legs.",
        loaded: true,
        prerequisites: &["hip_hinge"],
        taught: true,
        caution: Some("Stop where the back rounds."),
        ..PLAIN
    },
    Shipped {
        code: "kneeling_forward_lowering",
        name: "Kneeling forward lowering",
        description: "Kneel with held ankles, lean forward slowly in one line from knee to head, catch yourself with the hands.",
        prerequisites: &["hip_hinge"],
        taught: true,
        caution: Some("The back of the thigh is sore for days after the first time: begin well before a game."),
        ..PLAIN
    },
    Shipped {
        code: "split_squat",
        name: "Split squat",
        description: "One foot far before the other, lower the back knee towards the floor, push up by the front leg.",
        components: &[Strength, Balance],
        sides: ExerciseSides::Each,
        prerequisites: &["squat"],
        ..PLAIN
    },
    Shipped {
        code: "one_leg_squat_to_seat",
        name: "One-leg squat to a seat",
        description: "On one leg, sit down slowly and stand up again, knee over the foot, hips level.",
        components: &[Strength, Balance],
        sides: ExerciseSides::Each,
        prerequisites: &["split_squat"],
        ..PLAIN
    },
    Shipped {
        code: "step_down",
        name: "Slow step down",
        description: "From a low step, lower the other heel to the floor slowly, knee over the foot, and come up again.",
        components: &[Strength, Balance],
        sides: ExerciseSides::Each,
        ..PLAIN
    },
    Shipped {
        code: "press_up",
        name: "Press-up",
        description: "Hands under the shoulders, body in one line, lower the chest to the floor and push up.",
        ..PLAIN
    },
    Shipped {
        code: "row_own_weight",
        name: "Row with own weight",
        description: "Hang under a fixed bar with the body in one line, pull the chest to the bar.",
        ..PLAIN
    },
    Shipped {
        code: "shoulder_outward_rotation_band",
        name: "Outward rotation of the shoulder against a band",
        description: "Elbow at the side and bent, turn the forearm outwards against a band, and let it back slowly.",
        sides: ExerciseSides::Each,
        caution: Some("Not into pain of the throwing shoulder."),
        ..PLAIN
    },
    Shipped {
        code: "side_plank",
        name: "Side plank",
        description: "On one forearm, body in one line, hips up, and hold.",
        components: &[Strength, Balance],
        sides: ExerciseSides::Each,
        ..PLAIN
    },
    Shipped {
        code: "one_leg_stand_with_ball",
        name: "One-leg stand with a ball",
        description: "Stand on one leg with a soft knee, catch and throw a ball without putting the other foot down.",
        components: &[Balance],
        sides: ExerciseSides::Each,
        ..PLAIN
    },
    Shipped {
        code: "lunge_with_trunk_turn",
        name: "Lunge with a turn of the trunk",
        description: "A long step forward, back knee low, turn the trunk over the front leg, and change sides.",
        category: TrainingCategory::Conditioning,
        components: &[Flexibility, Balance],
        sides: ExerciseSides::Each,
        ..PLAIN
    },
    Shipped {
        code: "straight_sprint",
        name: "Straight sprint",
        description: "From a standing start, straight ahead, slowing down over a long way.",
        ..RUN
    },
    Shipped {
        code: "start_on_signal",
        name: "Start on a signal",
        description: "From defence stance, sprint off in the direction that is shown.",
        prerequisites: &["straight_sprint"],
        ..RUN
    },
    Shipped {
        code: "sidestep_cut",
        name: "Sidestep and go",
        description: "Run up, plant the outer foot beside the body, knee over the foot, and leave in the other direction.",
        components: &[Agility, Balance],
        sides: ExerciseSides::Each,
        prerequisites: &["straight_sprint", "step_down"],
        taught: true,
        caution: Some("First slowly and planned, later fast and on a signal."),
        ..RUN
    },
    Shipped {
        code: "shuttle_run",
        name: "Shuttle run",
        description: "Out to a line and back, turning with a low hip, on either foot in turn.",
        category: TrainingCategory::Conditioning,
        ..RUN
    },
    Shipped {
        code: "defence_steps",
        name: "Defence steps",
        description: "Small steps sideways, forward and back in defence stance, feet never crossed.",
        category: TrainingCategory::Conditioning,
        ..RUN
    },
    Shipped {
        code: "loaded_carry",
        name: "Carry",
        description: "Walk upright with a weight in each hand, steps short, shoulders level.",
        category: TrainingCategory::Conditioning,
        loaded: true,
        prerequisites: &["hip_hinge"],
        ..PLAIN
    },
    Shipped {
        code: "fall_and_roll",
        name: "Fall and roll",
        description: "From a knee, later from standing: both hands take the floor, then roll over the shoulder and stand up.",
        components: &[Agility],
        hands: 2,
        landing: Some(Landing::None),
        prerequisites: &["press_up"],
        caution: Some("On a mat until it is safe; not with a sore wrist."),
        ..JUMP
    },
    Shipped {
        code: "step_off_landing_both_feet",
        name: "Step-off landing on both feet, held",
        description: "Step off a low edge, land on both feet at once, quiet and with knees over the feet, and hold.",
        prerequisites: &["squat"],
        ..JUMP
    },
    Shipped {
        code: "block_jump",
        name: "Block jump",
        description: "Jump straight up with both arms high, land on both feet, ready to move.",
        prerequisites: &["step_off_landing_both_feet"],
        equal_choice: Some("jumps_on_both_feet"),
        ..JUMP
    },
    Shipped {
        code: "standing_long_jump",
        name: "Standing long jump, landing held",
        description: "Jump forward from both feet, land on both, and hold without a further step.",
        prerequisites: &["step_off_landing_both_feet"],
        equal_choice: Some("jumps_on_both_feet"),
        ..JUMP
    },
    Shipped {
        code: "hurdle_hop_both_feet",
        name: "Two-foot hurdle hop",
        description: "Over a row of low hurdles on both feet, each landing quiet before the next take-off.",
        prerequisites: &["step_off_landing_both_feet"],
        equal_choice: Some("jumps_on_both_feet"),
        ..JUMP
    },
    Shipped {
        code: "squat_jump_loaded",
        name: "Squat jump with a load",
        description: "From a half squat with a light weight, jump up, land on both feet and stand still before the next one.",
        loaded: true,
        components: &[Jump, Strength],
        prerequisites: &["block_jump", "squat_loaded"],
        caution: Some("The load goes where the landing gets loud or a knee falls inwards."),
        ..JUMP
    },
    Shipped {
        code: "step_off_landing_one_foot",
        name: "Step-off landing on one foot, held",
        description: "Step off a low edge, land on one foot with a soft knee over the foot, hips level, and hold.",
        prerequisites: &["squat_jump_loaded", "one_leg_squat_to_seat"],
        ..HOP
    },
    Shipped {
        code: "hurdle_hop_one_leg",
        name: "One-leg hurdle hop",
        description: "Over a row of low hurdles on one leg, each landing quiet before the next take-off.",
        prerequisites: &["step_off_landing_one_foot"],
        equal_choice: Some("hops_on_one_leg"),
        ..HOP
    },
    Shipped {
        code: "lateral_bound",
        name: "Lateral bound",
        description: "Push off sideways from one foot and land on the other, knee over the foot, and hold before going back.",
        prerequisites: &["step_off_landing_one_foot"],
        equal_choice: Some("hops_on_one_leg"),
        ..HOP
    },
    Shipped {
        code: "jump_throw_one_foot",
        name: "Jump throw landing on one foot",
        description: "Take off from one foot after the usual steps, throw, and land on one foot with a soft knee.",
        components: &[Jump],
        prerequisites: &["step_off_landing_one_foot"],
        ..HOP
    },
    Shipped {
        code: "jump_throw_in_play",
        name: "Jump throw in play",
        description: "The jump throw against defenders; how it lands is seen only when it is watched.",
        landing: None,
        components: &[Jump],
        prerequisites: &["jump_throw_one_foot"],
        caution: Some("Landings are not known and have to be counted."),
        ..HOP
    },
    Shipped {
        code: "hop_one_leg_loaded",
        name: "One-leg hop with a load",
        description: "Short hops on one leg with a light weight, each landing held.",
        loaded: true,
        components: &[Jump, Strength, Balance],
        prerequisites: &["hurdle_hop_one_leg"],
        caution: Some("The load goes where the landing gets loud or a knee falls inwards."),
        ..HOP
    },
];

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::super::Catalogue;
    use super::*;

    #[test]
    fn the_shipped_exercises_fit_together() {
        let mut catalogue = Catalogue::of([]);
        let all: Vec<_> = exercises().collect();
        assert_eq!(
            catalogue.exercises().count(),
            all.len(),
            "no code stands twice"
        );
        for one in all {
            assert_eq!(ExerciseCode::parse(one.code.as_str()), Ok(one.code.clone()));
            catalogue = catalogue.with(one).unwrap();
        }
    }

    /// Doses and heights are the coach's.
    #[test]
    fn none_states_a_dose_or_a_height() {
        const DOSES: [&str; 14] = [
            "set",
            "sets",
            "rep",
            "reps",
            "repetition",
            "repetitions",
            "second",
            "seconds",
            "minute",
            "minutes",
            "kg",
            "kilogram",
            "kilograms",
            "cm",
        ];
        for one in exercises() {
            let text = format!(
                "{} {} {}",
                one.name,
                one.description,
                one.caution.unwrap_or_default()
            );
            assert!(!text.contains(|c: char| c.is_numeric()), "{text}");
            let words = text
                .split(|c: char| !c.is_alphabetic())
                .map(str::to_lowercase);
            let told: Vec<_> = words
                .filter(|word| DOSES.contains(&word.as_str()))
                .collect();
            assert!(told.is_empty(), "{}: {told:?}", one.code);
        }
    }

    #[test]
    fn together_they_hold_all_kinds_and_every_step() {
        let kinds: BTreeSet<_> = exercises().flat_map(|one| one.components).collect();
        assert_eq!(kinds.len(), ExerciseCategory::ALL.len());
        let steps: BTreeSet<_> = exercises().filter_map(|one| one.step()).collect();
        assert_eq!(steps.len(), super::super::JumpStep::ALL.len());
        assert!(
            exercises().any(|one| one.landing.is_none()),
            "one nobody can tell"
        );
    }
}
