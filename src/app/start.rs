//! The start page: a sample, a photo or a sheet to begin with; the cautions.

use eframe::egui::Ui;

use super::command::Command;
use super::desk::Desk;
use super::state::State;

/// Shows it.
pub fn show(ui: &mut Ui, _state: &State, _desk: &Desk, _commands: &mut Vec<Command>) {
    ui.heading("Trajet");
}
