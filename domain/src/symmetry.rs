//! Tests of both sides against each other, and against what they were before an injury.
//!
//! Where more is better: `100 x involved / uninvolved`, in per cent; where less is better, as of a timed hop, `100 x uninvolved /
//! involved`. The uninvolved side loses capacity too and flatters that figure, so a second one compares the involved side with what the
//! uninvolved one was before the injury. With both sides injured there is no uninvolved one: each side is compared with itself before.
//! Common practice, no source for the formula.
//!
//! 90 % is the usual pass mark in the literature (Gokeler A, et al. 2017, Knee Surg Sports Traumatol Arthrosc 25:192-199). It is told
//! beside the figures and decides nothing; no figure here clears anybody.

use crate::exact::Fraction;
use crate::reason::Reason;
use crate::test_trial::{Better, Measured, Side};

/// The usual pass mark, per cent.
pub const USUAL_PASS_MARK: i64 = 90;

/// One test on one day: what each side came to, and what it was before the injury.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BothSides {
    /// Which way is better.
    pub better: Better,
    /// The left and the right side on the day.
    pub now: [Option<Measured>; 2],
    /// The left and the right side before the injury.
    pub before: [Option<Measured>; 2],
}

/// What a test says of the sides, in per cent.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Symmetry {
    /// The involved side of the uninvolved one.
    pub index: Result<Fraction, Reason>,
    /// The involved side of what the uninvolved one was before the injury.
    pub against_before: Result<Fraction, Reason>,
    /// What the uninvolved side has lost since before the injury; negative where it has gained.
    pub uninvolved_lost: Result<Fraction, Reason>,
    /// Each side of what it was itself before the injury, left and right.
    pub of_itself: [Result<Fraction, Reason>; 2],
}

/// Compares the sides. `involved` is the injured side, if an injury is entered.
///
/// Each figure that does not exist has its reason: [`Reason::NoInjuryEntered`], [`Reason::BothSidesInjured`],
/// [`Reason::SideNotTested`] or [`Reason::NoTestBeforeInjury`].
#[must_use]
pub fn symmetry(test: &BothSides, involved: Option<Side>) -> Symmetry {
    let of_itself = [0, 1].map(|side| percent(test, now(test, side), before(test, side)));
    let (hurt, other) = match involved {
        Some(Side::Left) => (0, 1),
        Some(Side::Right) => (1, 0),
        Some(Side::Both) => return without_sides(Reason::BothSidesInjured, of_itself),
        None => return without_sides(Reason::NoInjuryEntered, of_itself),
    };
    Symmetry {
        index: percent(test, now(test, hurt), now(test, other)),
        against_before: percent(test, now(test, hurt), before(test, other)),
        uninvolved_lost: of_itself[other].map(|of_itself| Fraction::whole(100).less(of_itself)),
        of_itself,
    }
}

const fn without_sides(reason: Reason, of_itself: [Result<Fraction, Reason>; 2]) -> Symmetry {
    Symmetry {
        index: Err(reason),
        against_before: Err(reason),
        uninvolved_lost: Err(reason),
        of_itself,
    }
}

fn now(test: &BothSides, side: usize) -> Result<Measured, Reason> {
    test.now[side].ok_or(Reason::SideNotTested)
}

fn before(test: &BothSides, side: usize) -> Result<Measured, Reason> {
    test.before[side].ok_or(Reason::NoTestBeforeInjury)
}

/// How much of `whole` a side reaches, more being better whichever way the test is read.
fn percent(
    test: &BothSides,
    part: Result<Measured, Reason>,
    whole: Result<Measured, Reason>,
) -> Result<Fraction, Reason> {
    let (part, whole) = (part?, whole?);
    Ok(match test.better {
        Better::Higher => part.percent_of(whole),
        Better::Lower => whole.percent_of(part),
    })
}

/// How many tests reach the usual pass mark.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct AtPassMark {
    /// Tests with a figure.
    pub tests: usize,
    /// Of them, at or above the mark by the sides on the day.
    pub by_index: usize,
    /// At or above it where the figure against before the injury is taken instead, if there is one.
    pub by_before: usize,
}

/// Counts the tests at or above the usual pass mark, exactly; those without a figure are left out.
#[must_use]
pub fn at_pass_mark(tests: &[Symmetry]) -> AtPassMark {
    let mark = Fraction::whole(USUAL_PASS_MARK);
    let counted = tests.iter().filter_map(|test| {
        let index = test.index.ok()?;
        Some((index, test.against_before.unwrap_or(index)))
    });
    AtPassMark {
        tests: counted.clone().count(),
        by_index: counted.clone().filter(|(index, _)| *index >= mark).count(),
        by_before: counted.filter(|(_, before)| *before >= mark).count(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exact::Places;
    use crate::test_trial::{TrialValue, Trials, TrialsBy};

    fn measured(better: Better, trials: &[&str]) -> Option<Measured> {
        let trials = trials.iter().map(|text| TrialValue::parse(text).unwrap());
        let trials = Trials::new(trials.collect()).unwrap();
        Some(trials.measured(TrialsBy::Mean, better))
    }

    fn printed(figure: Result<Fraction, Reason>) -> Result<String, Reason> {
        figure.map(|figure| figure.round(Places::Two).to_string())
    }

    fn ok(text: &str) -> Result<String, Reason> {
        Ok(text.to_owned())
    }

    /// S17: left knee, four tests; the right side hopped 150 cm before.
    fn s17() -> [BothSides; 4] {
        let sides = |better, left: &[&str], right: &[&str], before| BothSides {
            better,
            now: [measured(better, left), measured(better, right)],
            before: [None, before],
        };
        let twice = |text| [text, text];
        let (higher, lower) = (Better::Higher, Better::Lower);
        let before = measured(higher, &twice("150"));
        [
            sides(
                higher,
                &["126", "128", "130"],
                &["140", "142", "144"],
                before,
            ),
            sides(higher, &twice("402"), &twice("455"), None),
            sides(lower, &twice("2.10"), &twice("1.95"), None),
            sides(higher, &twice("2.1"), &twice("2.5"), None),
        ]
    }

    #[test]
    fn s17_both_figures_and_the_direction() {
        let tests = s17().map(|test| symmetry(&test, Some(Side::Left)));
        let indices = tests.map(|test| printed(test.index));
        assert_eq!(indices, ["90.14", "88.35", "92.86", "84"].map(ok));
        assert_eq!(printed(tests[0].against_before), ok("85.33"));
        assert_eq!(printed(tests[0].uninvolved_lost), ok("5.33"));
        assert_eq!(tests[1].against_before, Err(Reason::NoTestBeforeInjury));
        let counted = AtPassMark {
            tests: 4,
            by_index: 2,
            by_before: 1,
        };
        assert_eq!(at_pass_mark(&tests), counted);
    }

    #[test]
    fn the_other_way_round_the_right_side_is_compared() {
        let [hop, ..] = s17();
        let right = symmetry(&hop, Some(Side::Right));
        assert_eq!(printed(right.index), ok("110.94"));
        assert_eq!(right.against_before, Err(Reason::NoTestBeforeInjury));
        assert_eq!(printed(right.of_itself[1]), ok("94.67"));
    }

    #[test]
    fn with_both_sides_injured_each_is_compared_with_itself_alone() {
        let [mut hop, ..] = s17();
        hop.before[0] = measured(hop.better, &["160", "160"]);
        let both = symmetry(&hop, Some(Side::Both));
        let none = Err(Reason::BothSidesInjured);
        assert_eq!(
            (both.index, both.against_before, both.uninvolved_lost),
            (none, none, none)
        );
        assert_eq!(both.of_itself.map(printed), ["80", "94.67"].map(ok));
        assert_eq!(at_pass_mark(&[both]).tests, 0);
    }

    #[test]
    fn without_an_injury_or_a_side_there_is_no_figure() {
        let [mut hop, ..] = s17();
        assert_eq!(symmetry(&hop, None).index, Err(Reason::NoInjuryEntered));
        hop.now[1] = None;
        let one_side = symmetry(&hop, Some(Side::Left));
        assert_eq!(one_side.index, Err(Reason::SideNotTested));
        assert_eq!(printed(one_side.against_before), ok("85.33"));
    }

    #[test]
    fn exactly_ninety_is_at_the_mark() {
        let index = |left: &str| {
            let test = BothSides {
                better: Better::Higher,
                now: [
                    measured(Better::Higher, &[left, left]),
                    measured(Better::Higher, &["100", "100"]),
                ],
                before: [None, None],
            };
            at_pass_mark(&[symmetry(&test, Some(Side::Left))]).by_index
        };
        assert_eq!(
            (index("90"), index("89.999")),
            (1, 0),
            "89.999 prints as 90"
        );
    }
}
