//! A roster as a OneRoster 1.2 CSV package: a zip with a manifest and files that refer to each other.
//!
//! Source: 1EdTech, OneRoster CSV Binding 1.2.1 (imsglobal.org/spec/oneroster/v1p2/bind/csv), its attribute lists as open readers of
//! the format have them; the columns of demographics after the fifth, and that endDate is the first day after (exclusive), from memory. No
//! conformance is claimed. A package that is not in order is refused whole, each fault with file, line and column.
//!
//! Students are athletes, classes are squads, enrolments of students are memberships, agents who are guardians are guardians. Of a
//! person only ids, names and the birth date are taken; passwords and addresses are read over. Staff have no place here yet.

mod archive;
mod faults;
mod file;
mod layout;
mod manifest;
mod mapping;
mod package;
#[cfg(test)]
mod tests;

pub use archive::{MOST_BYTES, MOST_ENTRIES};
pub use file::MOST_LINES;

use plimsoll_domain::roster::Mode;

use super::input::Sent;
use crate::error::Problem;
use archive::Archive;
use faults::PackageFaults;
use manifest::Manifest;
use package::Package;

/// Reads a package: the roster, and whether it names everybody.
///
/// # Errors
/// 422 for a package that is not in order, with a code for each fault.
pub fn read(bytes: &[u8]) -> Result<(Sent, Mode), Problem> {
    let mut archive = Archive::open(bytes)?;
    let manifest = Manifest::read(&mut archive)?;
    let mut faults = PackageFaults::default();
    let package = Package::read(&mut archive, &manifest, &mut faults)?;
    package.check_references(manifest.mode, &mut faults);
    faults.settle()?;
    Ok((mapping::sent(&package, manifest.mode), manifest.mode))
}
