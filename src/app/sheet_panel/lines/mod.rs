//! The open lines, one file each: what can be stated there, or what was found.

mod coefficients;
mod discharge;
mod down;
mod head;
mod orifice;
mod photo;
mod published;
mod record;
mod scale;
mod stream;
mod trajectory;

use super::form::Form;
use super::plain_words;
use crate::app::line::Line;
use eframe::egui::{CollapsingHeader, Label, RichText, Ui};

/// Shows the inside of a line.
pub fn open(ui: &mut Ui, line: Line, form: &mut Form) {
    match line {
        Line::Photo => photo::show(ui, form),
        Line::Down => down::show(ui, form),
        Line::Scale => scale::show(ui, form),
        Line::Orifice => orifice::show(ui, form),
        Line::Stream => stream::show(ui, form),
        Line::Trajectory => trajectory::show(ui, form),
        Line::Head => head::show(ui, form),
        Line::Discharge => discharge::show(ui, form),
        Line::Coefficients => coefficients::show(ui, form),
        Line::Published => published::show(ui, form),
        Line::Record => record::show(ui, form),
    }
    CollapsingHeader::new(RichText::new("In plain words").small()).id_salt(("plain words", line)).show(ui, |ui| {
        for paragraph in plain_words::about(line) {
            ui.add(Label::new(RichText::new(*paragraph).small()).wrap());
        }
    });
}
