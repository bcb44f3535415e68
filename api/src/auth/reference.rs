//! How a token points at a club, a squad or an athlete.

use std::fmt;

use uuid::Uuid;

/// The longest reference, name or id accepted from a token, in characters.
pub const MAX_CHARS: usize = 255;

/// A club, squad or athlete as a token names it: by our id, or by the id another system knows it by.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Reference {
    /// Our own id.
    Id(Uuid),
    /// Somebody else's id, with the name of the system that gave it.
    External {
        /// The system, without a colon.
        source: String,
        /// The id there; it may contain colons.
        external_id: String,
    },
}

/// A text that is neither a UUID nor `ext:<source>:<external_id>`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("neither a UUID nor ext:<source>:<external_id>")]
pub struct BadReference;

impl Reference {
    /// Reads `018f…` (a UUID with hyphens) or `ext:<source>:<external_id>`.
    ///
    /// # Errors
    /// [`BadReference`] for anything else: an empty part, a control character, more than
    /// [`MAX_CHARS`] characters, the nil UUID.
    pub fn parse(text: &str) -> Result<Reference, BadReference> {
        if !is_plain(text) {
            return Err(BadReference);
        }
        if let Some(rest) = text.strip_prefix("ext:") {
            return match rest.split_once(':') {
                Some((source, id)) if !source.is_empty() && !id.is_empty() => {
                    Ok(Reference::External {
                        source: source.to_owned(),
                        external_id: id.to_owned(),
                    })
                }
                _ => Err(BadReference),
            };
        }
        match Uuid::try_parse(text) {
            // The length leaves out the braced, URN and unhyphenated spellings.
            Ok(id) if text.len() == uuid::fmt::Hyphenated::LENGTH && !id.is_nil() => {
                Ok(Reference::Id(id))
            }
            _ => Err(BadReference),
        }
    }
}

impl fmt::Display for Reference {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Reference::Id(id) => write!(f, "{id}"),
            Reference::External {
                source,
                external_id,
            } => write!(f, "ext:{source}:{external_id}"),
        }
    }
}

/// Whether a text from a token can be stored and compared: not empty, not long, no control character
/// (a NUL could not be stored as text).
pub(super) fn is_plain(text: &str) -> bool {
    !text.is_empty() && text.chars().count() <= MAX_CHARS && !text.chars().any(char::is_control)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_forms_are_read_and_written_alike() {
        for text in [
            "018f0000-0000-7000-8000-000000000007",
            "ext:roster:P-07",
            "ext:roster:a:b",
            "ext:roster::",
            "ext:school app:Müller 3",
        ] {
            assert_eq!(Reference::parse(text).unwrap().to_string(), text);
        }
    }

    #[test]
    fn an_external_id_may_contain_colons() {
        let expected = Reference::External {
            source: "roster".into(),
            external_id: "urn:x:7".into(),
        };
        assert_eq!(Reference::parse("ext:roster:urn:x:7"), Ok(expected));
    }

    #[test]
    fn everything_else_is_refused() {
        let long = format!("ext:roster:{}", "x".repeat(MAX_CHARS));
        for text in [
            "",
            "P-07",
            "ext:",
            "ext:roster",
            "ext:roster:",
            "ext::P-07",
            "EXT:roster:P-07",
            "ext:roster:P\u{0}07",
            "ext:ros\nter:P-07",
            "00000000-0000-0000-0000-000000000000",
            "018f0000000070008000000000000007",
            "{018f0000-0000-7000-8000-000000000007}",
            "urn:uuid:018f0000-0000-7000-8000-000000000007",
            " 018f0000-0000-7000-8000-000000000007",
            long.as_str(),
        ] {
            assert_eq!(Reference::parse(text), Err(BadReference), "{text:?}");
        }
    }
}
