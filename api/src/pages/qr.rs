//! QR codes (ISO/IEC 18004) as drawings of our own, black on white, for paper that a telephone reads.

use std::fmt::Write;

use maud::{Markup, html};
use qrcode::{Color, EcLevel, QrCode};

/// The light border that readers need on each side, in modules: ISO/IEC 18004.
const QUIET: usize = 4;

/// The code of a text with what it is of, for who does not see it; `None` where the text is too long for any code.
pub fn drawing(text: &str, label: &str) -> Option<Markup> {
    let code = QrCode::with_error_correction_level(text, EcLevel::M).ok()?;
    let side = code.width() + 2 * QUIET;
    Some(html! {
        svg role="img" aria-label=(label) viewBox={ "0 0 " (side) " " (side) } xmlns="http://www.w3.org/2000/svg"
            shape-rendering="crispEdges" {
            rect width=(side) height=(side) fill="#fff" {}
            path d=(dark(&code)) fill="#000" {}
        }
    })
}

/// The dark modules, a rectangle a run.
fn dark(code: &QrCode) -> String {
    let (modules, width) = (code.to_colors(), code.width());
    let mut path = String::new();
    for (y, row) in modules.chunks(width).enumerate() {
        let mut x = 0;
        for run in row.chunk_by(|one, next| one == next) {
            let length = run.len();
            if run.first() == Some(&Color::Dark) {
                // Writing to a String cannot fail.
                let _ = write!(path, "M{} {}h{length}v1h-{length}z", x + QUIET, y + QUIET);
            }
            x += length;
        }
    }
    path
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use rqrr::{Grid, SimpleGrid};

    use super::*;

    /// What a reader of another make reads in the drawn rectangles.
    fn read(text: &str) -> String {
        let code = QrCode::with_error_correction_level(text, EcLevel::M).unwrap();
        let mut drawn = vec![vec![false; code.width()]; code.width()];
        for run in dark(&code).split('M').skip(1) {
            let (place, rest) = run.split_once('h').unwrap();
            let (x, y) = place.split_once(' ').unwrap();
            let (length, _) = rest.split_once('v').unwrap();
            let [x, y, length] = [x, y, length].map(|one| one.parse::<usize>().unwrap());
            drawn[y - QUIET][x - QUIET..][..length].fill(true);
        }
        let grid = SimpleGrid::from_func(code.width(), |x, y| drawn[y][x]);
        Grid::new(grid).decode().unwrap().1
    }

    proptest! {
        /// The outside check: rqrr, a decoder that shares no code with the encoder.
        #[test]
        fn what_is_drawn_is_read_again(path in "[a-zA-Z0-9/?&=%._~-]{0,300}") {
            let text = format!("https://films.example/{path}");
            prop_assert_eq!(read(&text), text);
        }
    }

    #[test]
    fn a_text_without_room_has_no_code() {
        assert!(drawing(&"x".repeat(2_331), "").is_some());
        assert!(drawing(&"x".repeat(2_332), "").is_none());
    }
}
