//! `trajet card`: a scale card to print.

use super::report::OnPaper;
use super::{Outcome, files, say};
use crate::card::Card;
use crate::report::card::pdf;
use clap::Args;
use std::path::PathBuf;

/// `trajet card`
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  trajet card -o card.pdf --paper a3\n\n\
    Print at 100 %, measure check lines A and B with a steel rule, and state what they measured:\n\
    check_line and upright_line under [card]. Its marks are found in the photo, by trajet new and by the window.")]
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
