//! Findings -> what leaves the program: JSON, CSV, a table to read.
//!
//! Every exporter starts from [`crate::measure::Findings`]; none of them computes.

pub mod csv;
pub mod json;
pub mod table;
pub mod series_table;
