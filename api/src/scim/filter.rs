//! Filters and paths, as RFC 7644 writes them (figures 1 and 7).

use std::fmt;

use serde_json::Value;

/// The name of an attribute, with the schema it belongs to where that is said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AttrPath {
    /// The URN before the last colon.
    pub schema: Option<String>,
    /// The attribute.
    pub name: String,
    /// The part of it, after the dot.
    pub sub: Option<String>,
}

impl fmt::Display for AttrPath {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(schema) = &self.schema {
            write!(f, "{schema}:")?;
        }
        f.write_str(&self.name)?;
        match &self.sub {
            Some(sub) => write!(f, ".{sub}"),
            None => Ok(()),
        }
    }
}

/// How two values are compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Operator {
    /// Equal.
    Eq,
    /// Not equal.
    Ne,
    /// Contains.
    Co,
    /// Begins with.
    Sw,
    /// Ends with.
    Ew,
    /// Greater, or later.
    Gt,
    /// At least.
    Ge,
    /// Less, or earlier.
    Lt,
    /// At most.
    Le,
}

impl Operator {
    /// Every operator with its name.
    pub const NAMES: [(&'static str, Operator); 9] = [
        ("eq", Operator::Eq),
        ("ne", Operator::Ne),
        ("co", Operator::Co),
        ("sw", Operator::Sw),
        ("ew", Operator::Ew),
        ("gt", Operator::Gt),
        ("ge", Operator::Ge),
        ("lt", Operator::Lt),
        ("le", Operator::Le),
    ];

    /// Its name.
    pub fn name(self) -> &'static str {
        let found = Self::NAMES.iter().find(|(_, operator)| *operator == self);
        found.map_or("", |(name, _)| name)
    }
}

/// A filter.
#[derive(Debug, Clone, PartialEq)]
pub enum Filter {
    /// An attribute against a value.
    Compare(AttrPath, Operator, Value),
    /// Whether an attribute has a value.
    Present(AttrPath),
    /// Whether one of several values is as the filter says: `roles[value eq "coach"]`.
    Has(AttrPath, Box<Filter>),
    /// Both.
    And(Box<Filter>, Box<Filter>),
    /// One at least.
    Or(Box<Filter>, Box<Filter>),
    /// Not so.
    Not(Box<Filter>),
}

impl fmt::Display for Filter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Compare(path, operator, value) => write!(f, "{path} {} {value}", operator.name()),
            Self::Present(path) => write!(f, "{path} pr"),
            Self::Has(path, filter) => write!(f, "{path}[{filter}]"),
            Self::And(one, other) => write!(f, "({one}) and ({other})"),
            Self::Or(one, other) => write!(f, "({one}) or ({other})"),
            Self::Not(filter) => write!(f, "not ({filter})"),
        }
    }
}

/// Where an operation of a patch works.
#[derive(Debug, Clone, PartialEq)]
pub struct Path {
    /// The attribute; its part where no filter stands between.
    pub attribute: AttrPath,
    /// Which of several values.
    pub filter: Option<Filter>,
    /// The part of the values that the filter picks.
    pub sub: Option<String>,
}

impl Path {
    /// The part of the attribute that is meant.
    pub fn part(&self) -> Option<&str> {
        self.sub.as_deref().or(self.attribute.sub.as_deref())
    }
}

impl fmt::Display for Path {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.attribute)?;
        if let Some(filter) = &self.filter {
            write!(f, "[{filter}]")?;
        }
        match &self.sub {
            Some(sub) => write!(f, ".{sub}"),
            None => Ok(()),
        }
    }
}
