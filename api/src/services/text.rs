//! Checks of short texts: length, emptiness, control characters. Nothing is altered or interpreted.

use crate::error::{Code, FieldProblem};
use crate::web::json::shorten_text;

/// A line of text: an id, a name.
pub fn line(pointer: &str, text: &str, longest: usize) -> Result<(), FieldProblem> {
    check(pointer, text, longest, char::is_control)
}

/// A note: as a line, but line breaks and tabs may stay.
pub fn note(pointer: &str, text: &str, longest: usize) -> Result<(), FieldProblem> {
    check(pointer, text, longest, |c| {
        c.is_control() && !matches!(c, '\n' | '\r' | '\t')
    })
}

fn check(
    pointer: &str,
    text: &str,
    longest: usize,
    refused: impl Fn(char) -> bool,
) -> Result<(), FieldProblem> {
    let problem = |code| FieldProblem::new(pointer, code, shorten_text(text));
    if text.trim().is_empty() {
        return Err(problem(Code::TextEmpty).allowed(format!("1 to {longest} characters")));
    }
    if text.chars().count() > longest {
        return Err(problem(Code::TextTooLong).allowed(format!("1 to {longest} characters")));
    }
    if text.chars().any(refused) {
        return Err(problem(Code::TextHasControlCharacters).allowed("no control characters"));
    }
    Ok(())
}

/// A key under which names are found whatever their case.
pub fn name_key(name: &str) -> String {
    name.trim().to_lowercase()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_are_kept_or_refused_never_changed() {
        for fine in [
            "Åse",
            "P-07",
            "<script>",
            "{{7*7}}",
            "' OR 1=1--",
            "👍",
            "a\u{202e}b",
        ] {
            assert!(line("/name", fine, 200).is_ok(), "{fine}");
        }
        assert_eq!(line("/name", " ", 200).unwrap_err().code, Code::TextEmpty);
        assert_eq!(line("/name", "abc", 2).unwrap_err().code, Code::TextTooLong);
        for control in ["a\0b", "a\nb", "a\rb"] {
            let refused = line("/name", control, 200).unwrap_err();
            assert_eq!(refused.code, Code::TextHasControlCharacters);
        }
        assert!(note("/note", "two\nlines", 280).is_ok());
        assert!(note("/note", "a\0b", 280).is_err());
    }
}
