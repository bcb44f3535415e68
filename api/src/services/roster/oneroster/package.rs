//! The files of a package as far as they are needed, and whether what they refer to is there.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use plimsoll_domain::roster::Mode;

use super::archive::Archive;
use super::faults::{PackageFaults, Place};
use super::file::{File, Line};
use super::layout::{
    CLASSES, COURSES, DEMOGRAPHICS, ENROLLMENTS, Layout, ORGS, ROLES, SESSIONS, USERS,
};
use super::manifest::Manifest;
use crate::error::{Code, Problem};

/// Roles of people who are guardians.
const GUARDIANS: [&str; 3] = ["guardian", "parent", "relative"];
const ROLES_OF_USERS: [&str; 12] = [
    "aide",
    "counselor",
    "districtAdministrator",
    "guardian",
    "parent",
    "principal",
    "proctor",
    "relative",
    "siteAdministrator",
    "student",
    "systemAdministrator",
    "teacher",
];
const ROLES_IN_CLASSES: [&str; 4] = ["administrator", "proctor", "student", "teacher"];
const ORG_TYPES: [&str; 6] = [
    "department",
    "school",
    "district",
    "local",
    "state",
    "national",
];
const SESSION_TYPES: [&str; 4] = ["gradingPeriod", "semester", "schoolYear", "term"];

/// A reference from a cell to an id of another file.
#[derive(Debug)]
struct Reference {
    file: &'static str,
    line: u64,
    column: &'static str,
    to: &'static str,
    id: String,
}

/// A person.
#[derive(Debug)]
pub struct User {
    pub id: String,
    pub line: u64,
    pub is_gone: bool,
    pub name: String,
    pub agents: Vec<String>,
}

/// A class.
#[derive(Debug)]
pub struct Class {
    pub id: String,
    pub line: u64,
    pub is_gone: bool,
    pub title: String,
}

/// A student's enrolment.
#[derive(Debug)]
pub struct Enrolment {
    pub is_gone: bool,
    pub class: String,
    pub user: String,
    pub from: Option<Date>,
    /// The first day after it.
    pub end: Option<Date>,
}

/// What is needed of a package.
#[derive(Debug, Default)]
pub struct Package {
    pub users: Vec<User>,
    pub classes: Vec<Class>,
    pub enrolments: Vec<Enrolment>,
    /// Who is a student, and whether still.
    pub students: BTreeMap<String, bool>,
    /// Who has roles, and whether one of them is a guardian's.
    pub guardians: BTreeMap<String, bool>,
    pub birth_dates: BTreeMap<String, Date>,
    ids: BTreeMap<&'static str, BTreeSet<String>>,
    parents: BTreeMap<String, (String, u64)>,
    references: Vec<Reference>,
}

impl Package {
    /// Reads the files that the manifest names.
    pub fn read(
        archive: &mut Archive<'_>,
        manifest: &Manifest,
        faults: &mut PackageFaults,
    ) -> Result<Self, Problem> {
        let mut package = Self::default();
        let mode = manifest.mode;
        let mut each = |layout: Layout, read: fn(&mut Self, &Line<'_>, &mut PackageFaults)| {
            if !manifest.files.contains(&layout.name) {
                return Ok(());
            }
            let bytes = archive
                .file(&format!("{}.csv", layout.name))?
                .unwrap_or_default();
            let ids = File::open(&bytes, layout, mode)?.lines(faults, |line, faults| {
                read(&mut package, line, faults);
                line.some("sourcedId")
            })?;
            package.ids.insert(layout.name, ids.into_iter().collect());
            Ok::<_, Problem>(())
        };
        each(ORGS, Self::org)?;
        each(SESSIONS, Self::session)?;
        each(COURSES, Self::course)?;
        each(CLASSES, Self::class)?;
        each(USERS, Self::user)?;
        each(ROLES, Self::role)?;
        each(ENROLLMENTS, Self::enrolment)?;
        each(DEMOGRAPHICS, Self::demographics)?;
        Ok(package)
    }

    /// Takes the ids of a cell down as references to another file, and gives them.
    fn refer(
        &mut self,
        file: &'static str,
        line: &Line<'_>,
        (column, to): (&'static str, &'static str),
        faults: &mut PackageFaults,
    ) -> Vec<String> {
        let ids: Vec<String> = line
            .list(column, faults)
            .into_iter()
            .map(str::to_owned)
            .collect();
        let references = ids.iter().map(|id| Reference {
            file,
            line: line.number,
            column,
            to,
            id: id.clone(),
        });
        self.references.extend(references);
        ids
    }

    fn org(&mut self, line: &Line<'_>, faults: &mut PackageFaults) {
        line.coded("type", &ORG_TYPES, faults);
        self.refer("orgs", line, ("parentSourcedId", "orgs"), faults);
        if let Some(parent) = line.some("parentSourcedId") {
            self.parents
                .insert(line.text("sourcedId").to_owned(), (parent, line.number));
        }
    }

    fn session(&mut self, line: &Line<'_>, faults: &mut PackageFaults) {
        line.coded("type", &SESSION_TYPES, faults);
        in_order(line, "startDate", "endDate", faults);
        self.refer(
            "academicSessions",
            line,
            ("parentSourcedId", "academicSessions"),
            faults,
        );
    }

    fn course(&mut self, line: &Line<'_>, faults: &mut PackageFaults) {
        let subjects = line.list("subjects", faults).len();
        if subjects != line.list("subjectCodes", faults).len() {
            line.fault(
                "subjectCodes",
                Code::UnknownValue,
                "as many as subjects",
                faults,
            );
        }
        self.refer("courses", line, ("orgSourcedId", "orgs"), faults);
        self.refer(
            "courses",
            line,
            ("schoolYearSourcedId", "academicSessions"),
            faults,
        );
    }

    fn class(&mut self, line: &Line<'_>, faults: &mut PackageFaults) {
        line.coded("classType", &["homeroom", "scheduled"], faults);
        self.refer("classes", line, ("courseSourcedId", "courses"), faults);
        self.refer("classes", line, ("schoolSourcedId", "orgs"), faults);
        self.refer(
            "classes",
            line,
            ("termSourcedIds", "academicSessions"),
            faults,
        );
        self.classes.push(Class {
            id: line.text("sourcedId").to_owned(),
            line: line.number,
            is_gone: line.is_gone(),
            title: line.text("title").to_owned(),
        });
    }

    fn user(&mut self, line: &Line<'_>, faults: &mut PackageFaults) {
        line.coded("enabledUser", &["true", "false"], faults);
        let agents = self.refer("users", line, ("agentSourcedIds", "users"), faults);
        self.refer("users", line, ("primaryOrgSourcedId", "orgs"), faults);
        let preferred = |preferred: &str, column: &str| {
            line.some(preferred)
                .unwrap_or_else(|| line.text(column).to_owned())
        };
        let given = preferred("preferredGivenName", "givenName");
        let family = preferred("preferredFamilyName", "familyName");
        self.users.push(User {
            id: line.text("sourcedId").to_owned(),
            line: line.number,
            is_gone: line.is_gone(),
            name: format!("{given} {family}"),
            agents,
        });
    }

    fn role(&mut self, line: &Line<'_>, faults: &mut PackageFaults) {
        line.coded("roleType", &["primary", "secondary"], faults);
        line.coded("role", &ROLES_OF_USERS, faults);
        in_order(line, "beginDate", "endDate", faults);
        self.refer("roles", line, ("userSourcedId", "users"), faults);
        self.refer("roles", line, ("orgSourcedId", "orgs"), faults);
        let (user, role) = (line.text("userSourcedId").to_owned(), line.text("role"));
        if role == "student" {
            *self.students.entry(user.clone()).or_default() |= !line.is_gone();
        }
        *self.guardians.entry(user).or_default() |= GUARDIANS.contains(&role) && !line.is_gone();
    }

    fn enrolment(&mut self, line: &Line<'_>, faults: &mut PackageFaults) {
        line.coded("role", &ROLES_IN_CLASSES, faults);
        line.coded("primary", &["true", "false"], faults);
        let (from, end) = in_order(line, "beginDate", "endDate", faults);
        self.refer("enrollments", line, ("classSourcedId", "classes"), faults);
        self.refer("enrollments", line, ("schoolSourcedId", "orgs"), faults);
        self.refer("enrollments", line, ("userSourcedId", "users"), faults);
        if line.text("role") == "student" {
            self.enrolments.push(Enrolment {
                is_gone: line.is_gone(),
                class: line.text("classSourcedId").to_owned(),
                user: line.text("userSourcedId").to_owned(),
                from,
                end,
            });
        }
    }

    fn demographics(&mut self, line: &Line<'_>, faults: &mut PackageFaults) {
        self.refer("demographics", line, ("sourcedId", "users"), faults);
        if let Some(date) = line.date("birthDate", faults) {
            self.birth_dates
                .insert(line.text("sourcedId").to_owned(), date);
        }
    }

    /// In a full roster everything that is referred to is there, and no organisation is part of itself. A delta may refer to
    /// what was sent before.
    pub fn check_references(&self, mode: Mode, faults: &mut PackageFaults) {
        if mode == Mode::Delta {
            return;
        }
        let nothing = BTreeSet::new();
        for Reference {
            file,
            line,
            column,
            to,
            id,
        } in &self.references
        {
            if !self.ids.get(to).unwrap_or(&nothing).contains(id) {
                let place = Place {
                    file: &format!("{file}.csv"),
                    line: *line,
                    column,
                };
                faults.add(
                    place,
                    Code::DanglingReference,
                    id,
                    &format!("an id of {to}.csv"),
                );
            }
        }
        self.check_parents(faults);
    }

    /// Follows each organisation upwards; what was followed once is not followed again.
    fn check_parents(&self, faults: &mut PackageFaults) {
        let mut followed: BTreeSet<&str> = BTreeSet::new();
        for org in self.parents.keys() {
            let (mut at, mut way) = (org.as_str(), BTreeSet::new());
            while let Some((parent, line)) = self.parents.get(at)
                && !followed.contains(at)
            {
                if !way.insert(at) {
                    let (file, column) = ("orgs.csv", "parentSourcedId");
                    let place = Place {
                        file,
                        line: *line,
                        column,
                    };
                    let allowed = "an organisation that is no part of this one";
                    faults.add(place, Code::CircularReference, parent, allowed);
                    break;
                }
                at = parent;
            }
            followed.extend(way);
        }
    }
}

/// Two dates of a line, the second being the first day after.
fn in_order(
    line: &Line<'_>,
    from: &'static str,
    end: &'static str,
    faults: &mut PackageFaults,
) -> (Option<Date>, Option<Date>) {
    let dates = (line.date(from, faults), line.date(end, faults));
    if let (Some(first), Some(last)) = dates
        && last <= first
    {
        line.fault(end, Code::RangeReversed, &format!("after {first}"), faults);
    }
    dates
}
