//! The order in which landings are learnt.

use crate::coded::coded_enum;
use crate::contacts::Landing;

coded_enum! {
    /// A step of the sequence of landings, the first one first. Common practice, no source.
    JumpStep {
        /// On both feet.
        BothFeet = "both_feet",
        /// On both feet with a load.
        BothFeetLoaded = "both_feet_loaded",
        /// On one foot.
        OneFoot = "one_foot",
        /// On one foot with a load.
        OneFootLoaded = "one_foot_loaded",
    }
}

impl JumpStep {
    /// The step of a landing; `None` where none is on a foot.
    #[must_use]
    pub const fn of(landing: Landing, loaded: bool) -> Option<JumpStep> {
        match (landing, loaded) {
            (Landing::None, _) => None,
            (Landing::BothFeet, false) => Some(JumpStep::BothFeet),
            (Landing::BothFeet, true) => Some(JumpStep::BothFeetLoaded),
            (_, false) => Some(JumpStep::OneFoot),
            (_, true) => Some(JumpStep::OneFootLoaded),
        }
    }

    /// The step before; `None` before the first.
    #[must_use]
    pub const fn before(self) -> Option<JumpStep> {
        match self {
            JumpStep::BothFeet => None,
            JumpStep::BothFeetLoaded => Some(JumpStep::BothFeet),
            JumpStep::OneFoot => Some(JumpStep::BothFeetLoaded),
            JumpStep::OneFootLoaded => Some(JumpStep::OneFoot),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_step_follows_the_one_before_it() {
        let follows = JumpStep::ALL.windows(2);
        assert!(
            follows
                .into_iter()
                .all(|two| two[1].before() == Some(two[0]))
        );
        assert_eq!(JumpStep::BothFeet.before(), None);
    }

    #[test]
    fn one_foot_is_one_foot_whichever() {
        for landing in [Landing::EachFoot, Landing::LeftFoot, Landing::RightFoot] {
            assert_eq!(JumpStep::of(landing, false), Some(JumpStep::OneFoot));
            assert_eq!(JumpStep::of(landing, true), Some(JumpStep::OneFootLoaded));
        }
        assert_eq!(JumpStep::of(Landing::None, true), None, "a carry");
    }
}
