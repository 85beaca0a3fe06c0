//! The sheet: numbered lines from the photo to the record, each with value, uncertainty, origin and state. The line in
//! hand lies open in its place.

mod budget;
mod field;
mod foot;
mod form;
mod header;
pub(super) mod ink;
mod lines;
mod plain_words;
mod said;
mod summary;
mod tables;

use eframe::egui::{Align, EventFilter, Frame, Key, Layout, Margin, Modifiers, Panel, RichText, ScrollArea, Ui};
use std::collections::BTreeSet;

use super::command::{Command, Units};
use super::line::Line;
use super::state::State;
use form::{Draft, Form};
use summary::summary;

/// What the panel remembers.
#[derive(Default)]
pub struct SheetPanel {
    /// What is being typed.
    draft: Option<Draft>,
    /// What was told beside its entry the last time; the foot tells the rest.
    told: BTreeSet<usize>,
    /// The line that lay open the last time.
    open: Option<Line>,
}

impl SheetPanel {
    /// Shows it.
    pub fn show(&mut self, ui: &mut Ui, state: &State, commands: &mut Vec<Command>) {
        title(ui, state, commands);
        let told = std::mem::take(&mut self.told);
        Panel::bottom("sheet foot").show(ui, |ui| foot::show(ui, state, &told, commands));
        let mut form = Form::new(state, commands, &mut self.draft);
        let moved = self.open.replace(state.line) != Some(state.line);
        ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 0.0;
            for line in Line::ALL {
                let in_hand = line == state.line;
                let header = header::header(ui, line, &summary(line, state, &form.said), in_hand);
                if header.clicked() {
                    form.ask(Command::TakeLine(line));
                }
                if header.has_focus() {
                    // up and down choose lines, as on the photo's side; Tab goes on into the fields
                    let filter = EventFilter { vertical_arrows: true, ..EventFilter::default() };
                    ui.memory_mut(|m| m.set_focus_lock_filter(header.id, filter));
                    if moved && !in_hand {
                        header.surrender_focus();
                    }
                }
                if in_hand {
                    if moved {
                        header.scroll_to_me(None);
                    }
                    let inside = Frame::new().inner_margin(Margin { left: 12, right: 6, top: 4, bottom: 8 });
                    inside.fill(ui.visuals().faint_bg_color).show(ui, |ui| {
                        ui.spacing_mut().item_spacing.y = 4.0;
                        ui.set_width(ui.available_width());
                        lines::open(ui, line, &mut form);
                    });
                }
                ui.separator();
            }
        });
        self.told = form.told;
        arrows(ui, state, commands);
    }
}

/// Up and down choose the line above or below, unless they belong to a mark or a text field.
fn arrows(ui: &mut Ui, state: &State, commands: &mut Vec<Command>) {
    if state.mark.is_some() || ui.ctx().text_edit_focused() {
        return;
    }
    let step = ui.input_mut(|i| {
        let mut pressed = |key| i.consume_key(Modifiers::NONE, key);
        isize::from(pressed(Key::ArrowDown)) - isize::from(pressed(Key::ArrowUp))
    });
    let to = Line::ALL.iter().position(|l| *l == state.line).and_then(|i| i.checked_add_signed(step));
    if let Some(line) = to.and_then(|i| Line::ALL.get(i)).filter(|_| step != 0) {
        commands.push(Command::TakeLine(*line));
    }
}

/// The sheet's title, and the units of its results.
fn title(ui: &mut Ui, state: &State, commands: &mut Vec<Command>) {
    ui.horizontal(|ui| {
        let title = state.typed("title");
        let title = if title.is_empty() { "no title".to_owned() } else { title };
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            for (units, name) in [(Units::UsCustomary, "US customary"), (Units::Si, "SI")] {
                if ui.selectable_label(state.units == units, RichText::new(name).small()).clicked() {
                    commands.push(Command::Units(units));
                }
            }
            ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                ui.add(eframe::egui::Label::new(RichText::new(title).strong().size(16.0)).truncate());
            });
        });
    });
    ui.separator();
}
