//! The command line: a thin face over [`crate::measure`].
//!
//! Only this module (and the window) opens files. What was asked for goes to stdout, everything said about it to
//! stderr. Exit status: 0 measured, 1 refused by the sheet or the photo, 2 wrong usage or a file that cannot be
//! read or written, 130 stopped by Ctrl-C; the highest of several wins.

mod args;
pub(crate) mod at_once;
#[cfg(feature = "pdf")]
mod card;
pub(crate) mod files;
pub(crate) mod load;
mod gather;
mod into;
mod measure;
mod new;
mod report;
mod say;
pub(crate) mod series;
mod stop;

use args::{Cli, Command};
use clap::Parser;
use std::ffi::OsString;
use std::path::PathBuf;
use std::process::ExitCode;

/// How a command ended; the order is that of the exit status.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Outcome {
    /// All was done.
    #[default]
    Done,
    /// A sheet or a photo refused it.
    Refused,
    /// Wrong usage, or a file that cannot be read or written.
    Unusable,
    /// Ctrl-C came before all was done.
    Stopped,
}

impl From<Outcome> for ExitCode {
    fn from(outcome: Outcome) -> Self {
        match outcome {
            Outcome::Done => ExitCode::SUCCESS,
            Outcome::Refused => ExitCode::from(1),
            Outcome::Unusable => ExitCode::from(2),
            Outcome::Stopped => ExitCode::from(stop::STATUS),
        }
    }
}

/// Runs the program with what was typed, the program's own name first; `open` shows the window with a sheet or a photo.
pub fn run(args: impl IntoIterator<Item = OsString>, open: fn(Option<PathBuf>) -> ExitCode) -> ExitCode {
    let cli = match Cli::try_parse_from(args) {
        Ok(cli) => cli,
        Err(told) => {
            // help and version are answers, not faults; clap knows which stream they belong to
            let _ = told.print();
            return if told.use_stderr() { Outcome::Unusable } else { Outcome::Done }.into();
        }
    };
    match cli.command {
        None => return open(None),
        Some(Command::Open(args)) => return open(args.file),
        Some(Command::Measure(args)) => measure::run(&args),
        Some(Command::Series(args)) => series::run(&args),
        Some(Command::Report(args)) => report::run(&args),
        #[cfg(feature = "pdf")]
        Some(Command::Card(args)) => card::run(&args),
        Some(Command::New(args)) => new::run(&args),
    }
    .into()
}
