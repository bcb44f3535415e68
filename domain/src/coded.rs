//! Enums with stable text codes.

/// Declares an enum whose variants have stable text codes.
macro_rules! coded_enum {
    ($(#[$meta:meta])* $name:ident { $($(#[$doc:meta])* $variant:ident = $code:literal,)+ }) => {
        $(#[$meta])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name {
            $($(#[$doc])* $variant,)+
        }

        impl $name {
            /// Every value, in order.
            pub const ALL: &'static [$name] = &[$($name::$variant),+];

            /// The stable code.
            #[must_use]
            pub const fn code(self) -> &'static str {
                match self {
                    $($name::$variant => $code,)+
                }
            }

            /// The value with this code.
            #[must_use]
            pub fn parse(code: &str) -> Option<$name> {
                Self::ALL.iter().copied().find(|value| value.code() == code)
            }
        }
    };
}

pub(crate) use coded_enum;
