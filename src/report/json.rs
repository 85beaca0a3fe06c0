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
