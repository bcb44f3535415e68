//! Lists: keyset pages with an opaque cursor and a `Link` header (RFC 8288).

use actix_web::http::header;
use actix_web::{HttpRequest, HttpResponse, HttpResponseBuilder};
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use serde::Serialize;
use serde::de::DeserializeOwned;
use sha2::{Digest, Sha256};

use super::query::bad;
use crate::error::{Code, FieldProblem, Problem};

/// Rows of a page unless asked otherwise.
pub const DEFAULT_LIMIT: usize = 50;
/// Most rows of a page.
pub const MAX_LIMIT: usize = 500;

/// Which page of a list is asked for; `K` is the key of the last row seen.
#[derive(Debug, Clone)]
pub struct PageRequest<K> {
    /// Rows wanted, 1 to 500.
    pub limit: usize,
    /// Start after this key.
    pub after: Option<K>,
    filter: String,
}

impl<K: Serialize + DeserializeOwned> PageRequest<K> {
    /// Reads `limit` and `after`. The filter is whatever else decides what is listed; a cursor made
    /// under one filter is refused under another.
    pub fn new(
        limit: Option<&str>,
        after: Option<&str>,
        filter: impl Into<String>,
    ) -> Result<Self, Problem> {
        let filter = filter.into();
        let after = after.map(|text| decode(text, &filter)).transpose()?;
        Ok(Self {
            limit: parse_limit(limit)?,
            after,
            filter,
        })
    }

    /// How many rows to fetch: one more than the page, to know whether there is a next.
    pub fn fetch(&self) -> i64 {
        i64::try_from(self.limit)
            .unwrap_or(i64::MAX)
            .saturating_add(1)
    }

    /// The cursor behind a row of this key.
    pub fn cursor(&self, key: &K) -> String {
        encode(key, &self.filter)
    }

    /// Cuts fetched rows to the page and makes the cursor of the next.
    pub fn page<T>(&self, mut rows: Vec<T>, key: impl Fn(&T) -> K) -> Page<T> {
        let more = rows.len() > self.limit;
        rows.truncate(self.limit);
        let next = rows
            .last()
            .filter(|_| more)
            .map(|row| encode(&key(row), &self.filter));
        Page { items: rows, next }
    }
}

/// One page of a list.
#[derive(Debug, Clone, Serialize)]
pub struct Page<T> {
    /// The rows, in the list's order.
    pub items: Vec<T>,
    /// Cursor of the next page; null on the last.
    pub next: Option<String>,
}

impl<T> Page<T> {
    /// Turns the rows into what is answered, keeping the cursor.
    pub fn map<U>(self, f: impl FnMut(T) -> U) -> Page<U> {
        Page {
            items: self.items.into_iter().map(f).collect(),
            next: self.next,
        }
    }

    /// As [`Page::map`], where making the answer can fail.
    pub fn try_map<U>(self, f: impl FnMut(T) -> Result<U, Problem>) -> Result<Page<U>, Problem> {
        let items = self.items.into_iter().map(f).collect::<Result<_, _>>()?;
        Ok(Page {
            items,
            next: self.next,
        })
    }
}

impl<T: Serialize> Page<T> {
    /// The answer, with a `Link` to the next page where there is one.
    pub fn answer(&self, request: &HttpRequest) -> Result<HttpResponse, Problem> {
        Ok(self.head(request).json(self))
    }

    /// As [`Page::answer`], where more stands beside the rows.
    pub fn answer_within<W: Serialize>(
        self,
        request: &HttpRequest,
        whole: impl FnOnce(Self) -> W,
    ) -> HttpResponse {
        let mut head = self.head(request);
        head.json(whole(self))
    }

    fn head(&self, request: &HttpRequest) -> HttpResponseBuilder {
        let mut response = HttpResponse::Ok();
        if let Some(next) = &self.next {
            let kept = request
                .query_string()
                .split('&')
                .filter(|pair| !pair.is_empty() && !pair.starts_with("after="))
                .chain([format!("after={next}").as_str()])
                .collect::<Vec<_>>()
                .join("&");
            let link = format!("<{}?{kept}>; rel=\"next\"", request.path());
            response.insert_header((header::LINK, link));
        }
        response.insert_header((header::CACHE_CONTROL, "no-store"));
        response
    }
}

fn parse_limit(limit: Option<&str>) -> Result<usize, Problem> {
    let Some(text) = limit else {
        return Ok(DEFAULT_LIMIT);
    };
    match text.parse() {
        Ok(limit @ 1..=MAX_LIMIT) => Ok(limit),
        _ => Err(bad(FieldProblem::new("?limit", Code::OutOfRange, text)
            .allowed(format!("whole number from 1 to {MAX_LIMIT}")))),
    }
}

fn encode<K: Serialize>(key: &K, filter: &str) -> String {
    let key = serde_json::to_vec(key).unwrap_or_default();
    let mut bytes = checksum(&key, filter).to_vec();
    bytes.extend_from_slice(&key);
    URL_SAFE_NO_PAD.encode(bytes)
}

fn decode<K: DeserializeOwned>(cursor: &str, filter: &str) -> Result<K, Problem> {
    let foreign = || {
        Problem::new(
            Code::BadCursor,
            "The cursor was changed, cut, or made for another filter; start without after.",
        )
    };
    let bytes = URL_SAFE_NO_PAD.decode(cursor).map_err(|_| foreign())?;
    let (sum, key) = bytes.split_at_checked(CHECKSUM).ok_or_else(foreign)?;
    if sum != checksum(key, filter) {
        return Err(foreign());
    }
    serde_json::from_slice(key).map_err(|_| foreign())
}

const CHECKSUM: usize = 8;

fn checksum(key: &[u8], filter: &str) -> [u8; CHECKSUM] {
    let mut hash = Sha256::new();
    hash.update(filter.as_bytes());
    hash.update([0]);
    hash.update(key);
    let digest = hash.finalize();
    let mut sum = [0; CHECKSUM];
    sum.copy_from_slice(&digest[..CHECKSUM]);
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    fn request(after: Option<&str>, filter: &str) -> Result<PageRequest<u32>, Problem> {
        PageRequest::new(Some("2"), after, filter)
    }

    #[test]
    fn pages_follow_each_other_to_the_end() {
        let all = [10_u32, 20, 30];
        let first = request(None, "f").unwrap();
        let page = first.page(all.to_vec(), |row| *row);
        assert_eq!(page.items, [10, 20]);
        let second = request(page.next.as_deref(), "f").unwrap();
        assert_eq!(second.after, Some(20));
        assert_eq!(second.page(vec![30], |row| *row).next, None);
    }

    #[test]
    fn a_foreign_or_edited_cursor_is_refused() {
        let page = request(None, "f").unwrap().page(vec![1, 2, 3], |row| *row);
        let cursor = page.next.unwrap();
        assert_eq!(
            request(Some(&cursor), "g").unwrap_err().code,
            Code::BadCursor
        );
        for broken in ["", "%%%", &cursor[1..], &cursor[..cursor.len() - 2]] {
            assert_eq!(
                request(Some(broken), "f").unwrap_err().code,
                Code::BadCursor,
                "{broken}"
            );
        }
    }

    #[test]
    fn the_limit_has_limits() {
        for bad in ["0", "501", "-1", "1e9", "NaN", ""] {
            let refused = PageRequest::<u32>::new(Some(bad), None, "").unwrap_err();
            assert_eq!(refused.errors[0].pointer, "?limit", "{bad}");
        }
        assert_eq!(PageRequest::<u32>::new(None, None, "").unwrap().limit, 50);
    }
}
