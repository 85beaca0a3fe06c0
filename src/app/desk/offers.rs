//! Decisions put to the user as a line with its answers; nothing pops up.

use super::kept::Kept;
use super::{After, Pending};
use crate::app::command::{Command, FileCommand};
use crate::app::state::State;

/// A line that asks something.
#[derive(Clone, Debug, PartialEq)]
pub struct Offer {
    /// What is the case.
    pub says: String,
    /// The answers: what the button reads, and what it does.
    pub answers: Vec<(&'static str, Command)>,
}

fn offer(says: impl Into<String>, answers: Vec<(&'static str, FileCommand)>) -> Offer {
    let answers = answers.into_iter().map(|(reads, does)| (reads, Command::File(does))).collect();
    Offer { says: says.into(), answers }
}

/// All that waits for an answer, the most pressing first.
pub fn offers(pending: &Pending, kept: &[Kept], state: &State) -> Vec<Offer> {
    let mut all = Vec::new();
    let Some(document) = &state.document else { return all };
    if let Some(after) = &pending.after {
        let (save, leave) = match after {
            After::Close => ("Save and close", "Close without saving"),
            After::Quit => ("Save and quit", "Quit without saving"),
            After::Open(_) => ("Save and go on", "Go on without saving"),
        };
        let answers =
            vec![(save, FileCommand::SaveThenGoOn), (leave, FileCommand::GoOnUnsaved), ("Stay", FileCommand::Stay)];
        all.push(offer(format!("{} is not saved.", document.name()), answers));
    }
    if let Some(path) = &pending.in_the_way {
        let answers = vec![
            ("Write over it", FileCommand::SaveOver(path.clone())),
            ("Another name", FileCommand::AskSaveAs),
            ("Do not save", FileCommand::Stay),
        ];
        all.push(offer(format!("{} is there already.", path.display()), answers));
    }
    if pending.outside.is_some() {
        let answers =
            vec![("Take theirs", FileCommand::TakeOutside(true)), ("Keep mine", FileCommand::TakeOutside(false))];
        all.push(offer("The file was changed outside while this sheet has changes of its own.", answers));
    }
    if let Some(kept) = kept.iter().find(|k| k.sheet == document.path() && k.text != document.text()) {
        let answers = vec![
            ("Take it up", FileCommand::Recover(kept.file.clone())),
            ("Forget it", FileCommand::Forget(kept.file.clone())),
        ];
        all.push(offer("Work on this sheet was kept that was never saved.", answers));
    }
    if !state.live.no_pictures.is_empty() {
        let mut answers = Vec::new();
        let says = match &pending.photo {
            Some(path) => {
                answers.push(("Take this one", FileCommand::TakePhoto(path.clone())));
                format!("The photo is not where the sheet says; one of its name is at {}.", path.display())
            }
            None => "The photo cannot be shown.".to_owned(),
        };
        answers.push(("Choose a photo", FileCommand::AskPhoto));
        all.push(offer(says, answers));
    }
    all
}
