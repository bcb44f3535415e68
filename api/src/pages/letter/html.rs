//! The letter as HTML: text and links, nothing to load, no style that a reader's own could not replace.

use maud::{DOCTYPE, html};

use super::Letter;

pub(super) fn write(letter: &Letter) -> String {
    let document = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (letter.subject) }
            }
            body {
                h1 { (letter.title) }
                @for line in &letter.intro { p { (line) } }
                @for section in &letter.sections {
                    h2 { (section.heading) }
                    ul { @for line in &section.lines { li { (line) } } }
                    p { a href=(section.link) { "The list of " (section.heading) } }
                }
                hr;
                @for line in &letter.closing { p { (line) } }
            }
        }
    };
    document.into_string()
}
