//! Packages that are in order, and broken ones with their codes.

use std::collections::BTreeMap;
use std::io::{Cursor, Write};

use plimsoll_domain::roster::Mode;
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

use super::layout::{ALL, Layout, NAMES, ROLES};
use super::read;
use crate::error::{Code, Problem};
use crate::services::roster::input::{AthleteRow, Sent};

/// What is broken, how, the code, and the file, line and column that are named.
type Broken = (&'static str, fn(&mut Files), Code, &'static str);

/// The files of a package by name, and how the manifest calls those that are read.
struct Files {
    texts: BTreeMap<String, String>,
    mode: &'static str,
}

fn header(layout: Layout) -> String {
    let columns = layout.columns.iter().map(|column| column.name);
    columns
        .filter(|name| *name != "resourceSourcedIds")
        .collect::<Vec<_>>()
        .join(",")
}

fn user(id: &str, given: &str, family: &str, agents: &str) -> String {
    format!(
        "{id},,,true,{id},,{given},{family},,,mail@example.invalid,,,{agents},,hunter2,,,,,o-1,"
    )
}

impl Files {
    /// An athlete in a squad, with a guardian and a coach.
    fn example() -> Self {
        let lines = |name: &str| match name {
            "orgs" => vec!["o-1,,,Havneby Handball,school,,".to_owned()],
            "academicSessions" => {
                vec!["t-1,,,Season,schoolYear,2026-08-01,2027-07-01,,2027".to_owned()]
            }
            "courses" => vec!["c-1,,,t-1,Handball,,,o-1,,".to_owned()],
            "classes" => vec!["u16-g,,,U16 girls,,c-1,,scheduled,,o-1,t-1,,,".to_owned()],
            "users" => vec![
                user("P-07", "Runa", "Falk", "G-11"),
                user("G-11", "Siv", "Falk", ""),
                user("C-1", "Mette", "Lund", ""),
            ],
            "roles" => vec![
                "r-1,,,P-07,primary,student,,,o-1,".to_owned(),
                "r-2,,,G-11,primary,guardian,,,o-1,".to_owned(),
                "r-3,,,C-1,primary,teacher,,,o-1,".to_owned(),
            ],
            "enrollments" => vec![
                "e-1,,,u16-g,o-1,P-07,student,,2026-08-01,2027-07-01".to_owned(),
                "e-2,,,u16-g,o-1,C-1,teacher,true,,".to_owned(),
            ],
            _ => vec!["P-07,,,2011-03-14,female,,,,,,,,,,,".to_owned()],
        };
        let file = |layout: &Layout| {
            let text = [vec![header(*layout)], lines(layout.name)]
                .concat()
                .join("\r\n");
            (format!("{}.csv", layout.name), text + "\r\n")
        };
        Self {
            texts: ALL.iter().map(file).collect(),
            mode: "bulk",
        }
    }

    fn manifest(&self) -> String {
        let file = |name: &&str| {
            let there = self.texts.contains_key(&format!("{name}.csv"));
            format!("file.{name},{}", if there { self.mode } else { "absent" })
        };
        let fixed = [
            "propertyName,value",
            "manifest.version,1.0",
            "oneroster.version,1.2",
        ]
        .map(str::to_owned);
        let system = [
            "source.systemName,Club app".to_owned(),
            "source.systemCode,7".to_owned(),
        ];
        fixed
            .into_iter()
            .chain(NAMES.iter().map(file))
            .chain(system)
            .collect::<Vec<_>>()
            .join("\n")
    }

    /// Replaces a text that is there.
    fn change(&mut self, file: &str, from: &str, to: &str) {
        if file == "manifest.csv" && !self.texts.contains_key(file) {
            self.texts.insert(file.to_owned(), self.manifest());
        }
        let text = self.texts.get_mut(file).unwrap();
        assert!(text.contains(from), "{file} is without {from}");
        *text = text.replacen(from, to, 1);
    }

    fn add_line(&mut self, file: &str, line: &str) {
        self.texts.get_mut(file).unwrap().push_str(line);
    }

    fn zip(&self) -> Vec<u8> {
        let mut texts = self.texts.clone();
        texts
            .entry("manifest.csv".to_owned())
            .or_insert_with(|| self.manifest());
        let files: Vec<(&str, &[u8])> = texts
            .iter()
            .map(|(name, text)| (name.as_str(), text.as_bytes()))
            .collect();
        zipped(&files)
    }
}

fn zipped(files: &[(&str, &[u8])]) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default().compression_method(CompressionMethod::Deflated);
    for (name, bytes) in files {
        zip.start_file(*name, options).unwrap();
        zip.write_all(bytes).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

/// The same bytes with every place of one text written over by another of its length.
fn written_over(mut bytes: Vec<u8>, from: &[u8], to: &[u8]) -> Vec<u8> {
    assert_eq!(from.len(), to.len());
    let places: Vec<usize> = (0..bytes.len() - from.len())
        .filter(|at| bytes[*at..].starts_with(from))
        .collect();
    assert!(!places.is_empty());
    for at in places {
        bytes[at..at + to.len()].copy_from_slice(to);
    }
    bytes
}

fn athletes(sent: &Sent) -> Vec<&AthleteRow> {
    sent.athletes
        .iter()
        .map(|row| row.content.as_ref().unwrap())
        .collect()
}

#[track_caller]
fn assert_refused(name: &str, read: Result<(Sent, Mode), Problem>, code: Code, pointer: &str) {
    let problem = read.expect_err(name);
    assert_eq!(problem.code, Code::Invalid, "{name}");
    let found: Vec<_> = problem
        .errors
        .iter()
        .map(|fault| (fault.code, fault.pointer.as_str()))
        .collect();
    assert!(found.contains(&(code, pointer)), "{name}: {found:?}");
    let told = format!("{:?}", problem.errors);
    assert!(!told.contains("hunter2"), "{name}: a password is told");
}

#[test]
fn students_classes_and_enrolments_are_athletes_squads_and_memberships() {
    let (sent, mode) = read(&Files::example().zip()).unwrap();
    assert_eq!(mode, Mode::Full);
    let squads: Vec<_> = sent
        .squads
        .iter()
        .map(|row| (row.row, row.content.clone().unwrap()))
        .collect();
    assert_eq!(
        (squads.len(), squads[0].0, squads[0].1.name.as_deref()),
        (1, 2, Some("U16 girls"))
    );
    let rows = athletes(&sent);
    assert_eq!(
        (rows.len(), sent.athletes[0].row),
        (1, 2),
        "neither the guardian nor the coach"
    );
    assert_eq!(rows[0].display_name.as_deref(), Some("Runa Falk"));
    assert_eq!(rows[0].birth_date.as_deref(), Some("2011-03-14"));
    let membership = &rows[0].memberships.as_ref().unwrap()[0];
    let days = (membership.from.as_deref(), membership.to.as_deref());
    assert_eq!(
        days,
        (Some("2026-08-01"), Some("2027-06-30")),
        "endDate is the first day after"
    );
    let guardians = rows[0].guardians.as_ref().unwrap();
    assert_eq!(guardians[0].external_id.as_deref(), Some("G-11"));
    assert!(
        !format!("{sent:?}").contains("hunter2")
            && !format!("{sent:?}").contains("example.invalid")
    );
}

#[test]
fn editions_own_columns_and_preferred_names_are_taken() {
    let mut files = Files::example();
    files.change("users.csv", ",pronouns", ",pronouns,metadata.shirt");
    let lines = files.texts["users.csv"]
        .replace("o-1,\r\n", "o-1,,7\r\n")
        .replace("hunter2,,,,,o-1", "hunter2,,Rú,,,o-1");
    files.texts.insert("users.csv".to_owned(), lines);
    files.change("orgs.csv", "sourcedId", "\u{feff}sourcedId");
    files.change("orgs.csv", "school,,", "ext:section,,NULL");
    files.change(
        "manifest.csv",
        "oneroster.version,1.2",
        "oneroster.version,1.2.1",
    );
    let (sent, _) = read(&files.zip()).unwrap();
    assert_eq!(athletes(&sent)[0].display_name.as_deref(), Some("Rú Falk"));
}

#[test]
fn a_delta_says_who_is_gone_and_needs_no_more_than_what_changed() {
    let mut files = Files::example();
    files.mode = "delta";
    for gone in [
        "orgs",
        "academicSessions",
        "courses",
        "classes",
        "roles",
        "demographics",
    ] {
        files.texts.remove(&format!("{gone}.csv"));
    }
    let now = "active,2026-11-09T08:00:00Z";
    let (users, ended) = (
        files.texts["users.csv"].replace(",,,true", &format!(",{now},true")),
        format!("e-1,tobedeleted,{}", &now[7..]),
    );
    files.texts.insert("users.csv".to_owned(), users);
    files.change("enrollments.csv", "e-1,,", &ended);
    files.change("enrollments.csv", "e-2,,", &format!("e-2,{now}"));
    let (sent, mode) = read(&files.zip()).unwrap();
    assert_eq!((mode, athletes(&sent).len()), (Mode::Delta, 3));
    assert!(athletes(&sent)[0].memberships.as_ref().unwrap()[0].is_over);
    assert_eq!(
        sent.only_if_known
            .iter()
            .map(String::as_str)
            .collect::<Vec<_>>(),
        ["C-1", "G-11"]
    );
}

#[test]
fn a_role_that_is_gone_removes_nobody_and_a_user_who_is_gone_has_left() {
    let mut files = Files::example();
    files.mode = "delta";
    files
        .texts
        .retain(|name, _| ["roles.csv", "users.csv"].contains(&name.as_str()));
    let now = "2026-11-09T08:00:00Z";
    files.texts.insert(
        "roles.csv".to_owned(),
        format!(
            "{}\r\nr-1,tobedeleted,{now},P-07,secondary,student,,,o-1,\r\n",
            header(ROLES)
        ),
    );
    let users = files.texts["users.csv"].replace(",,,true", &format!(",active,{now},true"));
    files.texts.insert("users.csv".to_owned(), users);
    let (sent, _) = read(&files.zip()).unwrap();
    let status = |sent: &Sent| {
        let mut rows = athletes(sent).into_iter();
        let runa = rows.find(|row| row.external_id.as_deref() == Some("P-07"));
        runa.unwrap().status.clone()
    };
    assert_eq!(status(&sent), None);
    assert!(sent.only_if_known.contains("P-07"), "it names no squad");
    files.change("users.csv", "P-07,active", "P-07,tobedeleted");
    let (sent, _) = read(&files.zip()).unwrap();
    assert_eq!(status(&sent).as_deref(), Some("left"));
}

#[rustfmt::skip] // One variant a line or two.
const BROKEN: &[Broken] = &[
    ("no manifest version", |f| f.change("manifest.csv", "manifest.version,1.0\n", ""), Code::ManifestWrong, "/manifest.csv"),
    ("another manifest version", |f| f.change("manifest.csv", "manifest.version,1.0", "manifest.version,2.0"), Code::ManifestWrong, "/manifest.csv"),
    ("edition 1.1", |f| f.change("manifest.csv", "oneroster.version,1.2", "oneroster.version,1.1"), Code::ManifestWrong, "/manifest.csv"),
    ("a file of another kind", |f| f.change("manifest.csv", "file.users,bulk", "file.users,some"), Code::ManifestWrong, "/manifest.csv"),
    ("a file not spoken of", |f| f.change("manifest.csv", "file.results,absent\n", ""), Code::ManifestWrong, "/manifest.csv"),
    ("an unknown property", |f| f.change("manifest.csv", "file.results,", "file.weather,absent\nfile.results,"), Code::ManifestWrong, "/manifest.csv"),
    ("a property twice", |f| f.change("manifest.csv", "manifest.version,1.0", "manifest.version,1.0\nmanifest.version,1.0"), Code::ManifestWrong, "/manifest.csv"),
    ("bulk and delta", |f| f.change("manifest.csv", "file.users,bulk", "file.users,delta"), Code::ManifestWrong, "/manifest.csv"),
    ("three cells in the manifest", |f| f.change("manifest.csv", "file.users,bulk", "file.users,bulk,1"), Code::ManifestWrong, "/manifest.csv"),
    ("other columns of the manifest", |f| f.change("manifest.csv", "propertyName,value", "name,value"), Code::WrongColumns, "/manifest.csv"),
    ("a file is missing", |f| { f.change("manifest.csv", "file.users,bulk", "file.users,bulk"); f.texts.remove("users.csv"); }, Code::FileMissing, "/users.csv"),
    ("roles are called absent", |f| f.change("manifest.csv", "file.roles,bulk", "file.roles,absent"), Code::FileNotDeclared, "/roles.csv"),
    ("no roles at all", |f| { f.texts.remove("roles.csv"); }, Code::FileMissing, "/roles.csv"),
    ("a file too many", |f| { f.texts.insert("notes.txt".to_owned(), String::new()); }, Code::FileNotDeclared, "/notes.txt"),
    ("a folder", |f| { f.texts.insert("sub/users.csv".to_owned(), String::new()); }, Code::ArchiveEntryNotAllowed, ""),
    ("a path upwards", |f| { f.texts.insert("../users.csv".to_owned(), String::new()); }, Code::ArchiveEntryNotAllowed, ""),
    ("an absolute path", |f| { f.texts.insert("/etc/users.csv".to_owned(), String::new()); }, Code::ArchiveEntryNotAllowed, ""),
    ("a drive", |f| { f.texts.insert("c:users.csv".to_owned(), String::new()); }, Code::ArchiveEntryNotAllowed, ""),
    ("backslashes", |f| { f.texts.insert("..\\users.csv".to_owned(), String::new()); }, Code::ArchiveEntryNotAllowed, ""),
    ("a hidden file", |f| { f.texts.insert(".users.csv".to_owned(), String::new()); }, Code::ArchiveEntryNotAllowed, ""),
    ("an unknown column", |f| f.change("users.csv", ",pronouns", ",shirt"), Code::UnknownColumn, "/users.csv"),
    ("a column twice", |f| f.change("users.csv", ",pronouns", ",pronouns,grades"), Code::WrongColumns, "/users.csv"),
    ("columns out of order", |f| f.change("users.csv", "givenName,familyName", "familyName,givenName"), Code::WrongColumns, "/users.csv"),
    ("a column is missing", |f| f.change("users.csv", "username,", ""), Code::WrongColumns, "/users.csv"),
    ("another letter case", |f| f.change("orgs.csv", "sourcedId", "sourcedID"), Code::UnknownColumn, "/orgs.csv"),
    ("semicolons", |f| f.texts.insert("orgs.csv".to_owned(), "sourcedId;status\n".to_owned()).map_or((), drop), Code::UnknownColumn, "/orgs.csv"),
    ("an empty file", |f| f.texts.insert("orgs.csv".to_owned(), String::new()).map_or((), drop), Code::WrongColumns, "/orgs.csv"),
    ("a cell too few", |f| f.change("users.csv", ",,hunter2,", ",hunter2,"), Code::MalformedLine, "/users.csv/2"),
    ("an id twice", |f| f.change("users.csv", "G-11,,,true", "P-07,,,true"), Code::DuplicateId, "/users.csv/3/sourcedId"),
    ("no id", |f| f.change("roles.csv", "r-2,", ","), Code::MissingField, "/roles.csv/3/sourcedId"),
    ("no family name", |f| f.change("users.csv", "Runa,Falk", "Runa,"), Code::MissingField, "/users.csv/2/familyName"),
    ("NULL for a name", |f| f.change("users.csv", "Runa,Falk", "NULL,Falk"), Code::MissingField, "/users.csv/2/givenName"),
    ("a status in bulk", |f| f.change("users.csv", "P-07,,", "P-07,active,"), Code::UnknownValue, "/users.csv/2/status"),
    ("a date of change in bulk", |f| f.change("users.csv", "P-07,,,", "P-07,,2026-11-09T08:00:00Z,"), Code::UnknownValue, "/users.csv/2/dateLastModified"),
    ("no status in a delta", |f| f.mode = "delta", Code::UnknownValue, "/orgs.csv/2/status"),
    ("no date of change in a delta", |f| f.mode = "delta", Code::InvalidInstant, "/orgs.csv/2/dateLastModified"),
    ("an unknown role", |f| f.change("roles.csv", "student", "pupil"), Code::UnknownValue, "/roles.csv/2/role"),
    ("an unknown role in a class", |f| f.change("enrollments.csv", "student", "parent"), Code::UnknownValue, "/enrollments.csv/2/role"),
    ("an unknown kind of organisation", |f| f.change("orgs.csv", "school,", "club,"), Code::UnknownValue, "/orgs.csv/2/type"),
    ("an unknown kind of session", |f| f.change("academicSessions.csv", "schoolYear,2026", "season,2026"), Code::UnknownValue, "/academicSessions.csv/2/type"),
    ("an unknown kind of class", |f| f.change("classes.csv", "scheduled", "weekly"), Code::UnknownValue, "/classes.csv/2/classType"),
    ("enabled perhaps", |f| f.change("users.csv", "true", "perhaps"), Code::UnknownValue, "/users.csv/2/enabledUser"),
    ("a role of another type", |f| f.change("roles.csv", "primary", "main"), Code::UnknownValue, "/roles.csv/2/roleType"),
    ("subjects without codes", |f| f.change("courses.csv", "o-1,,", "o-1,sport,"), Code::UnknownValue, "/courses.csv/2/subjectCodes"),
    ("a date of another form", |f| f.change("demographics.csv", "2011-03-14", "14.03.2011"), Code::InvalidDate, "/demographics.csv/2/birthDate"),
    ("a day that is none", |f| f.change("demographics.csv", "2011-03-14", "2011-02-30"), Code::InvalidDate, "/demographics.csv/2/birthDate"),
    ("a season that ends first", |f| f.change("academicSessions.csv", "2027-07-01", "2026-07-01"), Code::RangeReversed, "/academicSessions.csv/2/endDate"),
    ("an enrolment that ends first", |f| f.change("enrollments.csv", "2027-07-01", "2026-08-01"), Code::RangeReversed, "/enrollments.csv/2/endDate"),
    ("an enrolment of nobody", |f| f.change("enrollments.csv", "o-1,P-07", "o-1,P-99"), Code::DanglingReference, "/enrollments.csv/2/userSourcedId"),
    ("an enrolment in no class", |f| f.change("enrollments.csv", "u16-g", "u99"), Code::DanglingReference, "/enrollments.csv/2/classSourcedId"),
    ("a role of nobody", |f| f.change("roles.csv", "P-07", "P-99"), Code::DanglingReference, "/roles.csv/2/userSourcedId"),
    ("a guardian who is nobody", |f| f.change("users.csv", ",G-11,,hunter2", ",G-99,,hunter2"), Code::DanglingReference, "/users.csv/2/agentSourcedIds"),
    ("a class of no course", |f| f.change("classes.csv", "c-1", "c-9"), Code::DanglingReference, "/classes.csv/2/courseSourcedId"),
    ("a class in no term", |f| f.change("classes.csv", "t-1", "t-9"), Code::DanglingReference, "/classes.csv/2/termSourcedIds"),
    ("a birth date of nobody", |f| f.change("demographics.csv", "P-07", "P-99"), Code::DanglingReference, "/demographics.csv/2/sourcedId"),
    ("an organisation of itself", |f| f.change("orgs.csv", "school,,", "school,,o-1"), Code::CircularReference, "/orgs.csv/2/parentSourcedId"),
    ("organisations in a circle", |f| { f.change("orgs.csv", "school,,", "school,,o-2"); f.add_line("orgs.csv", "o-2,,,Section,school,,o-1\r\n"); }, Code::CircularReference, "/orgs.csv/2/parentSourcedId"),
];

#[test]
fn each_broken_package_has_its_code_file_line_and_column() {
    assert!(BROKEN.len() >= 40, "{}", BROKEN.len());
    for (name, spoil, code, pointer) in BROKEN {
        let mut files = Files::example();
        spoil(&mut files);
        assert_refused(name, read(&files.zip()), *code, pointer);
    }
}

#[test]
fn what_is_no_zip_is_refused() {
    let good = Files::example().zip();
    for (name, bytes) in [
        ("nothing", Vec::new()),
        ("text", b"sourcedId,status".to_vec()),
        ("the first half", good[..good.len() / 2].to_vec()),
        ("without its end", good[..good.len() - 10].to_vec()),
    ] {
        assert_refused(name, read(&bytes), Code::ArchiveUnreadable, "");
    }
    let spoilt = good
        .iter()
        .enumerate()
        .map(|(at, byte)| if (60..90).contains(&at) { !byte } else { *byte });
    let problem = read(&spoilt.collect::<Vec<_>>()).unwrap_err();
    assert_eq!(problem.errors[0].code, Code::ArchiveUnreadable, "damaged");
    for cut in (0..good.len()).step_by(97) {
        assert!(read(&good[..cut]).is_err(), "cut at {cut}");
    }
}

#[test]
fn two_entries_of_one_name_and_encrypted_ones_are_refused() {
    let mut files = Files::example();
    let users = files.texts["users.csv"].clone();
    files.texts.insert("userz.csv".to_owned(), users);
    let twice = written_over(files.zip(), b"userz.csv", b"users.csv");
    assert_refused("twice", read(&twice), Code::ArchiveEntryNotAllowed, "");
    let mut sealed = zipped(&[("manifest.csv", b"propertyName,value\n")]);
    let entry = sealed
        .windows(4)
        .position(|four| four == b"PK\x01\x02")
        .unwrap();
    (sealed[6], sealed[entry + 8]) = (sealed[6] | 1, sealed[entry + 8] | 1);
    assert_refused(
        "encrypted",
        read(&sealed),
        Code::ArchiveUnreadable,
        "/manifest.csv",
    );
}

#[test]
fn what_inflates_to_too_much_is_stopped() {
    let mut files = Files::example();
    files
        .texts
        .insert("users.csv".to_owned(), "0".repeat(100 << 20));
    let bomb = files.zip();
    assert!(bomb.len() < 200_000, "{}", bomb.len());
    assert_refused(
        "100 MB out of 100 kB",
        read(&bomb),
        Code::ArchiveTooLarge,
        "",
    );
    let names: Vec<String> = (0..65).map(|number| format!("{number}.csv")).collect();
    let many: Vec<(&str, &[u8])> = names.iter().map(|name| (name.as_str(), &b""[..])).collect();
    assert_refused(
        "65 entries",
        read(&zipped(&many)),
        Code::ArchiveTooLarge,
        "",
    );
    let mut files = Files::example();
    let line = "o-1,,,Havneby,school,,\n";
    files.add_line("orgs.csv", &line.repeat(100_001));
    assert_refused(
        "100,002 lines",
        read(&files.zip()),
        Code::ArchiveTooLarge,
        "/orgs.csv",
    );
}

#[test]
fn a_manifest_is_short_and_a_cell_names_few() {
    let mut files = Files::example();
    files.change(
        "manifest.csv",
        "manifest.version,1.0\n",
        "manifest.version,1.0\n\n",
    );
    assert!(read(&files.zip()).is_ok(), "a blank line");
    let blank = "\n".repeat(64 << 10);
    files.change("manifest.csv", "\n\n", &blank);
    let long = read(&files.zip());
    assert_refused("64 KiB", long, Code::ArchiveTooLarge, "/manifest.csv");

    let agents = |count: usize| {
        let mut files = Files::example();
        let cell = format!("\"{}\"", vec!["G-11"; count].join(","));
        files.change("users.csv", ",G-11,,hunter2", &format!(",{cell},,hunter2"));
        read(&files.zip())
    };
    assert!(agents(50).is_ok());
    let pointer = "/users.csv/2/agentSourcedIds";
    for count in [51, 100_000] {
        assert_refused("many agents", agents(count), Code::OutOfRange, pointer);
    }
}

#[test]
fn a_line_that_is_not_utf8_is_named() {
    let files = Files::example();
    let text = files.texts["users.csv"]
        .replace("Runa", "R\u{e5}na")
        .into_bytes();
    let latin: Vec<u8> = text.windows(2).fold(Vec::new(), |mut all, two| {
        match two {
            [0xc3, 0xa5] => {}
            [0xc3, _] => all.push(0xc3),
            [first, _] if *first == 0xa5 => all.push(0xe5),
            [first, _] => all.push(*first),
            _ => {}
        }
        all
    });
    let mut texts: Vec<(&str, Vec<u8>)> = files
        .texts
        .iter()
        .map(|(name, text)| (name.as_str(), text.clone().into_bytes()))
        .collect();
    texts
        .iter_mut()
        .find(|(name, _)| *name == "users.csv")
        .unwrap()
        .1 = latin;
    texts.push(("manifest.csv", files.manifest().into_bytes()));
    let texts: Vec<(&str, &[u8])> = texts
        .iter()
        .map(|(name, text)| (*name, text.as_slice()))
        .collect();
    assert_refused(
        "Latin-1",
        read(&zipped(&texts)),
        Code::MalformedLine,
        "/users.csv/2",
    );
}
