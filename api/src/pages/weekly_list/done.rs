//! What was done about an entry: told, and asked for with a form that needs no script.

use maud::{Markup, html};

use super::page::Beside;
use crate::pages::told::words;
use crate::routes::weeks::{Acknowledged, WeeklyEntry};
use crate::services::acknowledgement::NOTE_LENGTH;

/// What a form on the page needs, for readers who may say what was done.
#[derive(Debug)]
pub struct Form {
    /// Where it is sent.
    pub path: String,
    /// What shows that it comes from this page.
    pub token: String,
}

/// The codes of the contract in words.
const ACTIONS: [(&str, &str); 6] = [
    ("talked", "Talked about it"),
    ("reduced", "Load reduced"),
    ("moved", "Session moved"),
    ("rested", "Rested"),
    ("no_change", "No change"),
    ("other", "Other: say what in the note"),
];

/// Who did what when.
pub(super) fn told(done: &Acknowledged, beside: &Beside) -> Markup {
    html! {
        strong { (what(done)) }
        @if let Some(note) = &done.note { " " q { (note) } }
        br;
        span class="small" { (by(done, beside)) }
    }
}

/// What was done.
pub(super) fn what(done: &Acknowledged) -> String {
    format!("Done: {}.", words(&done.action))
}

/// By whom, and when.
pub(super) fn by(done: &Acknowledged, beside: &Beside) -> String {
    let (role, at) = (words(&done.role), done.at);
    format!("By {} ({role}), {} ({at}).", done.by, beside.time(at))
}

/// The form, folded until it is wanted; none where there is nothing to acknowledge or nobody to do it.
pub(super) fn form(entry: &WeeklyEntry, form: Option<&Form>) -> Markup {
    html! {
        @if let (Some(form), Some(flag), Some(version)) = (form, entry.flag_id, entry.flag_version) {
            details class="form" {
                summary { "Say what was done about the week of " (entry.display_name) }
                form method="post" action=(form.path) {
                    input type="hidden" name="token" value=(form.token);
                    input type="hidden" name="flag_id" value=(flag);
                    input type="hidden" name="version" value=(version);
                    fieldset {
                        legend { "What was done" }
                        @for (code, text) in ACTIONS {
                            label { input type="radio" name="action" value=(code) required; " " (text) }
                        }
                    }
                    label for={ "note-" (flag) } { "Note, without anything about health" }
                    input type="text" id={ "note-" (flag) } name="note" maxlength=(NOTE_LENGTH) autocomplete="off";
                    button { "Store" }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::services::acknowledgement;

    #[test]
    fn the_form_offers_every_action() {
        assert_eq!(ACTIONS.map(|(code, _)| code), acknowledgement::ACTIONS);
    }
}
