//! The top line: menus, the sheet's name, whether it is saved.

use eframe::egui::Ui;

use super::command::Command;
use super::desk::Desk;
use super::state::State;

/// Shows it.
pub fn show(ui: &mut Ui, state: &State, _desk: &Desk, _commands: &mut Vec<Command>) {
    ui.horizontal(|ui| {
        if let Some(d) = &state.document {
            ui.label(d.name());
            ui.label(if d.is_saved() { "saved" } else { "not saved" });
        }
        if let Some((said, _)) = &state.said {
            ui.label(said);
        }
    });
}
