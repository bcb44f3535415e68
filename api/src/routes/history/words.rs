//! What a history says in words: what it leaves out, and what the literature says beside it.

use plimsoll_domain::AtPassMark;
use plimsoll_domain::symmetry::USUAL_PASS_MARK;

/// Said on every history.
pub(super) const NOTE: &str = "This service does not clear anyone. The decision and its record belong to a licensed clinician under \
    local rules.";

/// Said beside ceilings and tests. Sources: Grindem H, et al. (2016) Br J Sports Med 50(13):804-808, read second hand; the shares of the
/// ceilings: value from memory.
pub(super) const EVIDENCE: &[&str] = &[
    "The ceilings apply published reductions for transition periods to session load by the club's choice; they are no medical limit.",
    "After reconstruction of a knee ligament, re-injury was 51 % rarer for each month that return to pivoting sport was put off, up to \
     nine months (Grindem H, et al. 2016, Br J Sports Med 50(13):804-808, as others cite it). That is about groups, not about one \
     person.",
];

/// Said where consent to tests is wanting, whether there are any or not.
pub(super) const TESTS_WITHHELD: (&str, &str) = (
    "tests",
    "Nobody has consented to results of tests being read, or no longer does, so whether there are any is not said. Ask her guardians, \
     or her once she decides for herself.",
);

/// Said where consent to pain reports is wanting, whether there are any or not.
pub(super) const PAIN_WITHHELD: (&str, &str) = (
    "pain_reports",
    "They are read by consent alone, and nobody has consented, or no longer does. Ask her.",
);

/// What a clinician may look for here and not find, and why.
pub(super) const NOT_INCLUDED: &[(&str, &str)] = &[
    (
        "jumps_and_throws",
        "They are known only of sessions in which somebody counted them; of the others nobody can say how many there were.",
    ),
    (
        "other_clubs",
        "Sessions of organisations that do not report to this club are not known, nor how many there were, save for the totals that her \
         family lets one share. How many share nothing stands under what is not known, as far as her family named them.",
    ),
];

/// How many tests reach the usual pass mark; nothing where no test has a figure.
pub(super) fn at_pass_mark(counted: AtPassMark) -> Option<String> {
    let AtPassMark {
        tests,
        by_index,
        by_before,
    } = counted;
    (tests > 0).then(|| {
        format!(
            "By the newest day of each test, {by_index} of {tests} are at or above {USUAL_PASS_MARK} % of the other side; {by_before} of \
             {tests} where the other side's value from before the injury is taken instead, as far as there is one. {USUAL_PASS_MARK} % \
             is the usual pass mark in the literature (Gokeler A, et al. 2017, Knee Surg Sports Traumatol Arthrosc 25:192-199); it \
             decides nothing."
        )
    })
}
