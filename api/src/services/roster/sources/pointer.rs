//! JSON Pointers (RFC 6901): where in a document a thing is.

use serde_json::Value;

use crate::error::{Code, FieldProblem};
use crate::web::json::shorten_text;

/// Longest pointer, in characters.
pub const LONGEST_POINTER: usize = 200;

/// A pointer whose syntax was checked (RFC 6901, section 3): empty, or tokens that each begin with `/`, in which `~` stands before `0`
/// or `1` alone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pointer(String);

impl Pointer {
    /// Reads a pointer.
    ///
    /// # Errors
    /// Where it is none, or longer than [`LONGEST_POINTER`].
    pub fn read(field: &str, given: &str) -> Result<Self, FieldProblem> {
        let begins = given.is_empty() || given.starts_with('/');
        let mut escapes = given.split('~').skip(1);
        let escaped = escapes.all(|after| after.starts_with(['0', '1']));
        if begins && escaped && given.chars().count() <= LONGEST_POINTER {
            return Ok(Self(given.to_owned()));
        }
        let fault = FieldProblem::new(field, Code::InvalidPointer, shorten_text(given));
        Err(fault.allowed(format!(
            "empty, or names after / each, ~ written ~0 and / written ~1, at most {LONGEST_POINTER} characters"
        )))
    }

    /// What it names in a document; `None` where there is nothing.
    pub fn of<'a>(&self, document: &'a Value) -> Option<&'a Value> {
        document.pointer(&self.0)
    }

    /// What encloses the thing that it names; the document itself for the whole document.
    pub fn around<'a>(&self, document: &'a Value) -> Option<&'a Value> {
        let end = self.0.rfind('/').unwrap_or(0);
        document.pointer(&self.0[..end])
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use serde_json::json;

    use super::*;

    fn read(given: &str) -> Pointer {
        Pointer::read("/list", given).unwrap()
    }

    /// RFC 6901, section 5: the document and what each pointer evaluates to.
    #[test]
    fn pointers_name_what_the_rfc_prints() {
        let document = json!({
            "foo": ["bar", "baz"], "": 0, "a/b": 1, "c%d": 2, "e^f": 3, "g|h": 4, "i\\j": 5, "k\"l": 6, " ": 7, "m~n": 8,
        });
        for (pointer, value) in [
            ("", document.clone()),
            ("/foo", json!(["bar", "baz"])),
            ("/foo/0", json!("bar")),
            ("/", json!(0)),
            ("/a~1b", json!(1)),
            ("/c%d", json!(2)),
            ("/e^f", json!(3)),
            ("/g|h", json!(4)),
            ("/i\\j", json!(5)),
            ("/k\"l", json!(6)),
            ("/ ", json!(7)),
            ("/m~0n", json!(8)),
        ] {
            assert_eq!(read(pointer).of(&document), Some(&value), "{pointer}");
        }
        // RFC 6901, section 4: no leading zeros, and `-` is the element after the last.
        for pointer in ["/foo/00", "/foo/-", "/foo/2", "/foo/+1", "/bar"] {
            assert_eq!(read(pointer).of(&document), None, "{pointer}");
        }
        // RFC 6901, section 4: `~01` is `~1` once it is read, not `/`.
        assert_eq!(
            read("/~01").of(&json!({ "~1": 1, "/": 2 })),
            Some(&json!(1))
        );
    }

    #[test]
    fn what_is_no_pointer_is_named() {
        for bad in ["foo", "#/foo", "/a~", "/a~2b", "/~/b", " /foo"] {
            let fault = Pointer::read("/list", bad).unwrap_err();
            assert_eq!(
                (fault.pointer.as_str(), fault.code),
                ("/list", Code::InvalidPointer)
            );
        }
        assert!(Pointer::read("/list", &format!("/{}", "a".repeat(199))).is_ok());
        assert!(Pointer::read("/list", &format!("/{}", "a".repeat(200))).is_err());
    }

    #[test]
    fn what_encloses_a_thing_is_found_without_it() {
        let document = json!({ "links": {} });
        assert_eq!(read("/links/next").around(&document), Some(&json!({})));
        assert_eq!(read("/next").around(&document), Some(&document));
        assert_eq!(read("").around(&document), Some(&document));
        assert_eq!(read("/paging/next").around(&document), None);
    }

    proptest! {
        #[test]
        fn any_names_are_found_once_they_are_escaped(names in proptest::collection::vec("[a~/01%\"é ]{0,6}", 0..5), number in any::<u32>()) {
            let mut document = json!(number);
            let mut pointer = String::new();
            for name in names.iter().rev() {
                document = json!({ name.as_str(): document });
                pointer = format!("/{}{pointer}", name.replace('~', "~0").replace('/', "~1"));
            }
            prop_assert_eq!(read(&pointer).of(&document), Some(&json!(number)));
        }

        #[test]
        fn any_text_is_a_pointer_or_a_fault(text in ".{0,40}") {
            if let Ok(pointer) = Pointer::read("/list", &text) {
                prop_assert!(text.is_empty() || text.starts_with('/'));
                prop_assert_eq!(pointer.of(&json!(null)).is_some(), text.is_empty());
            }
        }
    }
}
