//! The letter as plain text.

use super::Letter;

pub(super) fn write(letter: &Letter) -> String {
    let mut parts = vec![letter.title.clone(), letter.intro.join("\n")];
    for section in &letter.sections {
        let lines = section.lines.iter().map(|line| format!("- {line}"));
        let lines: Vec<String> = lines.collect();
        parts.push(format!(
            "{}\n{}\nThe list: {}",
            section.heading,
            lines.join("\n"),
            section.link
        ));
    }
    parts.extend(letter.closing.iter().cloned());
    parts.join("\n\n") + "\n"
}
