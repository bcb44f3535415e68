//! Fetching a roster page by page: the whole of it, or nothing.

use std::collections::BTreeSet;
use std::sync::Arc;
use std::time::Duration;

use jiff::Timestamp;
use reqwest::header::{ACCEPT, HeaderMap, HeaderValue, IF_MODIFIED_SINCE, IF_NONE_MATCH};
use sha2::{Digest, Sha256};
use tokio::task::spawn_blocking;
use url::Url;

use super::credentials::{self, CredentialsInput};
use super::mapping::{Gathered, Read};
use super::paging::{Page, Paging};
use super::problem::PullProblem;
use super::settings::{Plan, Settings};
use crate::delivery::client::{Document, GuardedClient, header};
use crate::delivery::retry;
use crate::error::Problem;
use crate::services::roster::input::Sent;
use crate::store::roster_sources::StoredRosterSource;

/// Most pages of a roster.
pub const MOST_PAGES: usize = 100;
/// Most bytes of one page.
pub const MOST_PAGE_BYTES: usize = 8 * 1024 * 1024;
/// Most bytes of all pages together.
pub const MOST_BYTES: usize = 32 * 1024 * 1024;
/// So long may all pages take together.
pub const WHOLE_PULL: Duration = Duration::from_secs(120);

/// What became of a fetch.
#[derive(Debug)]
pub enum Fetched {
    /// All of it.
    Roster(Box<Roster>),
    /// It is the one that was taken last.
    Same,
    /// There is none.
    Failed(Failure),
}

/// A whole roster.
#[derive(Debug)]
pub struct Roster {
    /// Its rows.
    pub sent: Sent,
    /// On how many pages it came.
    pub pages: usize,
    /// What asks whether there is another: of one document alone, since the first of several says nothing of the others.
    pub validators: (Option<String>, Option<String>),
}

/// The first page of a roster.
#[derive(Debug)]
pub struct FirstPage {
    /// Its rows.
    pub gathered: Gathered,
    /// How many people it has.
    pub people: usize,
    /// Whether it names another page.
    pub has_next: bool,
}

/// Why there is no roster.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Failure {
    /// Why.
    pub problem: PullProblem,
    /// Seconds that the app asked to wait.
    pub retry_after: Option<u32>,
}

impl From<PullProblem> for Failure {
    fn from(problem: PullProblem) -> Self {
        Self {
            problem,
            retry_after: None,
        }
    }
}

/// Fetches a roster, asking whether there is another than the one that was taken last.
///
/// # Errors
/// Where the stored settings cannot be read, which is a defect; what goes wrong on the way is in [`Fetched`].
pub async fn roster(
    client: &GuardedClient,
    source: &StoredRosterSource,
    now: Timestamp,
) -> Result<Fetched, Problem> {
    within(WHOLE_PULL, client, source, now).await
}

async fn within(
    limit: Duration,
    client: &GuardedClient,
    source: &StoredRosterSource,
    now: Timestamp,
) -> Result<Fetched, Problem> {
    let walk = Walk::new(client, source, now)?;
    let fetched = match tokio::time::timeout(limit, walk.whole(source)).await {
        Ok(fetched) => fetched,
        Err(_) => Err(PullProblem::TimedOut.into()),
    };
    Ok(fetched.unwrap_or_else(Fetched::Failed))
}

/// Fetches the first page of a roster.
///
/// # Errors
/// As [`roster`].
pub async fn first_page(
    client: &GuardedClient,
    source: &StoredRosterSource,
    now: Timestamp,
) -> Result<Result<FirstPage, Failure>, Problem> {
    let walk = Walk::new(client, source, now)?;
    Ok(walk.first(source).await)
}

/// The way through the pages of one source.
struct Walk<'a> {
    client: &'a GuardedClient,
    plan: Arc<Plan>,
    headers: HeaderMap,
    now: Timestamp,
}

impl<'a> Walk<'a> {
    fn new(
        client: &'a GuardedClient,
        source: &StoredRosterSource,
        now: Timestamp,
    ) -> Result<Self, Problem> {
        let mut headers = HeaderMap::new();
        headers.insert(ACCEPT, HeaderValue::from_static("application/json"));
        if let Some(stored) = &source.credentials {
            let read: Result<CredentialsInput, _> = serde_json::from_str(stored);
            // The library's message would repeat what it could not read.
            let read = read.map_err(|_| Problem::internal(&"stored credentials cannot be read"))?;
            credentials::add(&mut headers, &read);
        }
        Ok(Self {
            client,
            plan: Arc::new(Settings::of(source)?.plan()?),
            headers,
            now,
        })
    }

    async fn first(&self, source: &StoredRosterSource) -> Result<FirstPage, Failure> {
        let address = self.address(source)?;
        let url = self.plan.paging.first(&address);
        let document = self.get(&url, self.headers.clone(), MOST_BYTES).await?;
        let link = document.link.clone();
        let text = self.body(document)?;
        let (gathered, read) = self.read(Gathered::default(), text).await?;
        let next = self.next(&address, (1, &url), link.as_deref(), &read)?;
        Ok(FirstPage {
            gathered,
            people: read.people,
            has_next: next.is_some(),
        })
    }

    async fn whole(&self, source: &StoredRosterSource) -> Result<Fetched, Failure> {
        let address = self.address(source)?;
        let (mut url, mut gathered) = (self.plan.paging.first(&address), Gathered::default());
        let (mut seen, mut bytes, mut validators) = (Seen::default(), 0, (None, None));
        for number in 1..=MOST_PAGES {
            let headers = match number {
                1 => self.conditional(source),
                _ => self.headers.clone(),
            };
            let is_asked = headers.len() > self.headers.len();
            seen.address(&url)?;
            let document = self.get(&url, headers, MOST_BYTES - bytes).await?;
            if document.status == 304 && is_asked {
                return Ok(Fetched::Same);
            }
            let link = document.link.clone();
            if number == 1 {
                validators = (document.etag.clone(), document.last_modified.clone());
            }
            let text = self.body(document)?;
            bytes += text.len();
            seen.page(&self.plan.paging, &text)?;
            let (more, read) = self.read(gathered, text).await?;
            gathered = more;
            match self.next(&address, (number, &url), link.as_deref(), &read)? {
                Some(next) => url = next,
                None => {
                    return Ok(Fetched::Roster(Box::new(Roster {
                        sent: gathered.whole(&self.plan)?,
                        pages: number,
                        validators: if number == 1 {
                            validators
                        } else {
                            (None, None)
                        },
                    })));
                }
            }
        }
        Err(PullProblem::TooLong.into())
    }

    /// Where the roster is; never before the time that the app asked for.
    fn address(&self, source: &StoredRosterSource) -> Result<Url, Failure> {
        if source.not_before.is_some_and(|time| self.now < time) {
            return Err(PullProblem::TooManyRequests.into());
        }
        let address = source.url.as_ref().and_then(|url| Url::parse(url).ok());
        address.ok_or_else(|| PullProblem::Blocked.into())
    }

    fn conditional(&self, source: &StoredRosterSource) -> HeaderMap {
        let mut headers = self.headers.clone();
        let etag = source.etag.as_deref().and_then(header);
        let modified = source.last_modified.as_deref().and_then(header);
        headers.extend(etag.map(|etag| (IF_NONE_MATCH, etag)));
        headers.extend(modified.map(|modified| (IF_MODIFIED_SINCE, modified)));
        headers
    }

    async fn get(&self, url: &Url, headers: HeaderMap, left: usize) -> Result<Document, Failure> {
        let most = left.min(MOST_PAGE_BYTES);
        let document = self.client.get(url.as_str(), headers, most).await;
        document.map_err(|error| PullProblem::from(error).into())
    }

    /// The body of a page that was answered.
    fn body(&self, document: Document) -> Result<Vec<u8>, Failure> {
        let problem = match document.status {
            200 => return document.body.ok_or_else(|| PullProblem::TooLong.into()),
            401 | 403 => PullProblem::NotAuthorised,
            429 => PullProblem::TooManyRequests,
            _ => PullProblem::Refused,
        };
        let asked = document.retry_after.as_deref();
        Err(Failure {
            problem,
            retry_after: asked.and_then(|field| retry::seconds(field, self.now)),
        })
    }

    /// Reads a page beside the threads that serve requests.
    async fn read(
        &self,
        mut gathered: Gathered,
        text: Vec<u8>,
    ) -> Result<(Gathered, Read), Failure> {
        let plan = Arc::clone(&self.plan);
        let reading = spawn_blocking(move || {
            let read = gathered.page(&text, &plan)?;
            Ok::<_, PullProblem>((gathered, read))
        });
        match reading.await {
            Ok(read) => Ok(read?),
            Err(_) => Err(PullProblem::NotApplied.into()),
        }
    }

    fn next(
        &self,
        address: &Url,
        (number, url): (usize, &Url),
        link: Option<&str>,
        read: &Read,
    ) -> Result<Option<Url>, Failure> {
        let page = Page {
            number,
            url,
            link,
            said: read.next.as_deref(),
            people: read.people,
        };
        Ok(self.plan.paging.next(address, &page)?)
    }
}

/// The pages that were there already.
#[derive(Debug, Default)]
struct Seen {
    urls: BTreeSet<String>,
    last: Option<[u8; 32]>,
}

impl Seen {
    /// Refuses an address that was called before.
    fn address(&mut self, url: &Url) -> Result<(), PullProblem> {
        let is_new = self.urls.insert(url.to_string());
        is_new.then_some(()).ok_or(PullProblem::PagingLoops)
    }

    /// Refuses a numbered page that is the one before it: an app that reads over the number would never end.
    fn page(&mut self, paging: &Paging, text: &[u8]) -> Result<(), PullProblem> {
        let digest: [u8; 32] = Sha256::digest(text).into();
        let is_repeated = self.last.replace(digest) == Some(digest);
        if is_repeated && matches!(paging, Paging::Numbered { .. }) {
            return Err(PullProblem::PagingLoops);
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests;
