//! The files of a package that are read, and their columns in order.

/// A file that is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Layout {
    /// Its name in the manifest, after `file.`; the file is this with `.csv`.
    pub name: &'static str,
    /// Its columns in order.
    pub columns: &'static [Column],
    /// Whether a full roster needs it.
    pub is_needed: bool,
}

/// A column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Column {
    /// Its name, letter for letter.
    pub name: &'static str,
    /// Whether each line has a value.
    pub has_value: bool,
    /// Whether some editions of the format are without it.
    pub may_lack: bool,
}

const fn value(name: &'static str) -> Column {
    Column {
        name,
        has_value: true,
        may_lack: false,
    }
}

const fn blank(name: &'static str) -> Column {
    Column {
        name,
        has_value: false,
        may_lack: false,
    }
}

const fn edition(name: &'static str) -> Column {
    Column {
        name,
        has_value: false,
        may_lack: true,
    }
}

/// Every name that a manifest may have after `file.`.
pub const NAMES: [&str; 21] = [
    "academicSessions",
    "categories",
    "classes",
    "classResources",
    "courses",
    "courseResources",
    "demographics",
    "enrollments",
    "lineItemLearningObjectiveIds",
    "lineItems",
    "lineItemScoreScales",
    "orgs",
    "resources",
    "resultLearningObjectiveIds",
    "results",
    "resultScoreScales",
    "roles",
    "scoreScales",
    "userProfiles",
    "userResources",
    "users",
];

/// Organisations.
pub const ORGS: Layout = Layout {
    name: "orgs",
    is_needed: true,
    columns: &[
        value("sourcedId"),
        blank("status"),
        blank("dateLastModified"),
        value("name"),
        value("type"),
        blank("identifier"),
        blank("parentSourcedId"),
    ],
};

/// People.
pub const USERS: Layout = Layout {
    name: "users",
    is_needed: true,
    columns: &[
        value("sourcedId"),
        blank("status"),
        blank("dateLastModified"),
        value("enabledUser"),
        value("username"),
        blank("userIds"),
        value("givenName"),
        value("familyName"),
        blank("middleName"),
        blank("identifier"),
        blank("email"),
        blank("sms"),
        blank("phone"),
        blank("agentSourcedIds"),
        blank("grades"),
        blank("password"),
        blank("userMasterIdentifier"),
        edition("resourceSourcedIds"),
        blank("preferredGivenName"),
        blank("preferredMiddleName"),
        blank("preferredFamilyName"),
        blank("primaryOrgSourcedId"),
        edition("pronouns"),
    ],
};

/// Who is what where.
pub const ROLES: Layout = Layout {
    name: "roles",
    is_needed: true,
    columns: &[
        value("sourcedId"),
        blank("status"),
        blank("dateLastModified"),
        value("userSourcedId"),
        value("roleType"),
        value("role"),
        blank("beginDate"),
        blank("endDate"),
        value("orgSourcedId"),
        blank("userProfileSourcedId"),
    ],
};

/// Terms and school years.
pub const SESSIONS: Layout = Layout {
    name: "academicSessions",
    is_needed: true,
    columns: &[
        value("sourcedId"),
        blank("status"),
        blank("dateLastModified"),
        value("title"),
        value("type"),
        value("startDate"),
        value("endDate"),
        blank("parentSourcedId"),
        value("schoolYear"),
    ],
};

/// Courses.
pub const COURSES: Layout = Layout {
    name: "courses",
    is_needed: true,
    columns: &[
        value("sourcedId"),
        blank("status"),
        blank("dateLastModified"),
        blank("schoolYearSourcedId"),
        value("title"),
        blank("courseCode"),
        blank("grades"),
        value("orgSourcedId"),
        blank("subjects"),
        blank("subjectCodes"),
    ],
};

/// Classes.
pub const CLASSES: Layout = Layout {
    name: "classes",
    is_needed: true,
    columns: &[
        value("sourcedId"),
        blank("status"),
        blank("dateLastModified"),
        value("title"),
        blank("grades"),
        value("courseSourcedId"),
        blank("classCode"),
        value("classType"),
        blank("location"),
        value("schoolSourcedId"),
        value("termSourcedIds"),
        blank("subjects"),
        blank("subjectCodes"),
        blank("periods"),
    ],
};

/// Who belongs to which class.
pub const ENROLLMENTS: Layout = Layout {
    name: "enrollments",
    is_needed: true,
    columns: &[
        value("sourcedId"),
        blank("status"),
        blank("dateLastModified"),
        value("classSourcedId"),
        value("schoolSourcedId"),
        value("userSourcedId"),
        value("role"),
        blank("primary"),
        blank("beginDate"),
        blank("endDate"),
    ],
};

/// Birth dates; nothing else of it is read.
pub const DEMOGRAPHICS: Layout = Layout {
    name: "demographics",
    is_needed: false,
    columns: &[
        value("sourcedId"),
        blank("status"),
        blank("dateLastModified"),
        blank("birthDate"),
        blank("sex"),
        edition("americanIndianOrAlaskaNative"),
        edition("asian"),
        edition("blackOrAfricanAmerican"),
        edition("nativeHawaiianOrOtherPacificIslander"),
        edition("white"),
        edition("demographicRaceTwoOrMoreRaces"),
        edition("hispanicOrLatinoEthnicity"),
        edition("countryOfBirthCode"),
        edition("stateOfBirthAbbreviation"),
        edition("cityOfBirth"),
        edition("publicSchoolResidenceStatus"),
    ],
};

/// Every file that is read.
pub const ALL: [Layout; 8] = [
    ORGS,
    USERS,
    ROLES,
    SESSIONS,
    COURSES,
    CLASSES,
    ENROLLMENTS,
    DEMOGRAPHICS,
];
