//! Why a figure does not exist.

/// Why a figure, or one of its bounds, is missing. A missing figure is never shown as zero.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Reason {
    /// The seven days reach back before the first membership date.
    FewerThan7Days,
    /// Fewer than 14 dates (or two full ISO weeks) of membership.
    FewerThan14Days,
    /// Fewer than 28 dates of membership.
    FewerThan28Days,
    /// The 28 days contain a day of an absence of 14 days or more.
    AbsenceInWindow,
    /// No load at all in the 28 days.
    NoLoadInWindow,
    /// No load in the 21 prior days, so the uncoupled ratio has no denominator.
    NoPriorLoad,
    /// The mean of the three prior weeks is below the club's chronic floor.
    BelowChronicFloor,
    /// No load in the window.
    NoLoad,
    /// Every value is the same and positive, so there is no deviation to divide by.
    NoVariation,
    /// The unknown days may make all seven equal, so the figure has no upper bound.
    NoVariationPossible,
    /// The earlier seven days have no load, so there is nothing to take a percentage of.
    NoLoadInPreviousWeek,
    /// Fewer than three known weeks before an absence.
    FewerThan3Weeks,
    /// Fewer than four earlier weeks to compare with.
    FewerThan4Weeks,
    /// Fewer than twelve months of membership, and the months before it might decide.
    FewerThan12Months,
    /// Fewer than six earlier weeks for an own baseline.
    FewerThan6Weeks,
    /// Fewer than five ratings to compare with what was intended.
    FewerThan5Ratings,
    /// The athlete's total may not be shown to the reader.
    TotalNotShared,
    /// The date of birth is not known, so there is no age to compare with.
    NoBirthDate,
    /// No earlier game or session to count from, or none to compare with.
    NothingBefore,
    /// No injury is entered, so no side is the involved one.
    NoInjuryEntered,
    /// Both sides were injured, so none can be the measure of the other.
    BothSidesInjured,
    /// A side was not tested on the day.
    SideNotTested,
    /// No test from before the injury.
    NoTestBeforeInjury,
    /// Nobody counted this.
    NotCounted,
    /// Not every session was counted, so what was counted is "at least".
    PartlyCounted,
    /// No session is planned, so there is nothing to take a percentage of.
    NothingPlanned,
    /// No session was expected, or what kept her from it was known.
    NothingExpected,
    /// Nobody said anything about it.
    NothingSaid,
    /// The series that was read does not reach over the whole window.
    NotRead,
}

impl Reason {
    /// The stable code of an answer.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Reason::FewerThan7Days => "fewer_than_7_days",
            Reason::FewerThan14Days => "fewer_than_14_days",
            Reason::FewerThan28Days => "fewer_than_28_days",
            Reason::AbsenceInWindow => "absence_in_window",
            Reason::NoLoadInWindow => "no_load_in_window",
            Reason::NoPriorLoad => "no_prior_load",
            Reason::BelowChronicFloor => "below_chronic_floor",
            Reason::NoLoad => "no_load",
            Reason::NoVariation => "no_variation",
            Reason::NoVariationPossible => "no_variation_possible",
            Reason::NoLoadInPreviousWeek => "no_load_in_previous_week",
            Reason::FewerThan3Weeks => "fewer_than_3_weeks",
            Reason::FewerThan4Weeks => "fewer_than_4_weeks",
            Reason::FewerThan12Months => "fewer_than_12_months",
            Reason::FewerThan6Weeks => "fewer_than_6_weeks",
            Reason::FewerThan5Ratings => "fewer_than_5_ratings",
            Reason::TotalNotShared => "total_not_shared",
            Reason::NoBirthDate => "no_birth_date",
            Reason::NothingBefore => "nothing_before",
            Reason::NoInjuryEntered => "no_injury_entered",
            Reason::BothSidesInjured => "both_sides_injured",
            Reason::SideNotTested => "side_not_tested",
            Reason::NoTestBeforeInjury => "no_test_before_injury",
            Reason::NotCounted => "not_counted",
            Reason::PartlyCounted => "partly_counted",
            Reason::NothingPlanned => "nothing_planned",
            Reason::NothingExpected => "nothing_expected",
            Reason::NothingSaid => "nothing_said",
            Reason::NotRead => "not_read",
        }
    }
}
