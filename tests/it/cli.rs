//! Tests: the program as a whole, as it is run from a shell.

mod json;
mod repeat;
mod samples;
mod starter;
mod stations;
mod table;
mod usage;
