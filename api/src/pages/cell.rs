//! Cells of CSV files that are opened in spreadsheets.

use serde_json::Value;

use crate::services::table::FORMULA;

/// The text of a cell. Text that a spreadsheet would run as a formula gets a leading apostrophe (OWASP
/// ASVS 5.0, V1.2.10); numbers are the service's own and stay numbers; null is an empty cell.
pub fn cell(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::String(text) => guarded(text),
        Value::Number(number) => number
            .as_f64()
            .filter(|_| number.is_f64())
            .map_or_else(|| number.to_string(), |number| number.to_string()),
        Value::Array(values) => values.iter().map(cell).collect::<Vec<_>>().join(" "),
        other => other.to_string(),
    }
}

fn guarded(text: &str) -> String {
    if text.starts_with(FORMULA) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn text_is_never_a_formula_and_numbers_stay_numbers() {
        for text in [
            "=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "\n=1", "\0=1", "＝1", "＋1", "－1",
            "＠A",
        ] {
            assert_eq!(cell(&json!(text)), format!("'{text}"));
        }
        assert_eq!(cell(&json!(-12.5)), "-12.5");
        assert_eq!(cell(&json!(2700.0)), "2700");
        assert_eq!(cell(&json!(1.5904)), "1.5904");
        assert_eq!(cell(&json!(7)), "7");
        assert_eq!(cell(&json!(null)), "");
        assert_eq!(cell(&json!(["a", "b"])), "a b");
        assert_eq!(cell(&json!("Cosima R.")), "Cosima R.");
    }
}
