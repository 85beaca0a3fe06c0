//! The top of the window: menus, the sheet's name and whether it is saved; below them what is asked and told.

use eframe::egui::{self, Button, Key, KeyboardShortcut, Modifiers, RichText, TextEdit, Ui};

use super::command::{Command, Export, FileCommand, Layer, Units};
use super::desk::Desk;
use super::state::State;

/// Shows it.
pub fn show(ui: &mut Ui, state: &State, desk: &mut Desk, commands: &mut Vec<Command>) {
    egui::MenuBar::new().ui(ui, |ui| {
        ui.menu_button("Sheet", |ui| sheet(ui, state, desk, commands));
        ui.menu_button("Edit", |ui| edit(ui, state, commands));
        ui.menu_button("View", |ui| view(ui, state, commands));
        ui.menu_button("Help", |ui| help(ui, commands));
        if let Some(document) = &state.document {
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                ui.label(if document.is_saved() { "saved" } else { "not saved" });
                if state.live.busy {
                    ui.weak("measuring");
                }
                let title = document.opened().sheet.title.clone().filter(|t| !t.trim().is_empty());
                let name = title.unwrap_or_else(|| document.name());
                ui.add(egui::Label::new(RichText::new(name).strong()).truncate())
                    .on_hover_text(document.path().display().to_string());
            });
        }
    });
    asking(ui, desk, commands);
    for offer in desk.offers(state) {
        ui.horizontal_wrapped(|ui| {
            ui.label(RichText::new(format!("? {}", offer.says)).strong());
            for (reads, does) in offer.answers {
                if ui.button(reads).clicked() {
                    commands.push(does);
                }
            }
        });
    }
    if let Some((said, fault)) = &state.said {
        ui.horizontal_wrapped(|ui| {
            ui.label(if *fault { RichText::new(format!("! {said}")).strong() } else { RichText::new(said) });
            if ui.small_button("put away").clicked() {
                commands.push(Command::PutAway);
            }
        });
    }
}

/// One entry of a menu, with the keys that do the same.
fn entry(ui: &mut Ui, enabled: bool, reads: &str, keys: Option<(Modifiers, Key)>, mut does: impl FnMut()) {
    let mut button = Button::new(reads);
    if let Some((modifiers, key)) = keys {
        button = button.shortcut_text(ui.ctx().format_shortcut(&KeyboardShortcut::new(modifiers, key)));
    }
    if ui.add_enabled(enabled, button).clicked() {
        does();
        ui.close();
    }
}

fn sheet(ui: &mut Ui, state: &State, desk: &Desk, commands: &mut Vec<Command>) {
    let open = state.document.is_some();
    let measured = state.live.measured.is_some() && state.is_current();
    let shift = Modifiers::COMMAND | Modifiers::SHIFT;
    let mut file = |command| commands.push(Command::File(command));
    entry(ui, true, "Open a sheet or photo", Some((Modifiers::COMMAND, Key::O)), || file(FileCommand::AskOpen));
    ui.menu_button("Opened lately", |ui| {
        if desk.recent().is_empty() {
            ui.weak("none yet");
        }
        for path in desk.recent() {
            let name = path.file_name().map_or_else(String::new, |n| n.to_string_lossy().into_owned());
            if ui.button(name).on_hover_text(path.display().to_string()).clicked() {
                file(FileCommand::Open(path.clone()));
                ui.close();
            }
        }
    });
    ui.separator();
    entry(ui, open, "Save", Some((Modifiers::COMMAND, Key::S)), || file(FileCommand::Save));
    entry(ui, open, "Save as", Some((shift, Key::S)), || file(FileCommand::AskSaveAs));
    ui.separator();
    for (export, reads) in [
        (Export::RecordHtml, "Write the record as a page"),
        (Export::RecordPdf, "Write the record as PDF"),
        (Export::Workbook, "Write a workbook"),
        (Export::Stations, "Write the stations as a table"),
        (Export::Json, "Write the findings as JSON"),
    ] {
        entry(ui, measured, reads, None, || file(FileCommand::AskExport(export)));
    }
    ui.separator();
    entry(ui, open, "Close the sheet", Some((Modifiers::COMMAND, Key::W)), || file(FileCommand::Close));
    entry(ui, true, "Quit", Some((Modifiers::COMMAND, Key::Q)), || file(FileCommand::Quit));
}

fn edit(ui: &mut Ui, state: &State, commands: &mut Vec<Command>) {
    let shift = Modifiers::COMMAND | Modifiers::SHIFT;
    let can = |test: fn(&super::document::Document) -> bool| state.document.as_ref().is_some_and(test);
    let mut say = |command| commands.push(command);
    entry(ui, can(|d| d.can_undo()), "Undo", Some((Modifiers::COMMAND, Key::Z)), || say(Command::Undo));
    entry(ui, can(|d| d.can_redo()), "Redo", Some((shift, Key::Z)), || say(Command::Redo));
    ui.separator();
    let mark = state.mark.clone();
    entry(ui, mark.is_some(), "Take the mark in hand away", None, || {
        if let Some(key) = &mark {
            say(Command::Remove(key.clone()));
        }
    });
}

fn view(ui: &mut Ui, state: &State, commands: &mut Vec<Command>) {
    for (layer, reads) in [
        (Layer::Marks, "Marks"),
        (Layer::Stations, "Stations"),
        (Layer::Edges, "Edges of the stream"),
        (Layer::Fitted, "Fitted trajectory"),
        (Layer::Predicted, "Path without loss"),
        (Layer::Evidence, "What the threshold sees"),
    ] {
        let mut shown = state.layers.contains(&layer);
        if ui.checkbox(&mut shown, reads).changed() {
            commands.push(Command::Show(layer, shown));
        }
    }
    ui.separator();
    for (units, reads) in [(Units::Si, "Results in SI units"), (Units::UsCustomary, "Results in US customary units")] {
        if ui.radio(state.units == units, reads).clicked() {
            commands.push(Command::Units(units));
        }
    }
    ui.separator();
    let mut theme = ui.ctx().options(|o| o.theme_preference);
    for (choice, reads) in [
        (egui::ThemePreference::System, "Light or dark as the desktop"),
        (egui::ThemePreference::Light, "Light"),
        (egui::ThemePreference::Dark, "Dark"),
    ] {
        if ui.radio_value(&mut theme, choice, reads).clicked() {
            ui.ctx().set_theme(theme);
        }
    }
}

fn help(ui: &mut Ui, commands: &mut Vec<Command>) {
    entry(ui, true, "Keys and cautions", Some((Modifiers::NONE, Key::F1)), || commands.push(Command::ShowHelp(true)));
    ui.weak(format!("Trajet {}", env!("CARGO_PKG_VERSION")));
}

/// The line in which a path is typed.
fn asking(ui: &mut Ui, desk: &mut Desk, commands: &mut Vec<Command>) {
    let Some(asking) = desk.asking_mut() else { return };
    ui.horizontal(|ui| {
        let label = ui.label(format!("{}: choose it in the dialog, or type its path", asking.asked.says()));
        let field = ui
            .add(TextEdit::singleline(&mut asking.typed).desired_width(ui.available_width() - 160.0))
            .labelled_by(label.id);
        if !asking.had_focus {
            asking.had_focus = true;
            field.request_focus();
        }
        let entered = field.lost_focus() && ui.input(|i| i.key_pressed(Key::Enter));
        if (ui.button("Go on").clicked() || entered)
            && let Some(command) = asking.command()
        {
            commands.push(command);
        }
        if ui.button("Leave").clicked() || ui.input(|i| i.key_pressed(Key::Escape)) {
            commands.push(Command::File(FileCommand::StopAsking));
        }
    });
}
