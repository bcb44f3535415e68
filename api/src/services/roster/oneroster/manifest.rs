//! What a package says it is.

use std::collections::BTreeMap;

use plimsoll_domain::roster::Mode;

use super::archive::Archive;
use super::faults::refuse;
use super::layout::{ALL, NAMES};
use crate::error::{Code, Problem};
use crate::services::table::Table;
use crate::web::json::shorten_text;

/// The file's name.
const FILE: &str = "manifest.csv";
/// Most bytes of it, inflated; a full one has 1 KiB.
const MOST_BYTES: u64 = 64 * 1024;
/// Most lines of it; there are 25 properties.
const MOST_ROWS: usize = 100;
/// The editions that are read.
const VERSIONS: [&str; 2] = ["1.2", "1.2.1"];

/// A manifest that can be followed.
#[derive(Debug)]
pub struct Manifest {
    /// Whether the package names everybody.
    pub mode: Mode,
    /// The names of the files that are there.
    pub files: Vec<&'static str>,
}

impl Manifest {
    /// Reads it, and holds it against the files that are there.
    pub fn read(archive: &mut Archive<'_>) -> Result<Self, Problem> {
        let bytes = archive
            .file_within(FILE, MOST_BYTES)?
            .ok_or_else(|| missing(FILE))?;
        let table = Table::read(&bytes, MOST_ROWS).map_err(|problem| wrong(problem.detail))?;
        if table.header != ["propertyName", "value"] {
            return Err(refuse(
                FILE,
                Code::WrongColumns,
                "Its columns are propertyName and value.",
            ));
        }
        let mut properties = BTreeMap::new();
        for record in &table.records {
            let (name, value) = (record[0].to_owned(), record[1].to_owned());
            if properties.insert(name.clone(), value).is_some() {
                return Err(wrong(format!(
                    "The property {} is there twice.",
                    shorten_text(&name)
                )));
            }
        }
        versions(&properties)?;
        let (files, mode) = declared(&properties)?;
        against(&files, mode, archive)?;
        Ok(Self { mode, files })
    }
}

fn versions(properties: &BTreeMap<String, String>) -> Result<(), Problem> {
    let value = |name: &str| properties.get(name).map(String::as_str).unwrap_or_default();
    if value("manifest.version") != "1.0" {
        return Err(wrong("manifest.version is 1.0."));
    }
    if !VERSIONS.contains(&value("oneroster.version")) {
        return Err(wrong(format!(
            "oneroster.version is one of {}.",
            VERSIONS.join(", ")
        )));
    }
    Ok(())
}

/// The files said to be there, and how.
fn declared(properties: &BTreeMap<String, String>) -> Result<(Vec<&'static str>, Mode), Problem> {
    let known = |name: &str| {
        let fixed = [
            "manifest.version",
            "oneroster.version",
            "source.systemName",
            "source.systemCode",
        ];
        fixed.contains(&name)
            || name
                .strip_prefix("file.")
                .is_some_and(|file| NAMES.contains(&file))
    };
    if let Some(name) = properties.keys().find(|name| !known(name)) {
        return Err(wrong(format!(
            "There is no property {}.",
            shorten_text(name)
        )));
    }
    let (mut files, mut modes) = (Vec::new(), Vec::new());
    for name in NAMES {
        let value = properties.get(&format!("file.{name}")).map(String::as_str);
        let mode = match value {
            Some("absent") => continue,
            Some("bulk") => Mode::Full,
            Some("delta") => Mode::Delta,
            None => return Err(wrong(format!("It says nothing of file.{name}."))),
            Some(_) => return Err(wrong(format!("file.{name} is absent, bulk or delta."))),
        };
        files.push(name);
        if ALL.iter().any(|layout| layout.name == name) {
            modes.push(mode);
        }
    }
    match modes.as_slice() {
        [first, rest @ ..] if rest.iter().all(|mode| mode == first) => Ok((files, *first)),
        [] => Err(wrong("It names no file that is read.")),
        _ => Err(wrong("All files of a package are bulk, or all are delta.")),
    }
}

/// Holds what is said against what is there.
fn against(files: &[&'static str], mode: Mode, archive: &Archive<'_>) -> Result<(), Problem> {
    let there: Vec<&str> = archive.names().collect();
    for name in files {
        let file = format!("{name}.csv");
        if !there.contains(&file.as_str()) {
            return Err(missing(&file));
        }
    }
    let undeclared = there.iter().find(|file| {
        **file != FILE
            && !file
                .strip_suffix(".csv")
                .is_some_and(|name| files.contains(&name))
    });
    if let Some(file) = undeclared {
        return Err(refuse(
            file,
            Code::FileNotDeclared,
            "The manifest does not name it.",
        ));
    }
    let needed = ALL
        .iter()
        .find(|layout| layout.is_needed && !files.contains(&layout.name));
    match needed {
        Some(layout) if mode == Mode::Full => Err(missing(&format!("{}.csv", layout.name))),
        _ => Ok(()),
    }
}

fn missing(file: &str) -> Problem {
    refuse(file, Code::FileMissing, "The package is without it.")
}

fn wrong(detail: impl Into<String>) -> Problem {
    refuse(FILE, Code::ManifestWrong, detail)
}
