//! Which representation a request asks for (RFC 9110, section 12.5.1).

use actix_web::HttpRequest;
use actix_web::http::header::{self, Accept, Header, Quality, QualityItem};
use actix_web::mime::{self, Mime};

use crate::error::{Code, Problem};

/// The one of `offers` that the caller likes best; between equals, and without an `Accept`, the first.
///
/// # Errors
/// 406 where the caller takes none of them.
pub fn preferred<'a>(request: &HttpRequest, offers: &[&'a str]) -> Result<&'a str, Problem> {
    let ranges = match request.headers().get(header::ACCEPT) {
        None => return offers.first().copied().ok_or_else(|| refused(offers)),
        Some(_) => Accept::parse(request).map_err(|_| refused(offers))?.0,
    };
    let mut best = None;
    for offer in offers {
        let quality = quality(&ranges, offer);
        if quality > best.map_or(Quality::ZERO, |(quality, _)| quality) {
            best = Some((quality, *offer));
        }
    }
    best.map(|(_, offer)| offer).ok_or_else(|| refused(offers))
}

/// The weight of the most specific range that an offer lies in; zero in none.
fn quality(ranges: &[QualityItem<Mime>], offer: &str) -> Quality {
    let lying_in = ranges.iter().filter_map(|range| {
        let specific = specificity(&range.item, offer)?;
        Some((specific, range.quality))
    });
    lying_in.max().map_or(Quality::ZERO, |(_, quality)| quality)
}

/// 2 for the type itself, 1 for a range such as `text/*`, 0 for `*/*`; `None` outside the range.
fn specificity(range: &Mime, offer: &str) -> Option<u8> {
    let kind = offer.split('/').next()?;
    if range.essence_str() == offer {
        Some(2)
    } else if range.subtype() != mime::STAR {
        None
    } else if range.type_() == kind {
        Some(1)
    } else {
        (range.type_() == mime::STAR).then_some(0)
    }
}

fn refused(offers: &[&str]) -> Problem {
    let detail = format!("This call answers with {}.", offers.join(", "));
    Problem::new(Code::NotAcceptable, detail)
}

#[cfg(test)]
mod tests {
    use actix_web::test::TestRequest;

    use super::*;

    const OFFERS: [&str; 3] = ["application/json", "text/csv", "text/html"];

    fn answered(accept: &str) -> Result<&'static str, u16> {
        let request = TestRequest::default().insert_header((header::ACCEPT, accept));
        preferred(&request.to_http_request(), &OFFERS).map_err(|problem| problem.code.status())
    }

    #[test]
    fn the_representation_liked_best_is_sent() {
        let browser = "text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8";
        for (accept, sent) in [
            ("*/*", "application/json"),
            ("application/*", "application/json"),
            ("text/*", "text/csv"),
            ("text/csv;q=0.4, text/html;q=0.5", "text/html"),
            ("text/html, text/csv", "text/csv"),
            ("text/csv;q=0, text/*", "text/html"),
            ("text/html;charset=utf-8", "text/html"),
            ("application/json;q=0, */*;q=0.1", "text/csv"),
            (browser, "text/html"),
        ] {
            assert_eq!(answered(accept), Ok(sent), "{accept}");
        }
        let silent = TestRequest::default().to_http_request();
        assert_eq!(preferred(&silent, &OFFERS).ok(), Some("application/json"));
    }

    #[test]
    fn what_is_not_offered_is_refused() {
        for accept in [
            "image/png",
            "application/problem+json",
            "*/*;q=0",
            "text/html;q=0",
            "garbage",
            "",
        ] {
            assert_eq!(answered(accept), Err(406), "{accept}");
        }
    }
}
