//! Files outside the database that lines are only ever added to.

use std::fs::{File, OpenOptions};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::Path;

/// Adds text and waits until it is on the disk. What a crash left of a line is ended first, so that it spoils no other.
///
/// # Errors
/// Those of the file.
pub fn append(path: &Path, text: &str) -> io::Result<()> {
    let mut options = OpenOptions::new();
    let mut file = options.read(true).append(true).create(true).open(path)?;
    if !text.is_empty() && is_torn(&mut file)? {
        file.write_all(b"\n")?;
    }
    file.write_all(text.as_bytes())?;
    file.sync_all()
}

fn is_torn(file: &mut File) -> io::Result<bool> {
    if file.seek(SeekFrom::End(0))? == 0 {
        return Ok(false);
    }
    file.seek(SeekFrom::End(-1))?;
    let mut last = [0];
    file.read_exact(&mut last)?;
    Ok(last != *b"\n")
}
