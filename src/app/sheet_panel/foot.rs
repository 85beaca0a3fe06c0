//! The foot of the sheet: what is to be told about the line in hand, and the line that needs something next.

use super::form::Form;
use super::said::{Said, Weight, said};
use crate::app::line::Line;
use crate::app::state::State;
use eframe::egui::{ScrollArea, Ui};
use std::collections::BTreeSet;

/// Shows it; `told` is what already stands beside its entry.
pub fn show(ui: &mut Ui, state: &State, told: &BTreeSet<usize>, commands: &mut Vec<crate::app::command::Command>) {
    let mut draft = None;
    let mut form = Form::new(state, commands, &mut draft);
    let rest: Vec<Said> =
        form.said.iter().enumerate().filter(|(i, _)| !told.contains(i)).map(|(_, s)| s.clone()).collect();
    let here: Vec<&Said> = rest.iter().filter(|s| s.line() == state.line).collect();
    ui.add_space(3.0);
    if !here.is_empty() {
        ScrollArea::vertical().id_salt("told").max_height(92.0).auto_shrink([false, true]).show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 2.0;
            here.iter().for_each(|said| form.tell_one(ui, said));
        });
    }
    match next(state) {
        Some((line, says)) => {
            let text = format!("next: {} {} \u{2013} {says}", line.number(), line.name());
            if line != state.line {
                if ui.button(text).clicked() {
                    form.go_to(line);
                }
            } else {
                form.remark(ui, &format!("here: {says}"));
            }
        }
        None if state.live.busy => form.remark(ui, "being measured"),
        None => form.remark(ui, "the sheet is whole"),
    }
    ui.add_space(3.0);
}

/// The next line that needs something, and what.
pub fn next(state: &State) -> Option<(Line, String)> {
    let line = state.next_unfinished().or_else(|| state.live.refused.first().map(|n| Line::of_key(&n.about)))?;
    let all = said(state);
    let first = all.iter().filter(|s| s.line() == line).min_by_key(|s| s.weight != Weight::Fault);
    Some((line, first.map_or_else(|| "something is missing".to_owned(), |s| s.says.clone())))
}
