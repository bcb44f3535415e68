//! What a person reads who is not shown a page: what happened, and what to do about it.

use maud::{Markup, html};

use super::html::document;
use crate::error::{Code, Problem};

/// The page. It tells nothing of what lies behind.
pub fn write(problem: &Problem) -> String {
    let (title, remedy) = words(problem);
    let body: Markup = html! {
        main {
            h1 { (title) }
            p { (remedy) }
            p class="small" { (problem.code.title()) " (" (problem.code.code()) ")." }
        }
    };
    document(title, &body)
}

fn words(problem: &Problem) -> (&'static str, &str) {
    match problem.code.status() {
        401 => (
            "This page does not open any more",
            "A link to a weekly list opens it for seven days, for whom it was sent to. Open the newest mail of your club and \
             follow the link in it. If that does not open either, ask your club whether its notices still go to you.",
        ),
        _ if problem.code == Code::ForeignForm => (
            "Nothing was stored",
            "The form was not sent from the page as you opened it. Go back, load the list again, and say once more what was done.",
        ),
        403 | 404 => (
            "There is nothing here for you",
            "This link opens one list of one squad, and no other. Follow the link in the mail again.",
        ),
        412 => (
            "The list has changed since you opened it",
            "Nothing was stored. Go back, load the list again, and look at it before you say what was done.",
        ),
        429 | 503 | 504 | 507 => (
            "The service cannot answer just now",
            "Wait a minute and load the page again. If you had sent something, look first whether it is there.",
        ),
        500 => (
            "Something failed on our side",
            "Load the page again. If it stays so, tell your club.",
        ),
        _ => ("That could not be done", &problem.detail),
    }
}
