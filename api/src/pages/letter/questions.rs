//! What a letter says of questions to the strength coaches: that there are some, and where they stand.

use super::{Letter, words};

/// The letter about them. It has neither what was asked nor by whom.
pub(crate) fn questions_letter(club_name: &str, list: &str) -> Letter {
    Letter {
        subject: format!("Questions to the strength coaches of {club_name}"),
        title: "A question was asked".to_owned(),
        intro: vec![
            format!(
                "{club_name}: an athlete or a guardian has asked about a session or an exercise. There may be more than one question."
            ),
            format!(
                "What was asked stands in the list of open questions, which you open with your own token: {list}"
            ),
        ],
        sections: Vec::new(),
        closing: vec![
            "This is not an emergency channel: nobody watches it, and the service itself answers nothing.".to_owned(),
            words::why(club_name),
        ],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_leads_to_the_list_and_says_what_it_is_not() {
        let list = "https://plimsoll.example.org/v1/clubs/0199a1b2-ffff-7e4f-8a5b-6c7d8e9f0a1b/questions?open=true";
        let letter = questions_letter("HK Nordvang", list);
        for text in [letter.text(), letter.html()] {
            assert!(text.contains(list), "{text}");
            assert!(text.contains("not an emergency channel"), "{text}");
        }
    }
}
