//! How a command ended.

use std::process::Output;

/// Asserts the exit code and a part of what was said to either stream.
#[track_caller]
pub fn assert_ends(output: &Output, code: i32, part: &str) {
    let [stdout, stderr] =
        [&output.stdout, &output.stderr].map(|bytes| String::from_utf8_lossy(bytes));
    let said = format!("{stdout}{stderr}");
    assert_eq!(output.status.code(), Some(code), "{said}");
    assert!(said.contains(part), "no {part:?} in {said}");
}
