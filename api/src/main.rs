//! The `plimsoll` program.
fn main() {}
