//! Codes of exercises.

use std::fmt;

/// The code of an exercise or of a group: 3 to 60 small letters a to z, digits and underscores, a letter first.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ExerciseCode(String);

/// A text that is no code of an exercise.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("a code has 3 to 60 of a to z, 0 to 9 and _, and begins with a letter")]
pub struct ExerciseCodeError;

impl ExerciseCode {
    /// The code that a text is.
    ///
    /// # Errors
    /// [`ExerciseCodeError`].
    ///
    /// ```
    /// use plimsoll_domain::exercises::ExerciseCode;
    /// assert!(ExerciseCode::parse("block_jump").is_ok());
    /// assert!(ExerciseCode::parse("Block jump").is_err());
    /// ```
    pub fn parse(text: &str) -> Result<ExerciseCode, ExerciseCodeError> {
        let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_';
        let begins = text.starts_with(|c: char| c.is_ascii_lowercase());
        if begins && (3..=60).contains(&text.len()) && text.chars().all(plain) {
            Ok(ExerciseCode(text.to_owned()))
        } else {
            Err(ExerciseCodeError)
        }
    }

    /// The code as text.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// One of the shipped codes, which a test checks.
    pub(super) fn shipped(text: &'static str) -> ExerciseCode {
        ExerciseCode(text.to_owned())
    }
}

impl fmt::Display for ExerciseCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_is_plain_and_neither_short_nor_long() {
        let long = "a".repeat(61);
        for refused in ["", "ab", "1ab", "_ab", "a-b", "aBc", "a b", "æøå", &long] {
            assert_eq!(
                ExerciseCode::parse(refused),
                Err(ExerciseCodeError),
                "{refused}"
            );
        }
        for fine in ["abc", "a1_", &long[1..]] {
            assert_eq!(ExerciseCode::parse(fine).unwrap().to_string(), fine);
        }
    }
}
