//! The sheet: numbered lines from the photo to the record, each with value, uncertainty, origin and state. The line in
//! hand lies open in its place.

mod budget;
pub(super) mod field;
mod foot;
mod form;
mod header;
pub(super) mod ink;
mod lines;
mod plain_words;
mod said;
mod summary;
mod tables;
#[cfg(test)]
pub(super) mod tests;

use eframe::egui::{
    Align, EventFilter, Frame, Id, Key, Layout, Margin, Modifiers, Panel, Rect, RichText, ScrollArea, Stroke, Ui, vec2,
};
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
    /// The field that was waited for the last time: the keyboard goes there once.
    awaited: Option<String>,
    /// The line that lay open the last time.
    open: Option<Line>,
    /// The head of that line, where the keyboard goes on into its fields.
    pub head: Option<Id>,
}

impl SheetPanel {
    /// Shows it.
    pub fn show(&mut self, ui: &mut Ui, state: &State, commands: &mut Vec<Command>) {
        title(ui, state, commands);
        let told = std::mem::take(&mut self.told);
        Panel::bottom("sheet foot").show(ui, |ui| foot::show(ui, state, &told, commands));
        let mut form = Form::new(state, commands, &mut self.draft);
        form.focus = state.awaited.clone().filter(|key| self.awaited.as_ref() != Some(key));
        self.awaited = state.awaited.clone();
        let moved = self.open.replace(state.line) != Some(state.line);
        ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 0.0;
            for line in Line::ALL {
                let in_hand = line == state.line;
                let header = header::header(ui, line, &summary(line, state, &form.said), in_hand);
                if header.clicked() {
                    form.go_to(line);
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
                    self.head = Some(header.id);
                    if moved {
                        header.scroll_to_me(None);
                    }
                    let inside = Frame::new().inner_margin(Margin { left: 12, right: 6, top: 4, bottom: 8 });
                    let body = inside.show(ui, |ui| {
                        on_paper(ui);
                        ui.set_width(ui.available_width());
                        lines::open(ui, line, &mut form);
                    });
                    let edge = body.response.rect;
                    let bar = Rect::from_min_size(edge.min, vec2(3.0, edge.height()));
                    ui.painter().rect_filled(bar, 0.0, ink::accent(ui));
                }
            }
        });
        self.told = form.told;
        arrows(ui, state, self.head, commands);
    }
}

/// Widgets within an open line: outlines on paper, rows close together.
fn on_paper(ui: &mut Ui) {
    let outline = ui.visuals().weak_text_color().gamma_multiply(0.7);
    let paper = ui.visuals().extreme_bg_color;
    let inactive = &mut ui.visuals_mut().widgets.inactive;
    (inactive.bg_stroke, inactive.bg_fill) = (Stroke::new(1.0, outline), paper);
    ui.spacing_mut().item_spacing.y = 4.0;
    ui.spacing_mut().interact_size.y = 20.0;
}

/// Up and down choose the line above or below, unless they belong to a mark, to the cross that places one, or to a text
/// field. `head` is the line in hand's.
fn arrows(ui: &mut Ui, state: &State, head: Option<Id>, commands: &mut Vec<Command>) {
    let on_the_sheet = head.is_some() && ui.memory(|m| m.focused()) == head;
    if state.mark.is_some() || (state.placing.is_some() && !on_the_sheet) || ui.ctx().text_edit_focused() {
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
}
