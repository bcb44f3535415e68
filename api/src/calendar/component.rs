//! Components and the properties that say something about when, how long and what.

use icalendar::parser;

use super::bounds::Bounds;
use super::code::{Code, Fault, Refused, shortened};
use super::lines::{Line, Lines};

/// Deepest nesting; RFC 5545 itself needs three levels.
const DEEPEST: usize = 8;

/// Longest line that is read, in bytes; an unread one, such as an attached file, may be longer.
const LONGEST: usize = 512 * 1024;

/// Most parameters of a line that is read, with what else has a semicolon before the value.
const MOST_PARAMETERS: usize = 100;

/// Of a zone the components within it are read too.
const ZONE: &str = "VTIMEZONE";

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
    pub(super) name: &'static str,
    /// Its value.
    pub(super) value: String,
    parameters: Vec<(&'static str, String)>,
}

impl Property {
    /// The value of a parameter that is read.
    pub(super) fn parameter(&self, name: &str) -> Option<&str> {
        let mut parameters = self.parameters.iter();
        let found = parameters.find(|(key, _)| *key == name);
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
    /// How many properties and components it holds, at any depth.
    held: usize,
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
        let read = match known(&READ, name) {
            Some(name) => property(name, rest),
            None if rest.is_empty() => None,
            None => return,
        };
        match read {
            Some(read) => {
                self.properties.push(read);
                self.held += 1;
            }
            None => {
                let shown = || format!("line {}: {}", line.number, shortened(text, 60));
                self.malformed.get_or_insert_with(shown);
            }
        }
    }

    fn add(&mut self, component: Self) {
        self.held += component.held + 1;
        self.components.push(component);
    }
}

/// The components of a text that are read, one after the other as they end: those of one name directly within a VCALENDAR, then that
/// VCALENDAR itself, without what is within it. No more than these two are held at a time, however long the text is.
#[derive(Debug)]
pub(super) struct Components<'t> {
    lines: Lines<'t>,
    bounds: &'t Bounds,
    wanted: &'static str,
    open: Vec<Component>,
    begun: usize,
    calendars: usize,
}

impl<'t> Components<'t> {
    /// Those of a name in a text.
    ///
    /// # Errors
    /// Where the text is too long.
    pub(super) fn named(
        wanted: &'static str,
        text: &'t [u8],
        bounds: &'t Bounds,
    ) -> Result<Self, Refused> {
        if text.len() > bounds.bytes {
            let detail = format!("{} bytes; at most {}", text.len(), bounds.bytes);
            return Err(Refused::new(Code::TextTooLong, detail));
        }
        Ok(Self {
            lines: Lines::new(text),
            bounds,
            wanted,
            open: Vec::new(),
            begun: 0,
            calendars: 0,
        })
    }

    /// Takes a line in. A component that is read is handed back where it ends.
    fn line(&mut self, line: &Line<'_>) -> Result<Option<Component>, Refused> {
        if let Some(name) = keyword(&line.text, "BEGIN:") {
            self.begin(name, line.number)?;
            return Ok(None);
        }
        if let Some(name) = keyword(&line.text, "END:") {
            return self.end(&name, line.number);
        }
        let is_read = self.is_read();
        let Some(component) = self.open.last_mut() else {
            return Err(Refused::new(Code::NotACalendar, at(line.number)));
        };
        if is_read {
            component.take(line);
        }
        let held: usize = self.open.iter().map(|one| one.held).sum();
        if held > self.bounds.properties {
            let detail = format!("more than {}, {}", self.bounds.properties, at(line.number));
            return Err(Refused::new(Code::TooManyProperties, detail));
        }
        Ok(None)
    }

    /// Whether the innermost component is one that is read.
    fn is_read(&self) -> bool {
        match self.open.as_slice() {
            [_calendar] => true,
            [_, one] => one.name == self.wanted,
            [_, zone, _] => zone.name == self.wanted && self.wanted == ZONE,
            _ => false,
        }
    }

    fn begin(&mut self, name: String, line: usize) -> Result<(), Refused> {
        self.begun += 1;
        if self.begun > self.bounds.components {
            let detail = format!("more than {}", self.bounds.components);
            return Err(Refused::new(Code::TooManyComponents, detail));
        }
        if self.open.is_empty() && name != "VCALENDAR" {
            return Err(Refused::new(Code::NotACalendar, at(line)));
        }
        if self.open.len() == DEEPEST {
            return Err(Refused::new(Code::NestedTooDeep, at(line)));
        }
        self.open.push(Component {
            name,
            line,
            ..Component::default()
        });
        Ok(())
    }

    fn end(&mut self, name: &str, line: usize) -> Result<Option<Component>, Refused> {
        let is_read = self.is_read();
        let ended = self.open.pop().filter(|ended| ended.name == name);
        let ended = ended.ok_or_else(|| Refused::new(Code::UnbalancedComponents, at(line)))?;
        match self.open.as_mut_slice() {
            [] => self.calendars += 1,
            [_, zone] if is_read => {
                zone.add(ended);
                return Ok(None);
            }
            _ => {}
        }
        Ok(is_read.then_some(ended))
    }

    /// What is wrong with the text where it ends here.
    fn fault_at_the_end(&self) -> Option<Refused> {
        if let Some(cut) = self.open.last() {
            let detail = format!("{} of line {} has no END", cut.name, cut.line);
            return Some(Refused::new(Code::UnbalancedComponents, detail));
        }
        let none = || Refused::new(Code::NotACalendar, "no VCALENDAR");
        (self.calendars == 0).then(none)
    }
}

impl Iterator for Components<'_> {
    type Item = Result<Component, Refused>;

    /// The next one. After a refusal nothing that comes counts.
    fn next(&mut self) -> Option<Self::Item> {
        while let Some(line) = self.lines.next() {
            match line.and_then(|line| self.line(&line)) {
                Ok(None) => {}
                Ok(Some(component)) => return Some(Ok(component)),
                Err(refused) => return Some(Err(refused)),
            }
        }
        self.fault_at_the_end().map(Err)
    }
}

/// The name of a component in a line that begins or ends one.
fn keyword(line: &str, keyword: &str) -> Option<String> {
    let (given, name) = line.split_at_checked(keyword.len())?;
    let name = || name.trim().to_ascii_uppercase();
    given.eq_ignore_ascii_case(keyword).then(name)
}

/// The name of a list that is written in any case.
fn known(names: &[&'static str], given: &str) -> Option<&'static str> {
    let mut names = names.iter();
    names.find(|name| name.eq_ignore_ascii_case(given)).copied()
}

/// Reads a content line: its name in capitals, and the parameters and the value after it.
fn property(name: &'static str, rest: &str) -> Option<Property> {
    if rest.is_empty() || rest.len() > LONGEST || parameters(rest) > MOST_PARAMETERS {
        return None;
    }
    let line = format!("{name}{rest}");
    let read = parser::Property::try_from(line.as_str()).ok()?;
    // A name alone is read where what follows is no parameter; such a line says nothing.
    if read.params.is_empty() && rest.starts_with(';') {
        return None;
    }
    let parameter = |parameter: parser::Parameter<'_>| {
        let name = known(&PARAMETERS, parameter.key.as_str())?;
        let value = parameter.val.map(|value| value.to_string());
        Some((name, value.unwrap_or_default()))
    };
    Some(Property {
        value: read.val.to_string(),
        parameters: read.params.into_iter().filter_map(parameter).collect(),
        name,
    })
}

/// How many semicolons stand before the value, which begins after the first colon that is not in quotes (RFC 5545, 3.1).
fn parameters(rest: &str) -> usize {
    let mut is_quoted = false;
    let before = rest.bytes().take_while(|byte| {
        is_quoted ^= *byte == b'"';
        is_quoted || *byte != b':'
    });
    before.filter(|byte| *byte == b';').count()
}

fn at(line: usize) -> String {
    format!("line {line}")
}

#[cfg(test)]
mod tests;
