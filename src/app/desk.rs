//! Files: opening, saving, keeping what is not saved.

use eframe::egui;
use std::path::Path;

use super::command::{Command, FileCommand};
use super::document::Document;
use super::state::State;
use crate::cli::files;

/// The one place of the window that touches files.
#[derive(Default)]
pub struct Desk {}

impl Desk {
    /// Carries out a file command; what goes wrong is told in the state.
    pub fn carry_out(&mut self, command: FileCommand, state: &mut State) {
        match command {
            FileCommand::Open(path) => open(&path, state),
            FileCommand::Save => {
                let Some(document) = &mut state.document else { return };
                let path = document.path().to_owned();
                match files::write("sheet", &path, document.text().as_bytes()) {
                    Ok(()) => document.saved_to(&path),
                    Err(e) => state.said = Some((e, true)),
                }
            }
            _ => {}
        }
    }

    /// What came in since the last frame: answers of dialogs, dropped files, changes of files outside.
    pub fn attend(&mut self, _ctx: &egui::Context, _state: &mut State) -> Vec<Command> {
        Vec::new()
    }

    /// Whether a photo of the sheet changed outside since this was last asked.
    pub fn photos_changed(&mut self) -> bool {
        false
    }
}

fn open(path: &Path, state: &mut State) {
    match files::read("sheet", path).and_then(|bytes| String::from_utf8(bytes).map_err(|e| e.to_string())) {
        Ok(text) => state.show(Document::open(path, &text)),
        Err(e) => state.said = Some((e, true)),
    }
}
