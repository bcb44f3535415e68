//! Content lines of a text, unfolded and with the number of the line they begin on.

use std::borrow::Cow;

use super::code::{Code, Refused};

/// A content line.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Line<'t> {
    /// The line of the text on which it begins, from 1.
    pub(super) number: usize,
    /// The whole content line, without line breaks.
    pub(super) text: Cow<'t, str>,
}

/// Reads content lines one by one, CRLF and LF alike. Empty lines are passed over.
///
/// RFC 5545, 3.1: a line that begins with a space or a tab goes on with the one before it, and a
/// fold may fall within a character, so lines are decoded after they are joined.
#[derive(Debug)]
pub(super) struct Lines<'t> {
    rest: &'t [u8],
    number: usize,
}

impl<'t> Lines<'t> {
    pub(super) fn new(text: &'t [u8]) -> Self {
        Self {
            rest: text.strip_prefix(b"\xef\xbb\xbf").unwrap_or(text),
            number: 0,
        }
    }

    /// The next line as it stands in the text.
    fn physical(&mut self) -> Option<&'t [u8]> {
        if self.rest.is_empty() {
            return None;
        }
        self.number += 1;
        let end = self.rest.iter().position(|byte| *byte == b'\n');
        let (line, rest) = match end {
            Some(end) => (&self.rest[..end], &self.rest[end + 1..]),
            None => (self.rest, &[][..]),
        };
        self.rest = rest;
        Some(line.strip_suffix(b"\r").unwrap_or(line))
    }

    /// A line with those that go on with it.
    fn unfolded(&mut self, first: &'t [u8]) -> Cow<'t, [u8]> {
        let mut whole = Cow::Borrowed(first);
        while let [b' ' | b'\t', ..] = self.rest {
            let Some(more) = self.physical() else { break };
            whole.to_mut().extend_from_slice(&more[1..]);
        }
        whole
    }
}

impl<'t> Iterator for Lines<'t> {
    type Item = Result<Line<'t>, Refused>;

    fn next(&mut self) -> Option<Self::Item> {
        loop {
            let first = self.physical()?;
            let number = self.number;
            let whole = self.unfolded(first);
            if whole.is_empty() {
                continue;
            }
            let text = match whole {
                Cow::Borrowed(bytes) => std::str::from_utf8(bytes).map(Cow::Borrowed).ok(),
                Cow::Owned(bytes) => String::from_utf8(bytes).map(Cow::Owned).ok(),
            };
            let refused = || Refused::new(Code::NotUtf8, format!("line {number}"));
            return Some(text.ok_or_else(refused).map(|text| Line { number, text }));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &[u8]) -> Vec<(usize, String)> {
        let lines = Lines::new(text).map(|line| line.unwrap());
        lines
            .map(|line| (line.number, line.text.into_owned()))
            .collect()
    }

    #[test]
    fn folds_are_undone_with_either_line_break() {
        let text = b"\xef\xbb\xbfSUMMARY:Prac\r\n tice\r\n\t of the\n  girls\n\nUID:1";
        let expected = [(1, "SUMMARY:Practice of the girls"), (6, "UID:1")];
        assert_eq!(
            read(text),
            expected.map(|(line, text)| (line, text.to_owned()))
        );
    }

    #[test]
    fn a_fold_within_a_character_is_no_fault() {
        assert_eq!(
            read(b"SUMMARY:H\xc3\r\n \xa5ndbold"),
            [(1, "SUMMARY:Håndbold".to_owned())]
        );
    }

    #[test]
    fn what_is_not_utf8_is_refused_with_its_line() {
        let refused = Lines::new(b"UID:1\r\nSUMMARY:\xff").nth(1).unwrap();
        let refused = refused.unwrap_err();
        assert_eq!(
            (refused.code, refused.detail.as_str()),
            (Code::NotUtf8, "line 2")
        );
    }

    #[test]
    fn millions_of_empty_lines_are_passed_over() {
        let mut text = vec![b'\n'; 3_000_000];
        text.extend_from_slice(b"UID:1");
        assert_eq!(read(&text), [(3_000_001, "UID:1".to_owned())]);
        assert_eq!(read(b"\r\n \r\n\r\n"), []);
    }
}
