//! The zip itself: what is in it is looked at before a byte of it is inflated, and no more is inflated than is allowed.

use std::collections::BTreeMap;
use std::io::{Cursor, Read};

use zip::ZipArchive;

use super::faults::refuse;
use crate::error::{Code, Problem};
use crate::web::json::shorten_text;

/// Most entries; a package has 22 files at most.
pub const MOST_ENTRIES: usize = 64;
/// Most bytes of all files together, inflated.
pub const MOST_BYTES: u64 = 64 * 1024 * 1024;
/// What each entry of the directory at the end begins with.
const DIRECTORY_ENTRY: &[u8; 4] = b"PK\x01\x02";

/// A package whose entries have names that can be files of it.
pub struct Archive<'a> {
    zip: ZipArchive<Cursor<&'a [u8]>>,
    places: BTreeMap<String, usize>,
    left: u64,
}

impl<'a> Archive<'a> {
    /// Looks at all entries.
    pub fn open(bytes: &'a [u8]) -> Result<Self, Problem> {
        // A directory of a million entries would be read into memory before its length can be asked for.
        let entries = bytes
            .windows(DIRECTORY_ENTRY.len())
            .filter(|four| four == DIRECTORY_ENTRY);
        if entries.take(MOST_ENTRIES + 1).count() > MOST_ENTRIES {
            return Err(too_large());
        }
        let mut zip = ZipArchive::new(Cursor::new(bytes)).map_err(|_| unreadable(""))?;
        if zip.has_duplicate_names() {
            return Err(refuse(
                "",
                Code::ArchiveEntryNotAllowed,
                "Two entries have the same name.",
            ));
        }
        let mut places = BTreeMap::new();
        for at in 0..zip.len() {
            let entry = zip.by_index_raw(at).map_err(|_| unreadable(""))?;
            let name = entry.name().map_err(|_| unreadable(""))?.into_owned();
            let odd = entry.is_dir() || entry.is_symlink() || name.contains(['/', '\\', ':', '\0']);
            if odd || name.is_empty() || name.starts_with('.') {
                let detail = format!(
                    "The entry {} is not a file at the root.",
                    shorten_text(&name)
                );
                return Err(refuse("", Code::ArchiveEntryNotAllowed, detail));
            }
            if entry.encrypted() {
                return Err(refuse(
                    &name,
                    Code::ArchiveUnreadable,
                    "The entry is encrypted.",
                ));
            }
            if places.insert(name, at).is_some() {
                return Err(refuse(
                    "",
                    Code::ArchiveEntryNotAllowed,
                    "Two entries have the same name.",
                ));
            }
        }
        Ok(Self {
            zip,
            places,
            left: MOST_BYTES,
        })
    }

    /// The names of the files.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.places.keys().map(String::as_str)
    }

    /// Inflates a file; `None` where it is not there.
    pub fn file(&mut self, name: &str) -> Result<Option<Vec<u8>>, Problem> {
        self.file_within(name, MOST_BYTES)
    }

    /// Inflates a file of so many bytes at most. What an entry says of its own size is not believed.
    pub fn file_within(&mut self, name: &str, most: u64) -> Result<Option<Vec<u8>>, Problem> {
        let Some(at) = self.places.get(name) else {
            return Ok(None);
        };
        let entry = self.zip.by_index(*at).map_err(|_| unreadable(name))?;
        // One more than is allowed, so that too much is seen; taken at once, since growing would hold it twice.
        let taken = self.left.min(most) + 1;
        let expected = usize::try_from(entry.size().min(taken));
        let mut bytes = Vec::with_capacity(expected.map_err(|error| Problem::internal(&error))?);
        entry
            .take(taken)
            .read_to_end(&mut bytes)
            .map_err(|_| unreadable(name))?;
        let length = u64::try_from(bytes.len()).map_err(|error| Problem::internal(&error))?;
        self.left = self.left.checked_sub(length).ok_or_else(too_large)?;
        if length > most {
            let detail = format!("It has at most {} KiB inflated.", most >> 10);
            return Err(refuse(name, Code::ArchiveTooLarge, detail));
        }
        Ok(Some(bytes))
    }
}

fn unreadable(file: &str) -> Problem {
    refuse(
        file,
        Code::ArchiveUnreadable,
        "It cannot be read as a zip file; stored or deflated entries are.",
    )
}

fn too_large() -> Problem {
    let detail = format!(
        "A package has at most {MOST_ENTRIES} files and {} MiB inflated.",
        MOST_BYTES >> 20
    );
    refuse("", Code::ArchiveTooLarge, detail)
}
