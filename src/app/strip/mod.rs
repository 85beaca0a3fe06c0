//! The strip below the photo: what belongs to the line in hand, drawn along the jet.

use eframe::egui::Ui;

use super::command::Command;
use super::state::State;

/// What the strip remembers.
#[derive(Default)]
pub struct Strip {}

impl Strip {
    /// Shows it.
    pub fn show(&mut self, ui: &mut Ui, state: &State, _commands: &mut Vec<Command>) {
        if let Some(measured) = &state.live.measured {
            ui.label(format!("{} stations", measured.findings.stations.len()));
        }
    }
}
