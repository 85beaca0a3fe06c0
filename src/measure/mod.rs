//! The one pipeline: trace (pixels, slow, once), then reduce (numbers, fast, every draw).

mod findings;

pub use findings::{BudgetRow, Findings, Found, StationRow};
