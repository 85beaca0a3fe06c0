//! The photo table: the photo with marks, stations and trajectory on it.

use eframe::egui::Ui;

use super::command::Command;
use super::state::State;

/// Where the photo table is looking.
#[derive(Default)]
pub struct PhotoTable {}

impl PhotoTable {
    /// Shows it.
    pub fn show(&mut self, ui: &mut Ui, state: &State, _commands: &mut Vec<Command>) {
        if let Some(pictures) = &state.live.pictures {
            ui.label(format!("{} photos", pictures.set.photos.len()));
        }
    }
}
