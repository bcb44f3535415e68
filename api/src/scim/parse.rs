//! Reading filters and paths. Both are short texts of somebody else's: their length, depth and number of comparisons are bounded.

use serde_json::Value;

use super::filter::{AttrPath, Filter, Operator, Path};
use super::{Fault, Kind};

/// Longest filter or path, in bytes.
pub const LONGEST: usize = 4_000;
/// Most brackets within each other.
pub const DEEPEST: usize = 16;
/// Most comparisons of a filter.
pub const MOST_COMPARISONS: usize = 100;

/// Reads a filter.
///
/// # Errors
/// `Filter`, where it is none.
pub fn filter(text: &str) -> Result<Filter, Fault> {
    let mut reader = Reader::new(text, Kind::Filter)?;
    let filter = reader.any_of(0)?;
    reader.end()?;
    Ok(filter)
}

/// Reads the path of a patch.
///
/// # Errors
/// `Path`, where it is none; `Filter`, where the filter in it is none.
pub fn path(text: &str) -> Result<Path, Fault> {
    let mut reader = Reader::new(text, Kind::Path)?;
    let attribute = reader.attribute()?;
    let filter = match reader.takes(b'[') {
        true => Some(reader.in_brackets(0)?),
        false => None,
    };
    let sub = match filter.is_some() && reader.takes(b'.') {
        true => Some(reader.name()?),
        false => None,
    };
    reader.end()?;
    Ok(Path {
        attribute,
        filter,
        sub,
    })
}

/// Reads the name of an attribute, as `attributes` lists them.
///
/// # Errors
/// `Value`, where it is none.
pub fn attribute(text: &str) -> Result<AttrPath, Fault> {
    let mut reader = Reader::new(text.trim(), Kind::Value)?;
    let attribute = reader.attribute()?;
    reader.end()?;
    Ok(attribute)
}

struct Reader<'a> {
    text: &'a str,
    at: usize,
    kind: Kind,
    comparisons: usize,
}

impl<'a> Reader<'a> {
    fn new(text: &'a str, kind: Kind) -> Result<Self, Fault> {
        let reader = Self {
            text,
            at: 0,
            kind,
            comparisons: 0,
        };
        match text.len() <= LONGEST {
            true => Ok(reader),
            false => Err(reader.fault(format!("It has more than {LONGEST} bytes."))),
        }
    }

    fn fault(&self, detail: impl Into<String>) -> Fault {
        let given: String = self.text.chars().take(80).collect();
        Fault::new(self.kind, given, detail)
    }

    fn expected(&self, what: &str) -> Fault {
        let column = self.text[..self.at].chars().count() + 1;
        self.fault(format!("At column {column} there should be {what}."))
    }

    fn rest(&self) -> &'a str {
        &self.text[self.at..]
    }

    fn skip_spaces(&mut self) {
        self.at += self.rest().len() - self.rest().trim_start_matches(' ').len();
    }

    fn takes(&mut self, sign: u8) -> bool {
        let is_there = self.rest().as_bytes().first() == Some(&sign);
        self.at += usize::from(is_there);
        is_there
    }

    /// A word that is not part of a longer one, in any case of letters; spaces before it are skipped where it is there.
    fn word(&mut self, word: &str) -> bool {
        let (before, spaces) = (self.at, self.rest().starts_with(' '));
        self.skip_spaces();
        let rest = self.rest();
        let begins = rest
            .get(..word.len())
            .is_some_and(|text| text.eq_ignore_ascii_case(word));
        let ends = rest
            .as_bytes()
            .get(word.len())
            .is_none_or(|next| !is_of_name(*next));
        if begins && ends && (spaces || before == 0 || self.text.as_bytes()[before - 1] != b'"') {
            self.at += word.len();
            return true;
        }
        self.at = before;
        false
    }

    fn end(&mut self) -> Result<(), Fault> {
        match self.rest().is_empty() {
            true => Ok(()),
            false => Err(self.expected("the end")),
        }
    }

    fn any_of(&mut self, depth: usize) -> Result<Filter, Fault> {
        let mut filter = self.all_of(depth)?;
        while self.word("or") {
            filter = Filter::Or(Box::new(filter), Box::new(self.all_of(depth)?));
        }
        Ok(filter)
    }

    fn all_of(&mut self, depth: usize) -> Result<Filter, Fault> {
        let mut filter = self.one(depth)?;
        while self.word("and") {
            filter = Filter::And(Box::new(filter), Box::new(self.one(depth)?));
        }
        Ok(filter)
    }

    fn one(&mut self, depth: usize) -> Result<Filter, Fault> {
        if depth > DEEPEST {
            return Err(self.fault(format!(
                "More than {DEEPEST} brackets stand within each other."
            )));
        }
        self.skip_spaces();
        if self.takes(b'(') {
            return self.closed(depth);
        }
        let before = self.at;
        if self.word("not") {
            self.skip_spaces();
            if self.takes(b'(') {
                return Ok(Filter::Not(Box::new(self.closed(depth)?)));
            }
            // Else it is the name of an attribute.
            self.at = before;
        }
        self.comparison(depth)
    }

    /// What stands before the closing bracket.
    fn closed(&mut self, depth: usize) -> Result<Filter, Fault> {
        let filter = self.any_of(depth + 1)?;
        self.skip_spaces();
        match self.takes(b')') {
            true => Ok(filter),
            false => Err(self.expected("a closing bracket")),
        }
    }

    fn in_brackets(&mut self, depth: usize) -> Result<Filter, Fault> {
        let kind = std::mem::replace(&mut self.kind, Kind::Filter);
        let filter = self.any_of(depth + 1)?;
        self.skip_spaces();
        if !self.takes(b']') {
            return Err(self.expected("a closing square bracket"));
        }
        self.kind = kind;
        Ok(filter)
    }

    fn comparison(&mut self, depth: usize) -> Result<Filter, Fault> {
        self.comparisons += 1;
        if self.comparisons > MOST_COMPARISONS {
            return Err(self.fault(format!("It has more than {MOST_COMPARISONS} comparisons.")));
        }
        let path = self.attribute()?;
        if self.takes(b'[') {
            return Ok(Filter::Has(path, Box::new(self.in_brackets(depth)?)));
        }
        if self.word("pr") {
            return Ok(Filter::Present(path));
        }
        let operator = Operator::NAMES.iter().find(|(name, _)| self.word(name));
        let Some((_, operator)) = operator else {
            return Err(self.expected("pr, eq, ne, co, sw, ew, gt, ge, lt or le"));
        };
        self.skip_spaces();
        Ok(Filter::Compare(path, *operator, self.value()?))
    }

    /// A value as JSON writes it: a text, a number, true, false or null.
    fn value(&mut self) -> Result<Value, Fault> {
        let (read, length) = match self.rest().starts_with('"') {
            true => {
                let mut values =
                    serde_json::Deserializer::from_str(self.rest()).into_iter::<Value>();
                (values.next().and_then(Result::ok), values.byte_offset())
            }
            false => {
                let bytes = self.rest().bytes();
                let length = bytes.take_while(|byte| !b" )]".contains(byte)).count();
                (serde_json::from_str(&self.rest()[..length]).ok(), length)
            }
        };
        match read {
            Some(value) if !value.is_array() && !value.is_object() => {
                self.at += length;
                Ok(value)
            }
            _ => Err(self.expected("a text in quotes, a number, true, false or null")),
        }
    }

    fn attribute(&mut self) -> Result<AttrPath, Fault> {
        let whole = self.taken_while(|byte| is_of_name(byte) || b":.".contains(&byte));
        let (schema, rest) = match whole.rsplit_once(':') {
            Some((schema, rest)) => (Some(schema.to_owned()), rest),
            None => (None, whole),
        };
        let (name, sub) = match rest.split_once('.') {
            Some((name, sub)) => (name, Some(sub)),
            None => (rest, None),
        };
        let is_urn = |schema: &String| {
            let parts = schema.split(':').filter(|part| !part.is_empty());
            schema
                .get(..4)
                .is_some_and(|start| start.eq_ignore_ascii_case("urn:"))
                && parts.count() > 2
        };
        if schema.as_ref().is_some_and(|schema| !is_urn(schema))
            || !is_name(name)
            || sub.is_some_and(|sub| !is_name(sub))
        {
            self.at -= whole.len();
            return Err(self.expected("the name of an attribute"));
        }
        Ok(AttrPath {
            schema,
            name: name.to_owned(),
            sub: sub.map(str::to_owned),
        })
    }

    fn name(&mut self) -> Result<String, Fault> {
        let name = self.taken_while(is_of_name);
        match is_name(name) {
            true => Ok(name.to_owned()),
            false => Err(self.expected("the name of an attribute")),
        }
    }

    fn taken_while(&mut self, fits: impl Fn(u8) -> bool) -> &'a str {
        let rest = self.rest();
        let length = rest.bytes().take_while(|byte| fits(*byte)).count();
        self.at += length;
        &rest[..length]
    }
}

/// ATTRNAME of RFC 7644, figure 1; `$ref` is the one name with a sign before it.
fn is_name(text: &str) -> bool {
    let plain = text.strip_prefix('$').unwrap_or(text);
    plain.starts_with(|first: char| first.is_ascii_alphabetic()) && !plain.contains('$')
}

const fn is_of_name(byte: u8) -> bool {
    byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'_' | b'$')
}

#[cfg(test)]
mod tests;
