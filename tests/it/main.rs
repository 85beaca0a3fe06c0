//! One test binary. A new test goes to the module of the stage or the promise that it checks:
//! `published` for values of others, `synthetic` for drawn jets of known truth, `cli` for the
//! program as a whole, `tidy` for rules of the source tree.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on shall stop")]

mod bad_input;
mod burst;
mod calibration;
mod card;
mod cli;
mod disturbed;
mod formats;
mod photo;
mod properties;
mod published;
mod quantity;
mod registration;
mod series;
mod report;
mod sheet;
mod ruler;
mod several;
mod stream_keys;
mod support;
mod synthetic;
mod tidy;
