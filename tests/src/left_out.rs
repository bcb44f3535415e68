//! Tests of what not every system allows: mounts, tracing, the port of name servers.

/// Says why a test is left out on this system. Where nothing may be left out (`PLIMSOLL_TEST_NO_SKIPS` is set, as `tests/run` sets it)
/// the test fails instead, so that it is never taken for one that passed.
pub fn left_out(why: &str) {
    println!("SKIPPED: {why}");
    let forbidden = std::env::var_os("PLIMSOLL_TEST_NO_SKIPS");
    let forbidden = forbidden.is_some_and(|set| !set.is_empty());
    assert!(!forbidden, "nothing may be left out here: {why}");
}
