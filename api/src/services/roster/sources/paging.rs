//! Where the next page of a roster is.

use serde::{Deserialize, Serialize};
use serde_json::Value;
use url::Url;
use utoipa::ToSchema;

use super::pointer::Pointer;
use super::problem::PullProblem;
use crate::error::{Code, FieldProblem};
use crate::services::fields::{self, Faults};

/// The ways from page to page.
const KINDS: [&str; 4] = ["none", "link_header", "next_pointer", "page_parameter"];
/// Most that the number of the first page may be.
const FIRST_AT_MOST: i64 = 1;

/// How the app hands out a roster in pages.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"kind": "next_pointer", "pointer": "/links/next"}))]
pub struct PagingInput {
    /// `none` (one document), `link_header` (a `Link` header with rel=next, RFC 8288), `next_pointer` (the document names the URL of the
    /// next page) or `page_parameter` (pages are numbered, and the first one without people is the end).
    #[schema(value_type = String)]
    pub kind: Option<String>,
    /// Of `next_pointer`: where that URL is. Null, false or an empty text there end the roster.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pointer: Option<String>,
    /// Of `page_parameter`: the parameter's name, 1 to 200 characters.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub parameter: Option<String>,
    /// Of `page_parameter`: the first page's number, 0 or 1; 1 where it is left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(minimum = 0, maximum = 1)]
    pub first: Option<i64>,
}

/// How the app hands out a roster in pages, checked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Paging {
    /// One document.
    Whole,
    /// A `Link` header with rel=next.
    LinkHeader,
    /// A URL in the document.
    NextPointer(Pointer),
    /// Numbered pages.
    Numbered {
        /// The parameter of the query.
        parameter: String,
        /// The first page's number.
        first: i64,
    },
}

impl Paging {
    /// Reads what was sent; without it a roster is one document.
    pub fn read(input: Option<&PagingInput>, faults: &mut Faults) -> Option<Self> {
        let Some(input) = input else {
            return Some(Self::Whole);
        };
        let parse = |given: &str| KINDS.into_iter().find(|kind| *kind == given);
        let codes = || fields::list(KINDS.into_iter());
        let kind = faults.take(fields::coded(
            "/paging/kind",
            input.kind.as_deref(),
            parse,
            codes,
        ))?;
        none_beside(kind, input, faults);
        match kind {
            "link_header" => Some(Self::LinkHeader),
            "next_pointer" => {
                let at = "/paging/pointer";
                let given = input.pointer.as_deref();
                let given = given.ok_or_else(|| FieldProblem::missing(at, "a JSON Pointer"));
                let pointer = faults.take(given)?;
                faults
                    .take(Pointer::read(at, pointer))
                    .map(Self::NextPointer)
            }
            "page_parameter" => {
                let parameter = fields::line("/paging/parameter", input.parameter.as_deref());
                let parameter = faults.take(parameter);
                let first = faults.take(first(input.first));
                Some(Self::Numbered {
                    parameter: parameter?,
                    first: first?,
                })
            }
            _ => Some(Self::Whole),
        }
    }

    /// The address of the first page.
    pub fn first(&self, address: &Url) -> Url {
        match self {
            Self::Numbered { parameter, first } => numbered(address, parameter, *first),
            _ => address.clone(),
        }
    }

    /// What a document says of the page after it, where documents say it.
    ///
    /// # Errors
    /// Where what should say it is not there, or is something else: a page that was not seen would be people who left.
    pub fn said(&self, document: &Value) -> Result<Option<String>, PullProblem> {
        let Self::NextPointer(pointer) = self else {
            return Ok(None);
        };
        match pointer.of(document) {
            Some(Value::String(next)) => Ok((!next.is_empty()).then(|| next.clone())),
            Some(Value::Null | Value::Bool(false)) => Ok(None),
            Some(_) => Err(PullProblem::ShapeChanged),
            None => match pointer.around(document) {
                Some(Value::Object(_)) => Ok(None),
                _ => Err(PullProblem::ShapeChanged),
            },
        }
    }

    /// The address of the page after one.
    ///
    /// # Errors
    /// Where it cannot be read, or lies on another origin.
    pub fn next(&self, address: &Url, page: &Page<'_>) -> Result<Option<Url>, PullProblem> {
        let reference = match self {
            Self::Whole => None,
            Self::Numbered { parameter, first } => {
                let after = first + i64::try_from(page.number).unwrap_or(i64::MAX);
                let next = (page.people > 0).then(|| numbered(address, parameter, after));
                return Ok(next);
            }
            Self::LinkHeader => match page.link {
                Some(link) => link_next(link).ok_or(PullProblem::ShapeChanged)?,
                None => None,
            },
            Self::NextPointer(_) => page.said.map(str::to_owned),
        };
        let Some(reference) = reference else {
            return Ok(None);
        };
        let next = page.url.join(&reference);
        let mut next = next.map_err(|_| PullProblem::ShapeChanged)?;
        next.set_fragment(None);
        if next.origin() == address.origin() {
            Ok(Some(next))
        } else {
            Err(PullProblem::OtherOrigin)
        }
    }
}

/// A page that was read.
#[derive(Debug)]
pub struct Page<'a> {
    /// From 1.
    pub number: usize,
    /// Where it was.
    pub url: &'a Url,
    /// Its `Link` fields.
    pub link: Option<&'a str>,
    /// What it says itself of the next one.
    pub said: Option<&'a str>,
    /// How many people it has.
    pub people: usize,
}

fn none_beside(kind: &str, input: &PagingInput, faults: &mut Faults) {
    let given = [
        ("pointer", "next_pointer", input.pointer.is_some()),
        ("parameter", "page_parameter", input.parameter.is_some()),
        ("first", "page_parameter", input.first.is_some()),
    ];
    let beside = given
        .iter()
        .filter(|(_, of, is_there)| *is_there && *of != kind);
    faults.extend(beside.map(|(name, of, _)| {
        FieldProblem::new(format!("/paging/{name}"), Code::UnknownValue, kind)
            .allowed(format!("nothing, unless kind is {of}"))
    }));
}

fn first(given: Option<i64>) -> Result<i64, FieldProblem> {
    match given {
        None => Ok(1),
        Some(first) if (0..=FIRST_AT_MOST).contains(&first) => Ok(first),
        Some(other) => {
            let fault = FieldProblem::new("/paging/first", Code::OutOfRange, other);
            Err(fault.allowed("0 or 1"))
        }
    }
}

/// The address with this number as the parameter, whatever it had as such.
fn numbered(address: &Url, parameter: &str, number: i64) -> Url {
    let others = address.query_pairs().filter(|(name, _)| name != parameter);
    let others: Vec<(String, String)> = others
        .map(|(name, value)| (name.into(), value.into()))
        .collect();
    let mut url = address.clone();
    url.query_pairs_mut()
        .clear()
        .extend_pairs(others)
        .append_pair(parameter, &number.to_string());
    url
}

/// The target of the first link with rel=next in `Link` fields (RFC 8288, section 3); the outer `None` where they cannot be read.
fn link_next(fields: &str) -> Option<Option<String>> {
    let mut rest = fields.trim_matches([' ', '\t', ',']);
    let mut found = None;
    while !rest.is_empty() {
        let (target, after) = rest.strip_prefix('<')?.split_once('>')?;
        let (parameters, after) = cut(after, ',')?;
        if found.is_none() && is_next(parameters) {
            found = Some(target.to_owned());
        }
        rest = after.trim_start_matches([' ', '\t', ',']);
    }
    Some(found)
}

/// What lies before and after a sign that is not between quotes; `None` where quotes do not end.
fn cut(text: &str, sign: char) -> Option<(&str, &str)> {
    let (mut quoted, mut escaped) = (false, false);
    for (at, c) in text.char_indices() {
        match c {
            _ if escaped => escaped = false,
            '\\' if quoted => escaped = true,
            '"' => quoted = !quoted,
            _ if c == sign && !quoted => return Some((&text[..at], &text[at + 1..])),
            _ => {}
        }
    }
    (!quoted).then_some((text, ""))
}

/// Whether the first `rel` parameter names `next` (RFC 8288, section 3.3).
fn is_next(parameters: &str) -> bool {
    let mut rest = parameters;
    while let Some((parameter, after)) = cut(rest, ';').filter(|_| !rest.is_empty()) {
        if let Some((name, value)) = parameter.split_once('=')
            && name.trim().eq_ignore_ascii_case("rel")
        {
            let mut relations = value.trim().trim_matches('"').split_ascii_whitespace();
            return relations.any(|one| one.eq_ignore_ascii_case("next"));
        }
        rest = after;
    }
    false
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    fn url(text: &str) -> Url {
        Url::parse(text).unwrap()
    }

    fn next(
        paging: &Paging,
        link: Option<&str>,
        said: Option<&str>,
    ) -> Result<Option<String>, PullProblem> {
        let address = url("https://register.example.org/people?club=7");
        let page = Page {
            number: 1,
            url: &address,
            link,
            said,
            people: 2,
        };
        let next = paging.next(&address, &page);
        next.map(|next| next.map(|next| next.to_string()))
    }

    #[test]
    fn links_are_read_as_the_rfc_writes_them() {
        let target = |text: &str| link_next(text).map(|next| next.unwrap_or_default());
        for (fields, expected) in [
            // The examples of RFC 8288, section 3.5, from memory; in the first one next stands in the place of previous.
            (
                "<http://example.com/TheBook/chapter2>; rel=\"next\"; title=\"next chapter\"",
                "http://example.com/TheBook/chapter2",
            ),
            ("</>; rel=\"http://example.net/foo\"", ""),
            ("</terms>; rel=\"copyright\"; anchor=\"#foo\"", ""),
            (
                "</TheBook/chapter2>; rel=\"previous\"; title*=UTF-8'de'letztes%20Kapitel, </TheBook/chapter4>; rel=\"next\"; title*=UTF-8'de'n%c3%a4chstes%20Kapitel",
                "/TheBook/chapter4",
            ),
            (
                "<http://example.org/>; rel=\"start http://example.net/relation/other\"",
                "",
            ),
            (
                "</a,b>;title=\"x, <y>; rel=next\";rel=prev, <?page=2> ; REL=Next",
                "?page=2",
            ),
            ("</a>; rel=\"first next\"", "/a"),
            ("</a>; rel=prev; rel=next", ""),
            ("", ""),
        ] {
            assert_eq!(target(fields).as_deref(), Some(expected), "{fields}");
        }
        for broken in [
            "?",
            "/a; rel=next",
            "</a; rel=next",
            "</a>; title=\"x",
            "</a>; rel=next, b",
        ] {
            assert_eq!(target(broken), None, "{broken}");
        }
    }

    #[test]
    fn a_next_page_lies_on_the_same_origin() {
        let paging = Paging::NextPointer(Pointer::read("", "/next").unwrap());
        for (said, expected) in [
            ("?page=2", Ok("https://register.example.org/people?page=2")),
            ("/more", Ok("https://register.example.org/more")),
            (
                "https://register.example.org:443/more#x",
                Ok("https://register.example.org/more"),
            ),
            (
                "https://other.example.org/more",
                Err(PullProblem::OtherOrigin),
            ),
            ("//other.example.org/more", Err(PullProblem::OtherOrigin)),
            (
                "https://register.example.org:8443/more",
                Err(PullProblem::OtherOrigin),
            ),
            (
                "http://register.example.org/more",
                Err(PullProblem::OtherOrigin),
            ),
            (
                "https://register.example.org.other.example/",
                Err(PullProblem::OtherOrigin),
            ),
            ("data:application/json,[]", Err(PullProblem::OtherOrigin)),
            ("https://[", Err(PullProblem::ShapeChanged)),
        ] {
            let expected = expected.map(|next| Some(next.to_owned()));
            assert_eq!(next(&paging, None, Some(said)), expected, "{said}");
        }
        assert_eq!(next(&paging, None, None), Ok(None));
        let link = Paging::LinkHeader;
        assert_eq!(
            next(&link, Some("<//other.example.org/>; rel=next"), None),
            Err(PullProblem::OtherOrigin)
        );
        assert_eq!(
            next(&link, Some("nonsense"), None),
            Err(PullProblem::ShapeChanged)
        );
        assert_eq!(next(&link, None, None), Ok(None));
    }

    #[test]
    fn numbered_pages_keep_the_rest_of_the_query() {
        let paging = Paging::Numbered {
            parameter: "page".to_owned(),
            first: 0,
        };
        let address = url("https://register.example.org/people?page=9&club=7%2B");
        assert_eq!(paging.first(&address).query(), Some("club=7%2B&page=0"));
        let mut page = Page {
            number: 3,
            url: &address,
            link: None,
            said: None,
            people: 1,
        };
        let after = paging.next(&address, &page).unwrap().unwrap();
        assert_eq!(after.query(), Some("club=7%2B&page=3"));
        page.people = 0;
        assert_eq!(paging.next(&address, &page), Ok(None));
    }

    #[test]
    fn what_should_name_the_next_page_is_there() {
        let paging = Paging::NextPointer(Pointer::read("", "/links/next").unwrap());
        for (document, said) in [
            (
                json!({ "links": { "next": "/more" } }),
                Ok(Some("/more".to_owned())),
            ),
            (json!({ "links": { "next": null } }), Ok(None)),
            (json!({ "links": { "next": "" } }), Ok(None)),
            (json!({ "links": {} }), Ok(None)),
            (
                json!({ "links": { "next": 2 } }),
                Err(PullProblem::ShapeChanged),
            ),
            (json!({ "paging": {} }), Err(PullProblem::ShapeChanged)),
        ] {
            assert_eq!(paging.said(&document), said, "{document}");
        }
    }

    #[test]
    fn a_way_is_told_whole_and_nothing_beside_it() {
        let faults_of = |input: PagingInput| {
            let mut faults = Faults::default();
            let read = Paging::read(Some(&input), &mut faults);
            let faults = faults.into_vec().into_iter();
            (
                read.is_some(),
                faults.map(|fault| fault.pointer).collect::<Vec<_>>(),
            )
        };
        let of = |kind: &str| PagingInput {
            kind: Some(kind.to_owned()),
            ..PagingInput::default()
        };
        assert_eq!(faults_of(of("none")), (true, vec![]));
        assert_eq!(faults_of(of("link_header")), (true, vec![]));
        assert_eq!(faults_of(of("cursor")).1, ["/paging/kind"]);
        assert_eq!(faults_of(of("next_pointer")).1, ["/paging/pointer"]);
        assert_eq!(faults_of(of("page_parameter")).1, ["/paging/parameter"]);
        let both = PagingInput {
            parameter: Some("page".to_owned()),
            first: Some(2),
            pointer: Some("/next".to_owned()),
            ..of("page_parameter")
        };
        assert_eq!(faults_of(both).1, ["/paging/pointer", "/paging/first"]);
    }
}
