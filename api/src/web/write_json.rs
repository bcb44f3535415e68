//! JSON text written straight into a buffer, for answers that are thousands of numbers.
//!
//! Serde escapes each field's name anew for each object and works a number's digits out from its
//! bits. Here names are part of the program's text, figures have at most four decimals, and bounds
//! that agree with their point are copied. The text is the same, which tests beside the answers see to.

use jiff::Timestamp;
use jiff::civil::Date;

use crate::ids::AthleteId;

/// A value that writes itself as JSON, once.
pub trait WriteJson {
    /// Appends the value.
    fn write_json(self, out: &mut Vec<u8>);

    /// Appends the value as a field that follows others; `name` is `,"name":`.
    fn write_field(self, name: &str, out: &mut Vec<u8>)
    where
        Self: Sized,
    {
        out.extend_from_slice(name.as_bytes());
        self.write_json(out);
    }
}

/// Writes a struct as an object of these fields, in this order; every field must be named.
macro_rules! write_object {
    ($type:ty { $first:ident $(, $name:ident)* $(,)? }) => {
        impl $crate::web::write_json::WriteJson for $type {
            fn write_json(self, out: &mut Vec<u8>) {
                let Self { $first, $($name),* } = self;
                out.extend_from_slice(concat!("{\"", stringify!($first), "\":").as_bytes());
                $first.write_json(out);
                $(
                    $name.write_field(concat!(",\"", stringify!($name), "\":"), out);
                )*
                out.push(b'}');
            }
        }
    };
}
pub(crate) use write_object;

/// The elements of an array, written as they are made.
pub struct Each<I>(pub I);

impl<T: WriteJson, I: Iterator<Item = T>> WriteJson for Each<I> {
    fn write_json(self, out: &mut Vec<u8>) {
        out.push(b'[');
        let start = out.len();
        for element in self.0 {
            if out.len() > start {
                out.push(b',');
            }
            element.write_json(out);
        }
        out.push(b']');
    }
}

impl<T: WriteJson> WriteJson for Vec<T> {
    fn write_json(self, out: &mut Vec<u8>) {
        Each(self.into_iter()).write_json(out);
    }
}

/// A value that is JSON text already.
pub struct Written(Vec<u8>);

impl Written {
    /// Writes a value as serde does.
    pub fn of(value: &impl serde::Serialize) -> Result<Self, serde_json::Error> {
        serde_json::to_vec(value).map(Self)
    }
}

impl WriteJson for Written {
    fn write_json(self, out: &mut Vec<u8>) {
        out.extend_from_slice(&self.0);
    }
}

/// A field, not the first, that is left out where there is nothing.
pub struct IfAny<T>(pub Option<T>);

impl<T: WriteJson> WriteJson for IfAny<T> {
    fn write_json(self, out: &mut Vec<u8>) {
        self.0.write_json(out);
    }

    fn write_field(self, name: &str, out: &mut Vec<u8>) {
        if let Some(value) = self.0 {
            value.write_field(name, out);
        }
    }
}

impl<T: WriteJson> WriteJson for Option<T> {
    fn write_json(self, out: &mut Vec<u8>) {
        match self {
            Some(value) => value.write_json(out),
            None => out.extend_from_slice(b"null"),
        }
    }
}

impl WriteJson for u8 {
    fn write_json(self, out: &mut Vec<u8>) {
        u32::from(self).write_json(out);
    }
}

impl WriteJson for u32 {
    fn write_json(self, out: &mut Vec<u8>) {
        whole(self.into(), out);
    }
}

/// Ten thousandths: no figure has more decimals.
const SCALE: u64 = 10_000;

impl WriteJson for f64 {
    fn write_json(self, out: &mut Vec<u8>) {
        let Some(scaled) = ten_thousandths(self) else {
            let text = serde_json::to_string(&self);
            return out.extend_from_slice(text.as_deref().unwrap_or("null").as_bytes());
        };
        if self < 0.0 {
            out.push(b'-');
        }
        whole(scaled / SCALE, out);
        let mut decimals = *b".0000";
        last_digits(scaled % SCALE, &mut decimals[1..]);
        let zeros = decimals[2..]
            .iter()
            .rev()
            .take_while(|digit| **digit == b'0');
        out.extend_from_slice(&decimals[..decimals.len() - zeros.count()]);
    }
}

/// The number without its sign in ten thousandths, where that is exact: then these digits are the
/// shortest that read back as the same number, since fifteen digits tell any two apart.
fn ten_thousandths(value: f64) -> Option<u64> {
    let scaled = value.abs() * SCALE as f64 + 0.5;
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "positive and below 1e15"
    )]
    let nearest = (scaled < 1e15).then_some(scaled as u64)?;
    let exact = nearest as f64 / SCALE as f64 == value.abs();
    let negative_zero = nearest == 0 && value.is_sign_negative();
    (exact && !negative_zero).then_some(nearest)
}

/// The digits of a whole number.
fn whole(number: u64, out: &mut Vec<u8>) {
    let length = number.checked_ilog10().map_or(1, |log| log as usize + 1);
    let mut digits = [b'0'; 20];
    last_digits(number, &mut digits[..length]);
    out.extend_from_slice(&digits[..length]);
}

/// Fills `digits`, which hold zeros, with the last digits of a number.
fn last_digits(mut number: u64, digits: &mut [u8]) {
    for digit in digits.iter_mut().rev() {
        *digit += u8::try_from(number % 10).unwrap_or_default();
        number /= 10;
    }
}

impl WriteJson for Date {
    fn write_json(self, out: &mut Vec<u8>) {
        let mut text = *b"\"0000-00-00\"";
        match u64::try_from(self.year()) {
            Ok(year) => {
                last_digits(year, &mut text[1..5]);
                last_digits(self.month().unsigned_abs().into(), &mut text[6..8]);
                last_digits(self.day().unsigned_abs().into(), &mut text[9..11]);
                out.extend_from_slice(&text);
            }
            Err(_) => quoted(&self.to_string(), out),
        }
    }
}

impl WriteJson for Timestamp {
    fn write_json(self, out: &mut Vec<u8>) {
        quoted(&self.to_string(), out);
    }
}

impl WriteJson for AthleteId {
    fn write_json(self, out: &mut Vec<u8>) {
        quoted(&self.to_string(), out);
    }
}

/// A text of the program: a code, a sentence, a printed id. None of ours needs escaping.
impl WriteJson for &'static str {
    fn write_json(self, out: &mut Vec<u8>) {
        quoted(self, out);
    }
}

fn quoted(text: &str, out: &mut Vec<u8>) {
    debug_assert!(!text.contains(|c: char| c == '"' || c == '\\' || c.is_control()));
    out.push(b'"');
    out.extend_from_slice(text.as_bytes());
    out.push(b'"');
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use proptest::prelude::*;

    use super::*;

    fn written(value: impl WriteJson) -> String {
        let mut out = Vec::new();
        value.write_json(&mut out);
        String::from_utf8(out).unwrap()
    }

    #[test]
    fn numbers_read_as_serde_writes_them() {
        let numbers = [
            0.0,
            -0.0,
            0.5,
            1.0,
            -1.5,
            2810.0,
            1.3885,
            0.0001,
            0.00005,
            1761.6667,
            19.32,
            1e11,
            1e15,
            1e16,
            1.7e308,
            0.1 + 0.2,
            f64::NAN,
            f64::NEG_INFINITY,
        ];
        for number in numbers {
            assert_eq!(written(number), serde_json::to_string(&number).unwrap());
        }
    }

    proptest! {
        #[test]
        fn any_number_reads_as_serde_writes_it(number: f64, scaled in -10_i64.pow(12)..10_i64.pow(12)) {
            for number in [number, scaled as f64 / 10_000.0, scaled as f64 / 100.0] {
                prop_assert_eq!(written(number), serde_json::to_string(&number).unwrap());
            }
        }

        #[test]
        fn whole_numbers_and_dates_too(number: u32, days in -40_000_i32..40_000) {
            prop_assert_eq!(written(number), number.to_string());
            let day = date(2026, 1, 1).saturating_add(jiff::Span::new().days(days));
            prop_assert_eq!(written(day), serde_json::to_string(&day).unwrap());
        }
    }

    #[test]
    fn the_rest_reads_as_serde_writes_it() {
        assert_eq!(written(date(-44, 3, 15)), "\"-000044-03-15\"");
        assert_eq!(written(Timestamp::UNIX_EPOCH), "\"1970-01-01T00:00:00Z\"");
        assert_eq!(written(Each([Some(1_u8), None].into_iter())), "[1,null]");
        assert_eq!(written(Each(std::iter::empty::<u8>())), "[]");
        assert_eq!(written("club"), "\"club\"");
    }
}
