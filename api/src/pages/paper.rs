//! The paper that sheets are printed on.

/// A size of paper. Margins, letters and order are the same on both, and those of the printed page.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Paper {
    /// 210 by 297 mm (ISO 216).
    #[default]
    A4,
    /// 8.5 by 11 inches (ANSI/ASME Y14.1).
    Letter,
}

impl Paper {
    /// By the name that a query gives it.
    pub fn named(name: &str) -> Option<Self> {
        match name {
            "a4" => Some(Self::A4),
            "letter" => Some(Self::Letter),
            _ => None,
        }
    }
}
