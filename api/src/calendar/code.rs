//! What is wrong with a calendar, as stable codes.

use std::fmt;
use std::sync::Arc;

/// Declares the codes once, with their meaning.
macro_rules! codes {
    ($($(#[doc = $doc:literal])+ $value:ident = $code:literal,)+) => {
        /// Why a text, or one component of it, is not taken. Names in capitals are those of RFC 5545.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Code {
            $($(#[doc = $doc])+ $value,)+
        }

        impl Code {
            /// Every code, in order.
            pub const ALL: &'static [Self] = &[$(Self::$value),+];

            /// The stable code.
            pub const fn code(self) -> &'static str {
                match self {
                    $(Self::$value => $code,)+
                }
            }
        }
    };
}

codes! {
    /// The text is longer than the bound. Refuses the text.
    TextTooLong = "text_too_long",
    /// The text is not UTF-8. Refuses the text.
    NotUtf8 = "not_utf8",
    /// There is no VCALENDAR, or something outside it. Refuses the text.
    NotACalendar = "not_a_calendar",
    /// A BEGIN without its END or the reverse, as in a text cut short. Refuses the text.
    UnbalancedComponents = "unbalanced_components",
    /// Components within components beyond the bound. Refuses the text.
    NestedTooDeep = "nested_too_deep",
    /// More components than the bound. Refuses the text.
    TooManyComponents = "too_many_components",
    /// More properties in one component than the bound. Refuses the text.
    TooManyProperties = "too_many_properties",
    /// VERSION other than 2.0. Refuses the text.
    UnsupportedVersion = "unsupported_version",
    /// CALSCALE other than GREGORIAN. Refuses the text.
    UnsupportedScale = "unsupported_scale",
    /// METHOD other than PUBLISH, REQUEST and CANCEL. Refuses the text.
    UnsupportedMethod = "unsupported_method",
    /// More instances, or more dates of rules, than the bound. Refuses the text.
    TooManyInstances = "too_many_instances",
    /// The window ends before it begins, or reaches beyond the years taken. Refuses the text.
    InvalidWindow = "invalid_window",
    /// A line without a colon, or whose parameters cannot be read.
    MalformedLine = "malformed_line",
    /// A property that may occur once occurs twice.
    RepeatedProperty = "repeated_property",
    /// No UID, one with control characters, or one longer than the bound.
    MissingUid = "missing_uid",
    /// No DTSTART.
    MissingStart = "missing_start",
    /// A date or time that is none, or in a year before 1900 or after 2199.
    InvalidDate = "invalid_date",
    /// A DURATION that is none.
    InvalidDuration = "invalid_duration",
    /// A SEQUENCE that is no whole number.
    InvalidSequence = "invalid_sequence",
    /// A date where a time is needed or the reverse.
    ValueTypeDiffers = "value_type_differs",
    /// A TZID that is neither of the IANA database nor declared in a form that can be followed.
    UnknownZone = "unknown_time_zone",
    /// Both DTEND and DURATION.
    EndAndDuration = "end_and_duration",
    /// Ends before it begins.
    NegativeDuration = "negative_duration",
    /// Takes less than half a minute, or has neither DTEND nor DURATION.
    ZeroDuration = "zero_duration",
    /// Takes longer than the bound.
    DurationTooLong = "duration_too_long",
    /// An RRULE that RFC 5545 does not allow, one more often than daily, a second one, or EXRULE.
    UnsupportedRule = "unsupported_rule",
    /// UNTIL is before DTSTART.
    UntilBeforeStart = "until_before_start",
    /// COUNT, the times a day or the dates up to the end of the window are beyond the bound.
    RecurrenceTooLong = "recurrence_too_long",
    /// A rule goes on without another date, at least to the year 2800.
    RecurrenceUnbounded = "recurrence_unbounded",
    /// A RANGE other than THISANDFUTURE.
    UnsupportedRange = "unsupported_range",
    /// A component with RECURRENCE-ID has a rule or dates of its own.
    RuleInOverride = "rule_in_override",
    /// The same UID and RECURRENCE-ID again, with the same SEQUENCE and DTSTAMP but other content.
    DuplicateUid = "duplicate_uid",
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

/// Why nothing of a text is taken.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{code}: {detail}")]
pub struct Refused {
    /// The code.
    pub code: Code,
    /// What it is about, for people.
    pub detail: String,
}

impl Refused {
    pub(super) fn new(code: Code, detail: impl Into<String>) -> Self {
        Self {
            code,
            detail: detail.into(),
        }
    }
}

/// Why one component is not taken, while the rest is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RowProblem {
    /// Which VEVENT of the text, from 1.
    pub component: usize,
    /// The line on which it begins, from 1.
    pub line: usize,
    /// Its UID, where it has one.
    pub uid: Option<Arc<str>>,
    /// The code.
    pub code: Code,
    /// What it is about, for people.
    pub detail: String,
}

/// A problem before it is known of which component.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Fault {
    pub(super) code: Code,
    pub(super) detail: String,
}

impl Fault {
    /// A fault about a text, which is quoted shortened.
    pub(super) fn new(code: Code, about: &str) -> Self {
        Self {
            code,
            detail: shortened(about, 100),
        }
    }
}

/// The first characters of a text.
pub(super) fn shortened(text: &str, most: usize) -> String {
    text.chars().take(most).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_of_components_have_their_pages() {
        use crate::problem_codes::Code as Problem;
        let refuses_the_text = |code: &&Code| **code <= Code::InvalidWindow;
        let paged = |code: &Code| Problem::ALL.iter().any(|page| page.code() == code.code());
        let mut of_components = Code::ALL.iter().skip_while(refuses_the_text);
        assert!(of_components.all(paged));
    }

    #[test]
    fn codes_are_distinct_and_in_snake_case() {
        let mut codes: Vec<&str> = Code::ALL.iter().map(|code| code.code()).collect();
        let plain = |code: &&str| code.bytes().all(|b| b.is_ascii_lowercase() || b == b'_');
        assert!(codes.iter().all(plain) || codes.contains(&"not_utf8"));
        codes.sort_unstable();
        codes.dedup();
        assert_eq!(codes.len(), Code::ALL.len());
    }
}
