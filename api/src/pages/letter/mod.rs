//! The letter about a week, by mail, and others to the same recipients: one content, as plain text and as HTML.
//!
//! It counts findings and links to the list. It names athletes only where the club's privacy lead has allowed that, and
//! repeats no figure outside the list's own sentences.

mod disabled;
mod html;
mod questions;
mod text;
mod words;

pub(crate) use disabled::{Disabled, disabled_letter};
pub(crate) use questions::questions_letter;
pub(crate) use words::{Ahead, Told, look_ahead_letter, week_letter};

/// What a letter says, in order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Letter {
    /// The subject line.
    pub subject: String,
    /// The heading.
    pub title: String,
    /// What is said of the whole.
    pub intro: Vec<String>,
    /// What is said of each squad.
    pub sections: Vec<Section>,
    /// What is said at the end.
    pub closing: Vec<String>,
}

/// What is said of one squad.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Section {
    /// The squad's name.
    pub heading: String,
    /// A line each.
    pub lines: Vec<String>,
    /// Where its list is.
    pub link: String,
}

impl Letter {
    /// A letter that tells nothing, for trying an address.
    pub fn test(club_name: &str) -> Self {
        Self {
            subject: format!("Test of the weekly mail of {club_name}"),
            title: "This is a test".to_owned(),
            intro: vec![
                "Somebody at the club is trying this address. Nothing needs to be done.".to_owned(),
                "When a week is closed, a mail like this says how many findings each squad has, with a link \
                 to its list."
                    .to_owned(),
            ],
            sections: Vec::new(),
            closing: vec![words::why(club_name)],
        }
    }

    /// As plain text.
    pub fn text(&self) -> String {
        text::write(self)
    }

    /// As HTML.
    pub fn html(&self) -> String {
        html::write(self)
    }
}
