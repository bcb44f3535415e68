//! The `plimsoll` program: see `plimsoll --help`.

use std::process::ExitCode;

fn main() -> ExitCode {
    plimsoll_api::cli::run()
}
