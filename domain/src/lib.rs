//! Training-load figures of young athletes: pure computation, exact to the last rounding.
//!
//! This crate knows no HTTP, no database, no clock, no time zone and no JSON. It takes day totals
//! by local date and gives figures, each with the bounds that unlogged sessions leave open, or the
//! reason why it does not exist.
//!
//! The figures describe the load that was logged. They predict no injury, they do not show that
//! anyone is safe, and they clear nobody to train or play.

pub mod ahead;
pub mod baseline;
pub mod change;
mod coded;
pub mod columns;
pub mod day;
pub mod day_figures;
pub mod day_state;
pub mod declared;
mod earlier_weeks;
pub mod entry;
mod evenness;
pub mod ewma;
pub mod exact;
pub mod figure;
pub mod habit;
pub mod instance;
pub mod judge;
pub mod known_test;
pub mod limited_span;
pub mod load;
pub mod matching;
pub mod missing;
pub mod moments;
pub mod monotony;
pub mod overlap;
pub mod own_highest;
pub mod policy;
mod policy_check;
mod policy_example;
pub mod ramp;
pub mod ratio;
pub mod reason;
pub mod rehearsal;
pub mod restriction;
pub mod return_share;
pub mod rule;
mod sentence;
pub mod series;
pub mod session;
pub mod share;
pub mod strain;
pub mod suggestions;
pub mod symmetry;
pub mod test_trial;
pub mod units;
pub mod usual;
pub mod usual_bounds;
pub mod week;
pub mod week_figures;
pub mod weekly_list;
pub mod window;

pub use ahead::{Ahead, PlannedDay, PlannedSession, PlannedWeek, ahead};
pub use baseline::Baseline;
pub use change::Change;
pub use day::{DayTotal, DayTotalError};
pub use day_figures::{DayFigures, FigureSettings, day_figures, day_figures_iter};
pub use day_state::{Absence, DayFacts, DayState, NothingSaid, StateCounts, state_of};
pub use declared::DeclaredHistory;
pub use entry::{AthleteWeek, Entry, Finding};
pub use ewma::{Ewma, Seed};
pub use exact::{Decimal, DecimalError, Fraction, Places, Root};
pub use figure::{Bounds, Figure};
pub use habit::{little_information, mean_gap};
pub use instance::{Attendance, Counted, Dispute, MinutesFrom, Report, counted};
pub use judge::{Certainty, Judgement, Outcome, judge, judge_figures};
pub use known_test::{KNOWN_TESTS, KnownTest};
pub use load::{Load, LoadChange};
pub use matching::{OneSession, PlannedSlot, ReportedSlot, Slot};
pub use missing::{BreakEven, Missing, OpenSession};
pub use moments::{Divisor, Moments};
pub use monotony::ByDivisor;
pub use overlap::{Interval, Overlap, overlaps};
pub use own_highest::OwnHighest;
pub use policy::{Midnight, Policy, PolicyDraft, PolicyFault, PolicyProblem, SecondApprover};
pub use ramp::{Binding, Ramp, RampWeek, Returning, returning, returning_on};
pub use ratio::RatioKind;
pub use reason::Reason;
pub use rehearsal::{GroupWeek, Rehearsal, Tally};
pub use return_share::{ReturnShare, return_share};
pub use rule::{Rule, RuleCode};
pub use sentence::return_week;
pub use series::{DailySeries, SeriesError};
pub use session::{Basis, GivenBy, Kind, SessionWarning, Setting, split_at_midnight, warnings};
pub use share::{SettingLoad, share};
pub use symmetry::{AtPassMark, BothSides, Symmetry, at_pass_mark, symmetry};
pub use test_trial::{Better, Measured, Phase, Side, TrialValue, Trials, TrialsBy};
pub use units::{Minutes, MinutesError, Rpe, RpeError};
pub use usual::UsualRange;
pub use usual_bounds::{UsualBounds, usual_bounds};
pub use week::{IsoWeek, WeekError};
pub use week_figures::{WeekFigures, week_figures, week_figures_of};
pub use weekly_list::{MostlyUnlogged, WeeklyList, weekly_list};
pub use window::ChronicWeek;
