//! Files that hold a secret key: made when absent, its owner's alone.

use std::fs::{self, File, OpenOptions};
use std::io::{self, ErrorKind, Read, Write};
use std::path::Path;

use aws_lc_rs::rand;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;

/// Octets of a secret.
pub const SECRET_OCTETS: usize = 32;

/// Key files are some hundred octets; more than this is something else.
const MAX_OCTETS: u64 = 16 * 1024;

/// Why a key file cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum KeyFileError {
    /// It cannot be read or made.
    #[error("the key file cannot be read or made: {0}")]
    File(#[from] io::Error),
    /// Other users of the machine may read or change it.
    #[error("the key file is open to other users of this machine: set its mode to 0600")]
    OpenToOthers,
    /// The file holds something else than a secret.
    #[error("the key file does not hold {SECRET_OCTETS} octets in base64")]
    NotASecret,
    /// The machine gave no random numbers.
    #[error("no key could be made")]
    NotMade,
}

/// The secret in the file at `path`, as base64; made at random when there is no such file.
///
/// # Errors
/// [`KeyFileError`].
pub fn secret(path: &Path) -> Result<[u8; SECRET_OCTETS], KeyFileError> {
    decoded(&open(path, new_secret)?)
}

/// The secrets in the file at `path`, one a line; one is made at random when there is no such file.
///
/// # Errors
/// [`KeyFileError`].
pub fn secrets(path: &Path) -> Result<Vec<[u8; SECRET_OCTETS]>, KeyFileError> {
    let content = open(path, new_secret)?;
    let lines = content.split(|octet| *octet == b'\n');
    let secrets = lines.filter(|line| !line.trim_ascii().is_empty());
    secrets.map(decoded).collect()
}

fn new_secret() -> Result<String, KeyFileError> {
    let mut octets = [0; SECRET_OCTETS];
    rand::fill(&mut octets).map_err(|_| KeyFileError::NotMade)?;
    Ok(STANDARD.encode(octets) + "\n")
}

fn decoded(line: &[u8]) -> Result<[u8; SECRET_OCTETS], KeyFileError> {
    let octets = STANDARD.decode(line.trim_ascii());
    let octets = octets.map_err(|_| KeyFileError::NotASecret)?;
    octets.try_into().map_err(|_| KeyFileError::NotASecret)
}

/// The content of the file at `path`. Where there is none, it is made with the content of `new`,
/// readable by its owner alone.
///
/// # Errors
/// [`KeyFileError`], or that of `new`.
pub fn open<E: From<KeyFileError>>(
    path: &Path,
    new: impl FnOnce() -> Result<String, E>,
) -> Result<Vec<u8>, E> {
    match File::open(path) {
        Err(error) if error.kind() == ErrorKind::NotFound => {
            create(path, &new()?).map_err(KeyFileError::File)?;
            Ok(read(File::open(path))?)
        }
        opened => Ok(read(opened)?),
    }
}

fn read(opened: io::Result<File>) -> Result<Vec<u8>, KeyFileError> {
    let file = opened?;
    if open_to_others(&file)? {
        return Err(KeyFileError::OpenToOthers);
    }
    let mut content = Vec::new();
    file.take(MAX_OCTETS).read_to_end(&mut content)?;
    Ok(content)
}

/// Writes the content beside `path` and links it there, so that no other process sees half a file;
/// when one was faster, its key is the key.
fn create(path: &Path, content: &str) -> io::Result<()> {
    let mut draft = path.as_os_str().to_owned();
    draft.push(format!(".{}.new", std::process::id()));
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut file = options.open(&draft)?;
    let linked = file
        .write_all(content.as_bytes())
        .and_then(|()| file.sync_all())
        .and_then(|()| fs::hard_link(&draft, path));
    fs::remove_file(&draft)?;
    match linked {
        Err(error) if error.kind() != ErrorKind::AlreadyExists => Err(error),
        _ => Ok(()),
    }
}

#[cfg(unix)]
fn open_to_others(file: &File) -> io::Result<bool> {
    use std::os::unix::fs::PermissionsExt;
    Ok(file.metadata()?.permissions().mode() & 0o077 != 0)
}

/// Other systems keep rights elsewhere; there the owner sees to it.
#[cfg(not(unix))]
fn open_to_others(_: &File) -> io::Result<bool> {
    Ok(false)
}
