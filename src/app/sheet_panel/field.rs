//! A text field of one entry of the sheet: holds what was typed, shows how it was read and what is wrong.

use super::form::{Draft, Form};
use super::ink;
use crate::app::command::Command;
use crate::app::stated::{read_back, stated};
use crate::sheet::Origin;
use eframe::egui::{FocusDirection, Id, Key, Label, Modifiers, RichText, TextEdit, Ui};

/// A field.
pub struct Field<'a> {
    /// The entry.
    pub key: &'a str,
    /// What it is called, also by those who hear the sheet: "orifice diameter".
    pub name: &'a str,
    /// A value as it may be typed, shown while nothing is.
    pub example: &'a str,
    /// How wide.
    pub width: f32,
}

impl<'a> Field<'a> {
    /// A field of a usual width.
    pub const fn new(key: &'a str, name: &'a str, example: &'a str) -> Self {
        Self { key, name, example, width: 178.0 }
    }
}

impl Form<'_> {
    /// A row with a label and a field.
    pub fn field(&mut self, ui: &mut Ui, label: &str, field: &Field) {
        self.row(ui, label, |form, ui| form.bare_field(ui, field));
    }

    /// A field with what it was read as and what is wrong with it.
    pub fn bare_field(&mut self, ui: &mut Ui, field: &Field) {
        self.edit(ui, field);
        self.read_back(ui, field.key);
        self.tell(ui, field.key);
    }

    /// How the entry was read, quietly; nothing where that is what was typed.
    pub fn read_back(&self, ui: &mut Ui, key: &str) {
        let typed = self.state.typed(key);
        if typed.is_empty() {
            return;
        }
        let Some(read) = read_back(self.checked(), key, &typed, self.state.units) else { return };
        // the notice below tells the assumed uncertainty
        let is_told = self.said.iter().any(|s| s.is_about(key) && s.says.contains("no uncertainty is stated"));
        let value = read.split(" ± ").next().unwrap_or(&read);
        if !is_plain(&typed, if is_told { value } else { &read }) {
            ui.add(Label::new(RichText::new(format!("= {read}")).small().color(ink::quiet(ui))).wrap());
        }
    }

    /// The bare text field.
    pub fn edit(&mut self, ui: &mut Ui, field: &Field) {
        let typed = self.state.typed(field.key);
        let mut text = match self.draft.as_ref().filter(|d| d.key == field.key && same(&d.text, &typed)) {
            Some(draft) => draft.text.clone(),
            None => typed,
        };
        let id = id_of(field.key);
        // asked for before the field itself is, which hands the focus on
        if ui.memory(|m| m.has_focus(id)) && ui.input_mut(|i| i.consume_key(Modifiers::NONE, Key::Enter)) {
            ui.memory_mut(|m| m.move_focus(FocusDirection::Next));
        }
        let edit = TextEdit::singleline(&mut text)
            .id(id)
            .hint_text(self.hint(field))
            .desired_width(field.width.min(ui.available_width()))
            // Enter moves on as Tab does
            .return_key(None);
        let response = ui.add(edit).accessible_name(field.name);
        if self.focus.as_deref() == Some(field.key) {
            self.focus = None;
            response.request_focus();
        }
        if response.changed() {
            self.put(field.key, &text);
            *self.draft = Some(Draft { key: field.key.to_owned(), text });
        }
        if response.lost_focus() {
            if self.draft.as_ref().is_some_and(|d| d.key == field.key) {
                *self.draft = None;
            }
            self.ask(Command::Still);
        }
    }

    /// What holds while nothing is typed: the value assumed, else an example.
    fn hint(&self, field: &Field) -> String {
        let assumed = self.checked().and_then(|c| stated(c, field.key)).filter(|s| s.origin == Origin::Assumed);
        match assumed {
            Some(stated) => format!("assumed {}", stated.text(self.state.units)),
            // an example is not to be taken for a value
            None if field.example.starts_with(|c: char| c.is_ascii_digit()) => format!("as {}", field.example),
            None => field.example.to_owned(),
        }
    }
}

/// Who the field of an entry is, for the keyboard.
pub fn id_of(key: &str) -> Id {
    Id::unique("field").with(key)
}

/// Whether a text was typed just as it is read: the same words, the same numbers.
fn is_plain(typed: &str, read: &str) -> bool {
    let (typed, read) = (typed.split_whitespace(), read.split_whitespace());
    let same = |(a, b): (&str, &str)| a == b || a.parse::<f64>().is_ok_and(|a| b.parse() == Ok(a));
    typed.clone().count() == read.clone().count() && typed.zip(read).all(same)
}

/// Whether a draft is what the sheet holds: apart from blanks at its ends, or as the same number.
fn same(draft: &str, typed: &str) -> bool {
    let (a, b) = (draft.trim(), typed.trim());
    a == b || a.parse::<f64>().is_ok_and(|a| b.parse() == Ok(a))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_was_read_otherwise_is_worth_a_word() {
        assert!(is_plain("10.00 mm ± 0.05 mm", "10.000 mm ± 0.050 mm"));
        for (typed, read) in [
            ("4 3/8 in", "111.125 mm"),
            ("10 mm", "10.000 mm ± 0.050 mm, ± assumed"),
            ("10 mm +- 0.05 mm", "10.000 mm ± 0.050 mm"),
            ("1 cm ± 0.1 cm", "10.0 mm ± 1.0 mm"),
        ] {
            assert!(!is_plain(typed, read), "{typed}");
        }
    }

    #[test]
    fn a_draft_holds_while_it_says_the_same() {
        assert!(same("12 mm ", "12 mm") && same("0.50", "0.5"));
        assert!(!same("12", "12 mm") && !same("0.5", ""));
    }
}
