//! The window: asks the views what to show, carries out what they ask for, keeps the measurer busy.

#[cfg(test)]
mod filed;
#[cfg(test)]
mod walked;

use eframe::egui;
use std::path::{Path, PathBuf};

use super::command::{Command, FileCommand};
use super::desk::{Choices, Desk};
use super::measurer::Request;
use super::photo_table::PhotoTable;
use super::sheet_panel::SheetPanel;
use super::state::State;
use super::strip::Strip;
use super::worker::Worker;
use super::{guide, help, keys, look, menu, runs, start};

/// The window with all that it holds.
pub struct Window {
    state: State,
    desk: Desk,
    worker: Worker,
    /// The revision that the measurer was last asked for.
    asked: u64,
    photo_table: PhotoTable,
    sheet_panel: SheetPanel,
    strip: Strip,
}

impl Window {
    /// A window, with a sheet or a photo to open. Its own files (recent sheets, unsaved text, samples) are kept in
    /// `data`, see [`Desk::data_folder`].
    pub fn new(ctx: &egui::Context, open: Option<PathBuf>, data: Option<&Path>) -> Self {
        look::apply(ctx);
        let waker = ctx.clone();
        let mut window = Self {
            state: State::default(),
            desk: Desk::new(ctx, data),
            worker: Worker::start(move || waker.request_repaint()),
            asked: 0,
            photo_table: PhotoTable::default(),
            sheet_panel: SheetPanel::default(),
            strip: Strip::default(),
        };
        let choices = window.desk.choices();
        window.state.units = choices.units;
        ctx.set_theme(choices.theme);
        if let Some(path) = open {
            window.carry_out(Command::File(FileCommand::Open(path)));
        }
        window
    }

    fn carry_out(&mut self, command: Command) {
        match command {
            Command::File(command) => self.desk.carry_out(command, &mut self.state),
            command => self.state.apply(command),
        }
    }

    /// Takes up answers, and asks for the sheet as it is now.
    fn measure(&mut self) {
        for answer in self.worker.heard() {
            self.state.hear(answer);
        }
        let Some(document) = &self.state.document else { return };
        if document.revision() != self.asked || self.desk.photos_changed() {
            self.asked = document.revision();
            self.state.live.busy = true;
            self.worker.ask(Request {
                revision: document.revision(),
                version: document.now().clone(),
                name: document.name(),
                folder: document.folder().to_owned(),
            });
        }
    }
}

impl eframe::App for Window {
    fn logic(&mut self, ctx: &egui::Context, _frame: &mut eframe::Frame) {
        self.attend(ctx);
    }

    fn ui(&mut self, ui: &mut egui::Ui, _frame: &mut eframe::Frame) {
        self.show(ui);
    }
}

impl Window {
    /// Whether the sheet as it is now is measured to the end.
    pub fn is_settled(&self) -> bool {
        self.state.is_current() && !self.state.live.busy && self.state.live.evidence.is_some()
    }

    /// Takes up what came in since the last frame.
    pub fn attend(&mut self, ctx: &egui::Context) {
        for command in self.desk.attend(ctx, &mut self.state) {
            self.carry_out(command);
        }
        self.measure();
    }

    /// Shows all of it.
    pub fn show(&mut self, ui: &mut egui::Ui) {
        let mut commands = Vec::new();
        keys::read(ui.ctx(), &self.state, &mut commands);
        if self.state.document.is_some() {
            keys::into_the_line(ui.ctx(), self.sheet_panel.head, self.photo_table.id);
        }
        egui::Panel::top("menu").show(ui, |ui| {
            menu::show(ui, &self.state, &mut self.desk, &mut commands);
            guide::show(ui, &self.state, &mut commands);
        });
        help::show(ui, &self.state, &mut commands);
        if self.state.document.is_none() {
            egui::CentralPanel::default().show(ui, |ui| match &self.state.runs {
                Some(runs) => runs::show_page(ui, runs, &mut commands),
                None => start::show(ui, &self.desk, &mut commands),
            });
        } else {
            egui::Panel::right("sheet")
                .default_size(430.0)
                .size_range(320.0..=720.0)
                .show(ui, |ui| self.sheet_panel.show(ui, &self.state, &mut commands));
            // until there is something to draw, the photo has the room
            if self.state.live.measured.is_some() {
                egui::Panel::bottom("strip").default_size(210.0).size_range(90.0..=420.0).show(ui, |ui| {
                    // as high as it was drawn, not as what is in it just now
                    ui.set_min_height(ui.available_height());
                    self.strip.show(ui, &self.state, &mut commands);
                });
            }
            egui::CentralPanel::no_frame().show(ui, |ui| self.photo_table.show(ui, &self.state, &mut commands));
        }
        for command in commands {
            self.carry_out(command);
        }
        let theme = ui.ctx().options(|o| o.theme_preference);
        self.desk.choose(Choices { units: self.state.units, theme });
    }
}
