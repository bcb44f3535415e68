//! A weekly list that a browser opened by a link.

use reqwest::Method;
use reqwest::Url;

use crate::answer::Answer;
use crate::request::{Client, Request};
use crate::server::Server;

/// What a browser sends to be shown a page.
const ACCEPT: &str = "text/html,application/xhtml+xml,*/*;q=0.8";

/// The page, with what the browser keeps of it.
pub struct Page {
    browser: Client,
    origin: String,
    /// The path of the list.
    pub path: String,
    /// `name=value`
    pub cookie: String,
    /// What the forms on the page carry; empty where it has none.
    pub token: String,
}

impl Page {
    /// Follows a link.
    pub async fn open(server: &Server, link: &str) -> Self {
        let browser = server.anonymous();
        let opened = browser.get(link).header("Accept", ACCEPT).await.expect(303);
        let path = opened.header("location").expect("Location").to_owned();
        let cookie = opened.header("set-cookie").expect("Set-Cookie");
        let cookie = cookie.split(';').next().expect("a pair").to_owned();
        let origin = server.url("/").origin().ascii_serialization();
        let mut page = Self {
            browser,
            origin,
            path,
            cookie,
            token: String::new(),
        };
        let text = page.read().await.expect(200).text();
        let token = text.split("name=\"token\" value=\"").nth(1);
        let token = token.and_then(|rest| rest.split('"').next());
        page.token = token.unwrap_or_default().to_owned();
        page
    }

    /// Loads it again.
    pub async fn read(&self) -> Answer {
        self.request(Method::GET, &self.path).await
    }

    /// Another request of the same browser.
    pub fn request(&self, method: Method, path: &str) -> Request {
        let request = self.browser.request(method, path);
        request
            .header("Accept", ACCEPT)
            .header("Cookie", &self.cookie)
    }

    /// A form of the page with these fields, not sent yet. It asks for no page, so that a refusal is a problem.
    pub fn form(&self, fields: &[(&str, &str)]) -> Request {
        let mut body = Url::parse("http://form").expect("a URL");
        body.query_pairs_mut()
            .append_pair("token", &self.token)
            .extend_pairs(fields);
        let body = body.query().unwrap_or_default().to_owned();
        let path = format!("{}/acknowledgements", self.path);
        self.request(Method::POST, &path)
            .without_header("Accept")
            .header("Origin", &self.origin)
            .body("application/x-www-form-urlencoded", body)
    }
}
