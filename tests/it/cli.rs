//! Tests: the program as a whole, as it is run from a shell.

#![allow(clippy::unwrap_used, reason = "tests: a failure here is a failed test")]

mod batch;
mod json;
mod repeat;
mod samples;
mod starter;
mod stations;
mod table;
mod usage;
