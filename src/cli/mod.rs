//! The command line: a thin face over [`crate::measure`].
//!
//! Only this module (and the window) opens files. What was asked for goes to stdout, everything said about it to
//! stderr. Exit status: 0 measured, 1 refused by the sheet or the photo, 2 wrong usage or a file that cannot be
//! read or written; the highest of several wins.

mod args;
#[cfg(feature = "pdf")]
mod card;
mod files;
mod load;
mod measure;
mod new;
mod report;
mod say;
mod series;

use args::{Cli, Command};
use clap::Parser;
use std::ffi::OsString;
use std::process::ExitCode;

/// How a command ended; the order is that of the exit status.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Outcome {
    /// All was done.
    Done,
    /// A sheet or a photo refused it.
    Refused,
    /// Wrong usage, or a file that cannot be read or written.
    Unusable,
}

impl From<Outcome> for ExitCode {
    fn from(outcome: Outcome) -> Self {
        match outcome {
            Outcome::Done => ExitCode::SUCCESS,
            Outcome::Refused => ExitCode::from(1),
            Outcome::Unusable => ExitCode::from(2),
        }
    }
}

/// Runs the program with what was typed, the program's own name first.
pub fn run(args: impl IntoIterator<Item = OsString>) -> ExitCode {
    let cli = match Cli::try_parse_from(args) {
        Ok(cli) => cli,
        Err(told) => {
            // help and version are answers, not faults; clap knows which stream they belong to
            let _ = told.print();
            return if told.use_stderr() { Outcome::Unusable } else { Outcome::Done }.into();
        }
    };
    match cli.command {
        Command::Measure(args) => measure::run(&args),
        Command::Series(args) => series::run(&args),
        Command::Report(args) => report::run(&args),
        #[cfg(feature = "pdf")]
        Command::Card(args) => card::run(&args),
        Command::New(args) => new::run(&args),
    }
    .into()
}
