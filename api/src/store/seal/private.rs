//! A value that no log may show.

use std::fmt;
use std::ops::Deref;

/// A value of a sealed column, open. It reads like what it holds, and shows nothing of it where it is printed for debugging.
#[derive(Clone, PartialEq, Eq)]
pub struct Private<T>(T);

impl<T> Private<T> {
    /// The value itself, for whoever may read it.
    pub fn into_inner(self) -> T {
        self.0
    }

    pub(super) fn held(&self) -> &T {
        &self.0
    }
}

impl<T> From<T> for Private<T> {
    fn from(value: T) -> Self {
        Self(value)
    }
}

impl<T: Deref> Deref for Private<T> {
    type Target = T::Target;

    fn deref(&self) -> &T::Target {
        &self.0
    }
}

impl<T> fmt::Debug for Private<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Private")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_reads_as_what_it_holds_and_prints_nothing_of_it() {
        let note = Private::from("knee swollen".to_owned());
        assert_eq!(&*note, "knee swollen");
        assert_eq!(
            format!("{note:?} {:?}", Some(&note)),
            "Private Some(Private)"
        );
    }
}
