//! The start page: a sheet, a photo or a sample to begin with; what was kept; the cautions.

use eframe::egui::{Frame, Margin, RichText, ScrollArea, Ui};

use super::command::{Command, FileCommand};
use super::desk::{Desk, SAMPLES};
use super::help;

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
        if ui.button("Open a sheet or a photo").clicked() {
            commands.push(Command::File(FileCommand::AskOpen));
        }
        ui.weak("or drop a file on this window");
        ui.add_space(12.0);
        section(ui, "The first time");
        if ui.button("Mark a photo step by step").clicked() {
            commands.push(Command::File(FileCommand::OpenGuided));
        }
        ui.weak("five marks and three numbers on a photo that comes with the program; about two minutes");
        for (n, sample) in SAMPLES.iter().enumerate() {
            ui.horizontal(|ui| {
                if ui.button(sample.title).clicked() {
                    commands.push(Command::File(FileCommand::OpenSample(n)));
                }
                ui.weak(sample.says);
            });
        }
        if !desk.recent().is_empty() {
            ui.add_space(12.0);
            section(ui, "Opened lately");
            for path in desk.recent() {
                let name = path.file_name().map_or_else(String::new, |n| n.to_string_lossy().into_owned());
                ui.horizontal(|ui| {
                    if ui.button(name).clicked() {
                        commands.push(Command::File(FileCommand::Open(path.clone())));
                    }
                    ui.weak(path.parent().map_or_else(String::new, |p| p.display().to_string()));
                });
            }
        }
        ui.add_space(16.0);
        help::cautions(ui);
    }));
}

fn section(ui: &mut Ui, name: &str) {
    ui.label(RichText::new(name).strong());
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
            if ui.button("Take it up").clicked() {
                commands.push(Command::File(FileCommand::Recover(kept.file.clone())));
            }
            if ui.button("Forget it").clicked() {
                commands.push(Command::File(FileCommand::Forget(kept.file.clone())));
            }
        });
    }
    ui.add_space(12.0);
}
