//! `trajet card`: a scale card to print.

use super::report::OnPaper;
use super::{Outcome, files, say};
use crate::report::card::{Card, pdf};
use clap::Args;
use std::path::PathBuf;

/// `trajet card`
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  trajet card -o card.pdf --paper a3\n\n\
    Print at 100 %, measure the check line with a steel rule, and write down what it measured.\n\
    The marks are not yet found in a photo by themselves: click the ruler as any other scale.")]
pub struct CardArgs {
    /// Where to write the PDF.
    #[arg(long, short, value_name = "OUT")]
    pub output: PathBuf,
    /// The paper to print on.
    #[arg(long, value_enum, default_value_t = OnPaper::A4)]
    pub paper: OnPaper,
}

/// Runs the command.
pub(crate) fn run(args: &CardArgs) -> Outcome {
    let told = pdf(&Card::new(args.paper.into())).map_err(|e| e.to_string());
    match told.and_then(|bytes| files::write("scale card", &args.output, &bytes)) {
        Ok(()) => Outcome::Done,
        Err(line) => {
            say::line(&line);
            Outcome::Unusable
        }
    }
}
