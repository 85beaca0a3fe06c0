//! The whole of the findings as JSON, keys in the order of the contract.

use crate::measure::Findings;
use serde_json::Value;

/// One object for one sheet, an array for several; ends in a line feed.
///
/// # Errors
/// A number that JSON cannot hold: findings never hold one.
pub fn text(all: &[Findings]) -> Result<String, serde_json::Error> {
    match all {
        [one] => Ok(serde_json::to_string_pretty(one)? + "\n"),
        several => array(several),
    }
}

/// An array, also for one sheet.
///
/// # Errors
/// As [`text`].
pub fn array(all: &[Findings]) -> Result<String, serde_json::Error> {
    Ok(serde_json::to_string_pretty(all)? + "\n")
}

/// An array that is written element by element, the same text as [`array`] gives: what begins it, what stands between two
/// elements, and what ends it.
pub const OPEN: &str = "[\n";
/// Between two elements.
pub const BETWEEN: &str = ",\n";
/// After the last one.
pub const CLOSE: &str = "\n]\n";
/// The whole array where there is no element.
pub const EMPTY: &str = "[]\n";

/// One element of such an array.
///
/// # Errors
/// As [`text`].
pub fn element(findings: &Findings) -> Result<String, serde_json::Error> {
    // JSON texts hold no raw line feed, so every line is one of the layout
    let text = serde_json::to_string_pretty(findings)?;
    Ok(text.lines().map(|line| format!("  {line}")).collect::<Vec<_>>().join("\n"))
}

/// Findings from the JSON of one sheet: what [`text`] wrote, also by an earlier version (missing keys take their defaults).
///
/// # Errors
/// Text that is not such JSON.
pub fn read(text: &str) -> Result<Vec<Findings>, serde_json::Error> {
    match serde_json::from_str::<Value>(text)? {
        Value::Array(all) => all.into_iter().map(serde_json::from_value).collect(),
        one => serde_json::from_value(one).map(|f| vec![f]),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_array_by_elements_is_the_array() {
        let named = |sheet: &str| Findings { format: 1, sheet: sheet.into(), ..Findings::default() };
        let all = [named("a\nb.toml"), named("c.toml")];
        let by_elements = format!("{OPEN}{}{BETWEEN}{}{CLOSE}", element(&all[0]).unwrap(), element(&all[1]).unwrap());
        assert_eq!(by_elements, array(&all).unwrap());
        assert_eq!(EMPTY, array(&[]).unwrap());
    }
}
