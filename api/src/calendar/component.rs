//! Components and the properties that say something about when, how long and what.

use icalendar::parser;

use super::bounds::Bounds;
use super::code::{Code, Fault, Refused, shortened};
use super::lines::{Line, Lines};

/// Deepest nesting; RFC 5545 itself needs three levels.
const DEEPEST: usize = 8;

/// Longest line that is read, in bytes; an unread one, such as an attached file, may be longer.
const LONGEST: usize = 1024 * 1024;

/// The parameters that are read.
const PARAMETERS: [&str; 3] = ["RANGE", "TZID", "VALUE"];

/// The properties that are read; every other one is passed over unread.
const READ: [&str; 23] = [
    "CALSCALE",
    "CATEGORIES",
    "DESCRIPTION",
    "DTEND",
    "DTSTAMP",
    "DTSTART",
    "DURATION",
    "EXDATE",
    "EXRULE",
    "LOCATION",
    "METHOD",
    "RDATE",
    "RECURRENCE-ID",
    "RRULE",
    "SEQUENCE",
    "STATUS",
    "SUMMARY",
    "TZID",
    "TZOFFSETFROM",
    "TZOFFSETTO",
    "UID",
    "VERSION",
    "X-LIC-LOCATION",
];

/// A property as written, text unescaped except for lists of texts.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Property {
    /// Its name in capitals.
    pub(super) name: String,
    /// Its value.
    pub(super) value: String,
    parameters: Vec<(String, String)>,
}

impl Property {
    /// The value of a parameter that is read.
    pub(super) fn parameter(&self, name: &str) -> Option<&str> {
        let mut parameters = self.parameters.iter();
        let found = parameters.find(|(key, _)| key == name);
        found.map(|(_, value)| value.as_str())
    }
}

/// A component with what it contains.
#[derive(Debug, Default)]
pub(super) struct Component {
    /// Its name in capitals.
    pub(super) name: String,
    /// The line on which it begins.
    pub(super) line: usize,
    /// Its properties, in order.
    pub(super) properties: Vec<Property>,
    /// Components within it, in order.
    pub(super) components: Vec<Component>,
    /// The first of its lines that cannot be read.
    pub(super) malformed: Option<String>,
}

impl Component {
    /// Every property of a name.
    pub(super) fn all<'c>(&'c self, name: &'c str) -> impl Iterator<Item = &'c Property> {
        self.properties
            .iter()
            .filter(move |property| property.name == name)
    }

    /// The property of a name that may occur once.
    pub(super) fn one(&self, name: &str) -> Result<Option<&Property>, Fault> {
        let mut found = self.properties.iter().filter(|one| one.name == name);
        let first = found.next();
        match found.next() {
            Some(_) => Err(Fault::new(Code::RepeatedProperty, name)),
            None => Ok(first),
        }
    }

    /// The components of a name within it.
    pub(super) fn within<'c>(&'c self, name: &'c str) -> impl Iterator<Item = &'c Component> {
        self.components
            .iter()
            .filter(move |component| component.name == name)
    }

    fn take(&mut self, line: &Line<'_>) {
        let text = line.text.as_ref();
        let end = text.find([':', ';']).unwrap_or(text.len());
        let (name, rest) = text.split_at(end);
        let name = name.to_ascii_uppercase();
        if !rest.is_empty() && !READ.contains(&name.as_str()) {
            return;
        }
        let read = property(name, rest);
        if read.is_none() {
            let shown = format!("line {}: {}", line.number, shortened(&line.text, 60));
            self.malformed.get_or_insert(shown);
        }
        self.properties.extend(read);
    }
}

/// Reads the components of a text: the VCALENDARs with all within them.
///
/// # Errors
/// Where the text is too long, is no calendar or was cut short.
pub(super) fn read(text: &[u8], bounds: &Bounds) -> Result<Vec<Component>, Refused> {
    if text.len() > bounds.bytes {
        let detail = format!("{} bytes; at most {}", text.len(), bounds.bytes);
        return Err(Refused::new(Code::TextTooLong, detail));
    }
    let mut open: Vec<Component> = Vec::new();
    let mut calendars = Vec::new();
    let mut begun = 0;
    for line in Lines::new(text) {
        let line = line?;
        if let Some(name) = keyword(&line.text, "BEGIN:") {
            begun += 1;
            if begun > bounds.components {
                let detail = format!("more than {}", bounds.components);
                return Err(Refused::new(Code::TooManyComponents, detail));
            }
            begin(&mut open, name, line.number)?;
        } else if let Some(name) = keyword(&line.text, "END:") {
            calendars.extend(end(&mut open, &name, line.number)?);
        } else if let Some(component) = open.last_mut() {
            component.take(&line);
        } else {
            return Err(Refused::new(Code::NotACalendar, at(line.number)));
        }
    }
    if let Some(cut) = open.last() {
        let detail = format!("{} of line {} has no END", cut.name, cut.line);
        return Err(Refused::new(Code::UnbalancedComponents, detail));
    }
    if calendars.is_empty() {
        return Err(Refused::new(Code::NotACalendar, "no VCALENDAR"));
    }
    Ok(calendars)
}

/// The name of a component in a line that begins or ends one.
fn keyword(line: &str, keyword: &str) -> Option<String> {
    let (given, name) = line.split_at_checked(keyword.len())?;
    let name = || name.trim().to_ascii_uppercase();
    given.eq_ignore_ascii_case(keyword).then(name)
}

fn begin(open: &mut Vec<Component>, name: String, line: usize) -> Result<(), Refused> {
    if open.is_empty() && name != "VCALENDAR" {
        return Err(Refused::new(Code::NotACalendar, at(line)));
    }
    if open.len() == DEEPEST {
        return Err(Refused::new(Code::NestedTooDeep, at(line)));
    }
    open.push(Component {
        name,
        line,
        ..Component::default()
    });
    Ok(())
}

/// Ends the innermost component; one that is not within another is handed back.
fn end(open: &mut Vec<Component>, name: &str, line: usize) -> Result<Option<Component>, Refused> {
    let ended = open.pop().filter(|ended| ended.name == name);
    let ended = ended.ok_or_else(|| Refused::new(Code::UnbalancedComponents, at(line)))?;
    let Some(parent) = open.last_mut() else {
        return Ok(Some(ended));
    };
    parent.components.push(ended);
    Ok(None)
}

/// Reads a content line: its name in capitals, and the parameters and the value after it.
fn property(name: String, rest: &str) -> Option<Property> {
    if rest.is_empty() || rest.len() > LONGEST {
        return None;
    }
    let line = format!("{name}{rest}");
    let read = parser::Property::try_from(line.as_str()).ok()?;
    // A name alone is read where what follows is no parameter; such a line says nothing.
    if read.params.is_empty() && rest.starts_with(';') {
        return None;
    }
    let parameter = |parameter: parser::Parameter<'_>| {
        let name = parameter.key.as_str().to_ascii_uppercase();
        let value = parameter.val.map(|value| value.to_string());
        let is_read = PARAMETERS.contains(&name.as_str());
        is_read.then(|| (name, value.unwrap_or_default()))
    };
    Some(Property {
        value: read.val.to_string(),
        parameters: read.params.into_iter().filter_map(parameter).collect(),
        name,
    })
}

fn at(line: usize) -> String {
    format!("line {line}")
}

#[cfg(test)]
mod tests;
