//! What an open line is made of: fields, choices, marks, buttons. A form shows the state and pushes commands.

use super::ink;
use super::said::{Said, Weight, cost_of_key, plain_hint, said};
use super::summary::{Standing, cost_text};
use crate::app::command::Command;
use crate::app::line::Line;
use crate::app::marks::MarkKind;
use crate::app::state::State;
use crate::measure::Findings;
use crate::quantity::show_plain;
use crate::sheet::Checked;
use crate::sheet::entry::Entry;
use eframe::egui::{Align, Button, Label, Layout, RichText, Sense, Ui, vec2};
use std::collections::BTreeSet;

/// Width of the column of labels.
pub const LABELS: f32 = 108.0;

/// What is being typed, where it differs from what the sheet holds (blanks at the ends, `0.50` for 0.5).
#[derive(Clone, Debug, PartialEq)]
pub struct Draft {
    /// The entry.
    pub key: String,
    /// What stands in its field.
    pub text: String,
}

/// The inside of an open line.
pub struct Form<'a> {
    /// What is shown.
    pub state: &'a State,
    /// What is asked for.
    pub commands: &'a mut Vec<Command>,
    /// What is being typed.
    pub draft: &'a mut Option<Draft>,
    /// What there is to tell.
    pub said: Vec<Said>,
    /// What of it was told beside its entry.
    pub told: BTreeSet<usize>,
    /// The field that the keyboard goes to now.
    pub focus: Option<String>,
}

impl<'a> Form<'a> {
    /// An empty form.
    pub fn new(state: &'a State, commands: &'a mut Vec<Command>, draft: &'a mut Option<Draft>) -> Self {
        Self { state, commands, draft, said: said(state), told: BTreeSet::new(), focus: None }
    }

    /// Asks for something.
    pub fn ask(&mut self, command: Command) {
        self.commands.push(command);
    }

    /// Takes a line in hand, and lets the keyboard go to what it lacks.
    pub fn go_to(&mut self, line: Line) {
        self.commands.extend([Command::TakeLine(line), Command::Await]);
    }

    /// States an entry.
    pub fn put(&mut self, key: &str, typed: &str) {
        self.ask(put(key, typed));
    }

    /// What the sheet states with every default, where it has no fault.
    pub fn checked(&self) -> Option<&'a Checked> {
        self.state.document.as_ref()?.opened().checked.as_ref()
    }

    /// The last findings.
    pub fn findings(&self) -> Option<&'a Findings> {
        self.state.live.measured.as_ref().map(|m| &m.findings)
    }

    /// How many entries a list of the sheet has.
    pub fn count(&self, key: &str) -> usize {
        match self.state.entry(key) {
            Some(Entry::Group(n)) => n,
            Some(_) => 1,
            None => 0,
        }
    }

    /// A row: a label, and what belongs to it.
    pub fn row<R>(&mut self, ui: &mut Ui, label: &str, inside: impl FnOnce(&mut Self, &mut Ui) -> R) -> R {
        ui.horizontal_top(|ui| {
            ui.allocate_ui_with_layout(vec2(LABELS, 22.0), Layout::left_to_right(Align::Center), |ui| {
                ui.set_min_width(LABELS);
                ui.add(Label::new(RichText::new(label).color(ink::quiet(ui))).wrap());
            });
            ui.vertical(|ui| {
                ui.set_width(ui.available_width());
                inside(self, ui)
            })
            .inner
        })
        .inner
    }

    /// What is to be told about an entry, right below it.
    pub fn tell(&mut self, ui: &mut Ui, key: &str) {
        for i in 0..self.said.len() {
            if self.said[i].is_about(key) && self.told.insert(i) && !self.is_being_placed(key) {
                let said = self.said[i].clone();
                self.tell_one(ui, &said);
            }
        }
    }

    /// Whether points of this list are being clicked: that there are too few of them needs no telling then.
    fn is_being_placed(&self, key: &str) -> bool {
        let is_begun = matches!(self.state.entry(key), Some(Entry::Group(1..)));
        is_begun && self.state.placing.is_some_and(|kind| MarkKind::of_key(key) == Some(kind))
    }

    /// One thing told, with its hint and what it costs.
    pub fn tell_one(&self, ui: &mut Ui, said: &Said) {
        let (standing, colour) = match said.weight {
            Weight::Fault => (Standing::Missing, ink::fault(ui)),
            Weight::Notice => (Standing::Doubtful, ink::doubt(ui)),
        };
        ui.horizontal_top(|ui| {
            let (rect, _) = ui.allocate_exact_size(vec2(10.0, 14.0), Sense::hover());
            ink::draw_standing(ui.painter(), rect.center(), standing, colour);
            ui.add(Label::new(RichText::new(&said.says).small().color(colour)).wrap());
        });
        let cost = self.findings().filter(|_| self.state.is_current()).and_then(|f| cost_of_key(f, &said.about));
        let cost = cost.filter(|_| said.weight == Weight::Notice).map(|c| format!("costs {}", cost_text(c)));
        // the choices stand right there
        let is_choice = |key: &str| matches!(key, "orifice.edge" | "stream.tone");
        let hint = said.hint.as_deref().filter(|_| !is_choice(&said.about)).and_then(plain_hint);
        let below = [cost, hint].into_iter().flatten().collect::<Vec<_>>().join("; ");
        if !below.is_empty() {
            ui.add(Label::new(RichText::new(below).small().color(ink::quiet(ui))).wrap());
        }
    }

    /// A quiet remark.
    pub fn remark(&self, ui: &mut Ui, text: &str) {
        ui.add(Label::new(RichText::new(text).small().color(ink::quiet(ui))).wrap());
    }

    /// One of several words; `none` tells what holds while none is chosen.
    pub fn choice(&mut self, ui: &mut Ui, label: &str, key: &str, words: &[&str], none: &str) {
        let now = self.state.typed(key);
        self.row(ui, label, |form, ui| {
            ui.horizontal_wrapped(|ui| {
                for word in words {
                    if ui.radio(now == *word, *word).clicked() && now != *word {
                        form.put(key, word);
                        form.ask(Command::Still);
                    }
                }
            });
            let is_told = form.said.iter().any(|s| s.is_about(key));
            if now.is_empty() && !is_told {
                form.remark(ui, none);
            }
            form.tell(ui, key);
        });
    }

    /// A button that has the next click on the photo place a mark.
    pub fn place(&mut self, ui: &mut Ui, kind: MarkKind, text: &str) {
        let placing = self.state.placing == Some(kind);
        let said = if placing { self.state.prompt().unwrap_or_default() } else { text.to_owned() };
        let button = Button::new(&said).selected(placing).wrap();
        if ui.add(button).accessible_name(format!("{said} ({})", kind.name())).clicked() {
            self.ask(Command::Place((!placing).then_some(kind)));
        }
    }

    /// The marks of a kind, each to be taken in hand or away, and a button for the next.
    pub fn marks(&mut self, ui: &mut Ui, kind: MarkKind, add: &str) {
        let state = self.state;
        let marks: Vec<_> = state.marks().iter().filter(|m| m.kind == kind).collect();
        ui.horizontal_wrapped(|ui| {
            for (i, mark) in marks.iter().enumerate() {
                let name = if kind.whole() == Some(1) { kind.name() } else { format!("{} {}", kind.name(), i + 1) };
                self.mark(ui, &mark.key, &name);
            }
            if kind.whole().is_none_or(|n| marks.len() < n) {
                self.place(ui, kind, add);
            }
        });
    }

    /// A mark with its place: a click takes it in hand.
    pub fn mark(&mut self, ui: &mut Ui, key: &str, name: &str) {
        let Some(Entry::Point(at)) = self.state.entry(key) else { return };
        let in_hand = self.state.mark.as_deref() == Some(key);
        let place = format!("{}, {} px", show_plain(at.x, ""), show_plain(at.y, ""));
        let button = Button::selectable(in_hand, &place).min_size(vec2(112.0, 0.0));
        if ui.add(button).accessible_name(format!("{name} at {place}")).clicked() {
            self.ask(Command::TakeMark(Some(key.to_owned())));
        }
    }

    /// A button that takes an entry away.
    pub fn remove(&mut self, ui: &mut Ui, key: &str, name: &str) {
        if ui.small_button("remove").accessible_name(format!("remove {name}")).clicked() {
            self.ask(Command::Remove(key.to_owned()));
        }
    }
}

/// A command that states an entry.
pub fn put(key: &str, typed: &str) -> Command {
    Command::Put { key: key.to_owned(), typed: typed.to_owned() }
}
