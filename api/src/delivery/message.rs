//! A letter as a message of RFC 5322 and MIME: the same bytes for the same content, on every attempt.

use std::time::SystemTime;

use jiff::Timestamp;
use lettre::message::header::{HeaderName, HeaderValue};
use lettre::message::{Mailbox, MultiPart, SinglePart};
use lettre::{Address, Message};

use crate::ids::DeliveryId;
use crate::pages::letter::Letter;

/// Who writes to whom, and when.
#[derive(Debug)]
pub struct Envelope<'a> {
    /// What the message is known by, whichever attempt it is.
    pub delivery_id: DeliveryId,
    /// The address it comes from.
    pub from: &'a Address,
    /// The name it comes under.
    pub sender_name: &'a str,
    /// Where answers go.
    pub reply_to: Option<&'a Address>,
    /// Whom it is for.
    pub to: &'a Address,
    /// The instant whose knowledge it tells.
    pub date: Timestamp,
}

/// The message, in ASCII.
///
/// # Errors
/// A message cannot be made of it.
pub fn write(envelope: &Envelope<'_>, letter: &Letter) -> Result<Vec<u8>, lettre::error::Error> {
    // Names with control characters are refused where they are set; the library would panic at them.
    let sender_name = envelope.sender_name.replace(char::is_control, " ");
    let from = Mailbox::new(Some(sender_name), envelope.from.clone());
    let mut message = Message::builder()
        .from(from)
        .to(Mailbox::new(None, envelope.to.clone()))
        .date(system_time(envelope.date))
        .message_id(Some(message_id(envelope)))
        .subject(letter.subject.as_str());
    if let Some(reply_to) = envelope.reply_to {
        message = message.reply_to(Mailbox::new(None, reply_to.clone()));
    }
    let both = MultiPart::alternative()
        .boundary(format!("plimsoll-{}", envelope.delivery_id))
        .singlepart(SinglePart::plain(letter.text()))
        .singlepart(SinglePart::html(letter.html()));
    let mut message = message.multipart(both)?;
    // RFC 3834: nobody's absence note answers it.
    let name = HeaderName::new_from_ascii_str("Auto-Submitted");
    let automatic = HeaderValue::new(name, "auto-generated".to_owned());
    message.headers_mut().insert_raw(automatic);
    Ok(message.formatted())
}

/// The library's `Date` is the system's type.
fn system_time(at: Timestamp) -> SystemTime {
    let since_1970 = at.duration_since(Timestamp::UNIX_EPOCH);
    SystemTime::UNIX_EPOCH + since_1970.unsigned_abs()
}

/// RFC 5322, section 3.6.4: unique, since the delivery's id is.
fn message_id(envelope: &Envelope<'_>) -> String {
    format!("<{}@{}>", envelope.delivery_id, envelope.from.domain())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(letter: &Letter, sender_name: &str) -> String {
        let address = |text: &str| -> Address { text.parse().unwrap() };
        let envelope = Envelope {
            delivery_id: "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b".parse().unwrap(),
            from: &address("plimsoll@example.org"),
            sender_name,
            reply_to: Some(&address("kontor@nordvang.example")),
            to: &address("coach@nordvang.example"),
            date: "2026-11-09T06:00:00Z".parse().unwrap(),
        };
        let bytes = write(&envelope, letter).unwrap();
        assert!(bytes.is_ascii());
        assert_eq!(
            write(&envelope, letter).unwrap(),
            bytes,
            "the same each time"
        );
        String::from_utf8(bytes).unwrap()
    }

    #[test]
    fn a_message_says_who_it_is_from_and_that_a_program_wrote_it() {
        let text = written(&Letter::test("HK Nordvang"), "HK Nordvang");
        for line in [
            "From: \"HK Nordvang\" <plimsoll@example.org>",
            "To: coach@nordvang.example",
            "Reply-To: kontor@nordvang.example",
            "Message-ID: <0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b@example.org>",
            "Date: Mon, 09 Nov 2026 06:00:00 +0000",
            "Auto-Submitted: auto-generated",
        ] {
            assert!(text.lines().any(|found| found == line), "{line} in {text}");
        }
    }

    #[test]
    fn a_name_cannot_add_a_header() {
        // what would have got past the checks of names all the same.
        let letter = Letter::test("HK\r\nBcc: all@example.org");
        for name in [
            "HK\r\nBcc: all@example.org, \"x\" <y@example.org>",
            "a\"b\\c <x@example.org>,",
            "\u{202e}Ægir 🤾\u{2028}Bcc: x",
            "\0\u{7f}",
        ] {
            let text = written(&letter, name);
            let (head, _) = text.split_once("\r\n\r\n").unwrap();
            let fields = head.lines().filter(|line| !line.starts_with(' '));
            let names: Vec<&str> = fields.filter_map(|line| line.split(": ").next()).collect();
            let wanted = [
                "From",
                "To",
                "Date",
                "Message-ID",
                "Subject",
                "Reply-To",
                "MIME-Version",
                "Content-Type",
                "Auto-Submitted",
            ];
            assert!(names.iter().all(|name| wanted.contains(name)), "{head}");
            assert_eq!(names.len(), wanted.len(), "{head}");
        }
    }
}
