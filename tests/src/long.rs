//! How much of a test with random cases is run.

/// So many cases in an ordinary run, so many with `tests/run --long` (`PLIMSOLL_TEST_LONG` is set).
pub fn many(ordinary: usize, long: usize) -> usize {
    if std::env::var_os("PLIMSOLL_TEST_LONG").is_some() {
        long
    } else {
        ordinary
    }
}
