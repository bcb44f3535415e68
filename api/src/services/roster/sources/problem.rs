//! Why a pull came to nothing, as it is told.

use serde::Serialize;
use utoipa::ToSchema;

use crate::delivery::client::CallError;

macro_rules! problems {
    ($($(#[doc = $doc:literal])+ $name:ident = $code:literal $what_to_do:literal,)+) => {
        /// Why a pull came to nothing.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum PullProblem {
            $($(#[doc = $doc])+ $name,)+
        }

        impl PullProblem {
            /// Every one.
            pub const ALL: &'static [Self] = &[$(Self::$name),+];

            /// The stable code.
            pub const fn code(self) -> &'static str {
                match self {
                    $(Self::$name => $code,)+
                }
            }

            /// What somebody can do about it.
            pub const fn what_to_do(self) -> &'static str {
                match self {
                    $(Self::$name => $what_to_do,)+
                }
            }
        }
    };
}

problems! {
    /// No connection, no trusted certificate, or an answer that broke off.
    Unreachable = "unreachable"
        "Look whether the app answers at that address with a certificate that is trusted; it is tried again by itself.",
    /// No whole answer in time.
    TimedOut = "timed_out"
        "Ask the app for smaller pages or fewer people; it is tried again by itself.",
    /// The address may not be called.
    Blocked = "blocked"
        "Name an https address of the public network, on port 443 or 8443.",
    /// 401 or 403.
    NotAuthorised = "not_authorised"
        "Set credentials that the app accepts. It is not asked again by itself until the source is changed, or pulled by hand with success.",
    /// 429, or the time that the app asked for has not passed.
    TooManyRequests = "too_many_requests"
        "Wait until not_before; ask for the roster less often.",
    /// Another status than 200 and 304.
    Refused = "refused"
        "Look in the app for why it refuses; redirects are not followed, so name the final address. It is tried again by itself.",
    /// More pages, bytes or rows than are read.
    TooLong = "too_long"
        "Let the app leave out what is not asked for, or name fewer people.",
    /// A page is no JSON, was cut short, or names a member twice.
    NotJson = "not_json"
        "Look with …/test at what the app answers; it is tried again by itself.",
    /// What the pointers name is not there any more.
    ShapeChanged = "shape_changed"
        "Look with …/test at what the pointers find, and set them anew; the roster stays as it was.",
    /// The next page lies on another origin, where credentials are never sent.
    OtherOrigin = "other_origin"
        "Let the app link its pages on the origin of the address that is set.",
    /// A page came twice.
    PagingLoops = "paging_loops"
        "Look whether the app understands the page parameter, or links a page to itself.",
    /// Another number of people came than the app says it has.
    Incomplete = "incomplete"
        "Nobody is taken to have left by a part of a roster; it is tried again by itself.",
    /// More than a fifth of the members would leave.
    LargeRemoval = "large_removal"
        "Look at the plan with …/pull?dry_run=true. If they did leave, pull with confirm_large_removal=true; else mend the roster in the app.",
    /// No row could be taken.
    AllRejected = "all_rejected"
        "Look with …/pull?dry_run=true at what is wrong with the rows.",
    /// It failed here.
    NotApplied = "not_applied"
        "A defect or an outage of this service; it is tried again by itself, and its log says why.",
}

/// Why a pull came to nothing, and what to do.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
#[schema(example = json!({"code": "not_authorised", "what_to_do": "Set credentials that the app accepts."}))]
pub struct PullProblemAnswer {
    /// `unreachable`, `timed_out`, `blocked`, `not_authorised` (401 or 403), `too_many_requests`, `refused` (another status than 200 and
    /// 304), `too_long`, `not_json`, `shape_changed`, `other_origin`, `paging_loops`, `incomplete`, `large_removal`, `all_rejected` or
    /// `not_applied`.
    #[schema(value_type = String)]
    pub code: &'static str,
    /// What to do about it.
    #[schema(value_type = String)]
    pub what_to_do: &'static str,
}

impl PullProblem {
    /// The one of a stored code.
    pub fn parse(code: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|one| one.code() == code)
    }

    /// As it is answered.
    pub fn answer(self) -> PullProblemAnswer {
        PullProblemAnswer {
            code: self.code(),
            what_to_do: self.what_to_do(),
        }
    }
}

impl From<CallError> for PullProblem {
    fn from(error: CallError) -> Self {
        match error {
            CallError::Blocked(_) => Self::Blocked,
            CallError::Unreachable => Self::Unreachable,
            CallError::TimedOut => Self::TimedOut,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_read_again() {
        for problem in PullProblem::ALL {
            assert_eq!(PullProblem::parse(problem.code()), Some(*problem));
        }
        assert_eq!(PullProblem::parse("other"), None);
    }
}
