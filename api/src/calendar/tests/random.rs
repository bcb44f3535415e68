//! Whatever a text holds.

use proptest::prelude::*;

use super::*;

const PIECES: [&str; 24] = [
    "BEGIN:VCALENDAR\n",
    "END:VCALENDAR\n",
    "BEGIN:VEVENT\n",
    "END:VEVENT\n",
    "UID:1\n",
    "UID:2\n",
    "DTSTART:20261013T173000\n",
    "DTSTART;VALUE=DATE:20261013\n",
    "DTEND:20261013T190000\n",
    "DURATION:PT1H\n",
    "DURATION:P1D\n",
    "RRULE:FREQ=DAILY\n",
    "RRULE:FREQ=MONTHLY;BYDAY=-1FR\n",
    "RECURRENCE-ID:20261014T173000\n",
    "RECURRENCE-ID;RANGE=THISANDFUTURE:20261015T173000\n",
    "EXDATE:20261014T173000\n",
    "RDATE:20261016T120000\n",
    "STATUS:CANCELLED\n",
    "SEQUENCE:2\n",
    "BEGIN:VTIMEZONE\n",
    "END:VTIMEZONE\n",
    "SUMMARY:a\\,b\n",
    " c\n",
    "\u{feff}\r\n;=\":\n",
];

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Whatever is sent is answered, and every instance lies in the window with its minutes.
    #[test]
    fn whatever_is_sent_is_answered(pieces in prop::collection::vec(0..PIECES.len(), 0..40)) {
        let body: String = pieces.iter().map(|at| PIECES[*at]).collect();
        for text in [body.clone(), format!("BEGIN:VCALENDAR\n{body}END:VCALENDAR")] {
            let window = (date(2026, 10, 1), date(2026, 11, 30));
            let read = expand(text.as_bytes(), window, &copenhagen(), &Bounds::default());
            for one in read.map(|read| read.instances).unwrap_or_default() {
                prop_assert!(one.minutes > 0);
                let lies_in = (window.0..=window.1).contains(&one.start.date());
                prop_assert!(lies_in || one.status != Status::Planned);
            }
        }
    }

    /// Folding a text at other places, or with other line breaks, says the same.
    #[test]
    fn folds_and_line_breaks_say_nothing(width in 1_usize..80, crlf in any::<bool>()) {
        let text = calendar(&[&format!("{PRACTICE} for gæster\n{RULE}"), CANCELLED, MOVED]);
        let end = if crlf { "\r\n" } else { "\n" };
        let mut folded = Vec::new();
        for line in text.lines() {
            let parts: Vec<&[u8]> = line.as_bytes().chunks(width).collect();
            folded.extend(parts.join(format!("{end} ").as_bytes()));
            folded.extend(end.as_bytes());
        }
        let window = (date(2026, 10, 1), date(2026, 11, 30));
        let read = expand(&folded, window, &copenhagen(), &Bounds::default()).unwrap();
        prop_assert_eq!(read, autumn(&text));
    }

    /// A window in two halves gives what the whole gives.
    #[test]
    fn windows_add_up(days in 1_i64..59) {
        let text = calendar(&[&format!("{PRACTICE}\n{RULE}")]);
        let middle = date(2026, 10, 1).saturating_add(jiff::Span::new().days(days));
        let part = |from, to| {
            let read = expand(text.as_bytes(), (from, to), &copenhagen(), &Bounds::default());
            read.unwrap().instances
        };
        let mut parts = part(date(2026, 10, 1), middle.yesterday().unwrap());
        parts.extend(part(middle, date(2026, 11, 30)));
        prop_assert_eq!(parts, autumn(&text).instances);
    }
}
