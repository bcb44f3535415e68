//! Where something hurts, in plain words: no diagnosis.

use crate::coded::coded_enum;

coded_enum! {
    /// A part of the body, as somebody who is no clinician names it. Common practice, no source.
    BodyArea {
        /// Head or face.
        Head = "head",
        /// Neck.
        Neck = "neck",
        /// Shoulder.
        Shoulder = "shoulder",
        /// Upper arm.
        UpperArm = "upper_arm",
        /// Elbow.
        Elbow = "elbow",
        /// Forearm.
        Forearm = "forearm",
        /// Wrist.
        Wrist = "wrist",
        /// Hand or fingers.
        Hand = "hand",
        /// Chest or ribs.
        Chest = "chest",
        /// Belly.
        Belly = "belly",
        /// Upper or lower back.
        Back = "back",
        /// Hip or groin.
        Hip = "hip",
        /// Thigh.
        Thigh = "thigh",
        /// Knee.
        Knee = "knee",
        /// Lower leg.
        LowerLeg = "lower_leg",
        /// Ankle.
        Ankle = "ankle",
        /// Foot or toes.
        Foot = "foot",
        /// Somewhere else.
        Elsewhere = "elsewhere",
    }
}
