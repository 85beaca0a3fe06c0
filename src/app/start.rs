//! The start page: a sheet, a photo or a sample to begin with; what was kept; the cautions.

use eframe::egui::{Button, Frame, Label, Margin, RichText, ScrollArea, Ui, vec2};

use super::command::{Command, FileCommand};
use super::desk::{Desk, SAMPLES};
use super::{help, look};

/// Shows it.
pub fn show(ui: &mut Ui, desk: &Desk, commands: &mut Vec<Command>) {
    let margin = Frame::new().inner_margin(Margin::symmetric(32, 8));
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| margin.show(ui, |ui| {
        ui.set_max_width(760.0);
        ui.add_space(16.0);
        ui.heading("From a photo of a water jet to its velocity and the orifice's coefficients");
        ui.add_space(8.0);
        ui.label(
            "The sheet on the right of the next page is filled from the photo, line by line: which way is down, how big \
             a pixel is, where the orifice is. With the head typed in, Cv follows; with a timed volume, Cd and Cc.",
        );
        ui.add_space(16.0);
        kept(ui, desk, commands);
        section(ui, "Begin");
        row(ui, "Open a sheet or a photo", "or drop it on this window; several photos dropped together are a burst", || {
            commands.push(Command::File(FileCommand::AskOpen));
        });
        ui.add_space(12.0);
        section(ui, "The first time");
        row(ui, "Mark a photo step by step", "five marks and three numbers on a photo that comes with the program; about two minutes", || {
            commands.push(Command::File(FileCommand::OpenGuided));
        });
        for (n, sample) in SAMPLES.iter().enumerate() {
            row(ui, sample.title, sample.says, || commands.push(Command::File(FileCommand::OpenSample(n))));
        }
        if !desk.recent().is_empty() {
            ui.add_space(12.0);
            section(ui, "Opened lately");
            for path in desk.recent() {
                let name = path.file_name().map_or_else(String::new, |n| n.to_string_lossy().into_owned());
                let folder = path.parent().map_or_else(String::new, |p| p.display().to_string());
                // the same name may be in several folders
                let spoken = path.display().to_string();
                named_row(ui, &name, &spoken, &folder, || commands.push(Command::File(FileCommand::Open(path.clone()))));
            }
        }
        ui.add_space(16.0);
        help::cautions(ui);
    }));
}

fn section(ui: &mut Ui, name: &str) {
    let bold = look::bold(ui.ctx());
    ui.label(RichText::new(name).family(bold).strong());
}

/// Width of the buttons' column.
const BUTTONS: f32 = 190.0;

/// A button, and beside it what it is for.
fn row(ui: &mut Ui, name: &str, says: &str, does: impl FnOnce()) {
    named_row(ui, name, name, says, does);
}

fn named_row(ui: &mut Ui, name: &str, spoken: &str, says: &str, does: impl FnOnce()) {
    ui.horizontal(|ui| {
        let room = vec2(BUTTONS, ui.spacing().interact_size.y + 4.0);
        if ui.add_sized(room, Button::new(name).truncate()).accessible_name(spoken).clicked() {
            does();
        }
        ui.add(Label::new(RichText::new(says).weak()).truncate());
    });
}

/// Sheets of windows that ended without leave.
fn kept(ui: &mut Ui, desk: &Desk, commands: &mut Vec<Command>) {
    if desk.kept().is_empty() {
        return;
    }
    section(ui, "Kept from a window that ended before its sheet was saved");
    for kept in desk.kept() {
        ui.horizontal(|ui| {
            ui.label(kept.sheet.display().to_string());
            let of = kept.sheet.display().to_string();
            if ui.button("Take it up").accessible_name(format!("Take it up: {of}")).clicked() {
                commands.push(Command::File(FileCommand::Recover(kept.file.clone())));
            }
            if ui.button("Forget it").accessible_name(format!("Forget it: {of}")).clicked() {
                commands.push(Command::File(FileCommand::Forget(kept.file.clone())));
            }
        });
    }
    ui.add_space(12.0);
}
