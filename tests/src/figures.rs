//! Figures as a page prints them, compared with figures as the service sends them.

use serde_json::Value;

/// Asserts that a number is what is printed, within half a unit of the last printed digit.
///
/// `assert_printed(&day["ratio_coupled"]["point"], "1.3885")`
#[track_caller]
pub fn assert_printed(sent: &Value, printed: &str) {
    let decimals = printed
        .split_once('.')
        .map_or(0, |(_, digits)| digits.len());
    let half_a_unit = 0.5 / 10_f64.powi(i32::try_from(decimals).expect("few decimals"));
    let expected: f64 = printed.parse().expect("a printed number");
    let number = sent
        .as_f64()
        .unwrap_or_else(|| panic!("{sent} is not {printed}"));
    // A millionth of a unit for the way from decimal digits to a float and back.
    let tolerance = half_a_unit * (1.0 + 1e-6);
    assert!(
        (number - expected).abs() <= tolerance,
        "{number} is not {printed}"
    );
}

/// Asserts a figure that is known for sure: point, low and high are the same, and there is no reason against it.
#[track_caller]
pub fn assert_exact(figure: &Value, printed: &str) {
    for end in ["point", "low", "high"] {
        assert_printed(&figure[end], printed);
    }
    assert_eq!(figure["reason"], Value::Null, "{figure}");
}

/// Asserts a figure that does not exist, for this reason.
#[track_caller]
pub fn assert_none(figure: &Value, reason: &str) {
    for end in ["point", "low", "high"] {
        assert_eq!(figure[end], Value::Null, "{figure}");
    }
    assert_eq!(figure["reason"], reason, "{figure}");
}

/// Asserts monotony that does not exist with either divisor, for this reason.
#[track_caller]
pub fn assert_no_monotony(monotony: &Value, reason: &str) {
    for divisor in ["sample", "population"] {
        assert_eq!(monotony[divisor]["point"], Value::Null, "{monotony}");
    }
    assert_eq!(monotony["reason"], reason, "{monotony}");
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::assert_printed;

    #[test]
    fn half_a_unit_is_allowed() {
        assert_printed(&json!(1.38854), "1.3885");
        assert_printed(&json!(3171), "3171");
        assert_printed(&json!(3.125), "3.12");
    }

    #[test]
    #[should_panic(expected = "1.38856 is not 1.3885")]
    fn more_is_not() {
        assert_printed(&json!(1.38856), "1.3885");
    }
}
