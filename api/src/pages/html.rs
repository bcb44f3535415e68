//! What all pages share: the document around them, and what a browser may do with it.

use std::sync::LazyLock;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use sha2::{Digest, Sha256};

const STYLE: &str = include_str!("style.css");

/// The `Content-Security-Policy` of every page (CSP Level 3): no script, no resource from anywhere, and
/// the one style sheet that the page carries, by its hash; forms go to the service itself.
pub static SECURITY_POLICY: LazyLock<String> = LazyLock::new(|| {
    let hash = STANDARD.encode(Sha256::digest(STYLE));
    format!(
        "default-src 'none'; style-src 'sha256-{hash}'; base-uri 'none'; form-action 'self'; \
         frame-ancestors 'none'"
    )
});

/// A whole document in English.
pub fn document(title: &str, body: &Markup) -> String {
    let document = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                style { (PreEscaped(STYLE)) }
            }
            body { (body) }
        }
    };
    document.into_string()
}
