//! What is wrong with a sheet, and where.

use std::fmt;

/// One thing that keeps a sheet from being measured.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// Line in the sheet's text, from 1; 0 where the text has no such place.
    pub line: usize,
    /// Column in characters, from 1; 0 with line 0.
    pub column: usize,
    /// The field as a dotted key: `orifice.diameter`, `flow.timed[2].time` (the second).
    pub about: String,
    /// What stands there, shortened; empty where nothing does.
    pub found: String,
    /// What is wrong; lower case, no full stop.
    pub says: String,
    /// What is accepted, or what to do.
    pub hint: Option<String>,
}

impl fmt::Display for Fault {
    /// One line, and a second for the hint:
    /// ``line 12, column 13: orifice.diameter: 12 has no unit, found `"12"` ``.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.line > 0 {
            write!(f, "line {}, column {}: ", self.line, self.column)?;
        }
        if !self.about.is_empty() {
            write!(f, "{}: ", self.about)?;
        }
        write!(f, "{}", self.says)?;
        if !self.found.is_empty() {
            write!(f, ", found `{}`", self.found)?;
        }
        match &self.hint {
            Some(hint) => write!(f, "\n  hint: {hint}"),
            None => Ok(()),
        }
    }
}

impl std::error::Error for Fault {}

/// A place in a text.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub(super) struct Place {
    pub line: usize,
    pub column: usize,
    pub found: String,
}

/// The place of the bytes `span` of `text`; tolerates a span that does not fit.
pub(super) fn place(text: &str, span: std::ops::Range<usize>) -> Place {
    let start = floor_char(text, span.start);
    let end = floor_char(text, span.end).max(start);
    let before = &text[..start];
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().unwrap_or("").chars().count() + 1;
    Place { line, column, found: shortened(&text[start..end]) }
}

fn floor_char(text: &str, mut at: usize) -> usize {
    at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

/// At most sixty characters, on one line.
fn shortened(text: &str) -> String {
    let one_line = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if one_line.chars().count() <= 60 {
        return one_line;
    }
    one_line.chars().take(57).chain("...".chars()).collect()
}
