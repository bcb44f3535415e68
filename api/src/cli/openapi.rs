//! `plimsoll openapi [--check FILE]`.

use std::path::PathBuf;

use super::{Failure, say};
use crate::openapi;

/// Arguments of `openapi`.
#[derive(Debug, clap::Args)]
pub(super) struct Arguments {
    /// Compare with this file instead of printing; exit 1 where they differ.
    #[arg(long, value_name = "FILE")]
    check: Option<PathBuf>,
}

pub(super) fn run(arguments: &Arguments) -> Result<(), Failure> {
    let current = openapi::text().map_err(Failure::found)?;
    let Some(path) = &arguments.check else {
        return say(current.trim_end());
    };
    let committed = std::fs::read_to_string(path)
        .map_err(|error| Failure::Found(format!("cannot read {}: {error}", path.display())))?;
    match first_difference(&committed, current) {
        None => Ok(()),
        Some((line, theirs, ours)) => Err(Failure::Found(format!(
            "{path} differs from the program at line {line}:\n  file:    {theirs}\n  program: {ours}\n\
             Write it anew with: plimsoll openapi > {path}",
            path = path.display()
        ))),
    }
}

/// The first line in which two texts differ, counted from 1.
fn first_difference<'a>(a: &'a str, b: &'a str) -> Option<(usize, &'a str, &'a str)> {
    let (mut left, mut right) = (a.lines(), b.lines());
    for number in 1.. {
        match (left.next(), right.next()) {
            (None, None) => return None,
            (x, y) if x == y => {}
            (x, y) => return Some((number, x.unwrap_or("(end)"), y.unwrap_or("(end)"))),
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::first_difference;

    #[test]
    fn the_first_difference_is_found() {
        assert_eq!(first_difference("a\nb\n", "a\nb\n"), None);
        assert_eq!(first_difference("a\nb\n", "a\nc\n"), Some((2, "b", "c")));
        assert_eq!(first_difference("a\n", "a\nc\n"), Some((2, "(end)", "c")));
    }
}
