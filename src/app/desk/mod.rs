//! Files: opening, saving, writing what leaves the program, keeping what is not saved.
//!
//! Whatever may take long (reading a photo, writing a record, waiting for a dialog) happens on a thread of its own and
//! comes back as a [`Done`]; the window never waits. Faults are told in [`State::said`], decisions are put to the user
//! as an [`Offer`], a line with its answers.

mod asking;
mod choices;
mod export;
mod kept;
mod offers;
mod opening;
mod recent;
mod samples;
mod saving;
mod watch;

pub use asking::{Asked, Asking};
pub use choices::Choices;
pub use kept::Kept;
pub use offers::Offer;
pub use samples::SAMPLES;

use eframe::egui;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, Sender, channel};

use super::command::{Command, FileCommand};
use super::document::Document;
use super::measurer::{Measured, Pictures};
use super::runs::{self, Runs};
use super::state::State;
use crate::cli::files;
use kept::Keeper;
use recent::Recent;
use watch::{Seen, Watcher};

/// The one place of the window that touches files.
pub struct Desk {
    data: Option<PathBuf>,
    done: (Sender<Done>, Receiver<Done>),
    wake: egui::Context,
    recent: Recent,
    choices: Choices,
    keeper: Keeper,
    watcher: Watcher,
    /// The path that is being asked for.
    asking: Option<Asking>,
    /// Sheets whose unsaved text was kept when the program ended without leave.
    kept: Vec<Kept>,
    /// What to decide about the sheet at hand.
    pending: Pending,
    photos_changed: bool,
}

/// What waits for a decision.
#[derive(Default)]
struct Pending {
    /// What to do once it is known what becomes of the unsaved sheet.
    after: Option<After>,
    /// The text that the sheet's file holds now, after others changed it.
    outside: Option<String>,
    /// Where the photo that is not at its place was found.
    photo: Option<PathBuf>,
    /// Whether the photo was looked for.
    photo_sought: bool,
    /// A file that is in the way of saving.
    in_the_way: Option<PathBuf>,
}

/// What may follow an unsaved sheet.
#[derive(Clone, Debug, PartialEq)]
enum After {
    Close,
    Quit,
    Open(FileCommand),
}

/// What a thread brought back.
enum Done {
    Opened(Result<Document, String>),
    Series(Result<Box<Runs>, String>),
    OpenedGuided(Result<Document, String>),
    Chosen(Asked, Option<PathBuf>),
    Written(Result<PathBuf, String>),
    PhotoFound(PathBuf),
    Copied(Result<egui::ColorImage, String>),
}

impl Desk {
    /// The user's folder for program data; `None` where the system has none.
    pub fn data_folder() -> Option<PathBuf> {
        directories::ProjectDirs::from("", "", "Trajet").map(|d| d.data_local_dir().to_owned())
    }

    /// A desk that keeps its own files (recent sheets, unsaved text, samples) in `data`.
    pub fn new(ctx: &egui::Context, data: Option<&Path>) -> Self {
        let waker = ctx.clone();
        Self {
            done: channel(),
            wake: ctx.clone(),
            recent: Recent::read(data),
            choices: Choices::read(data),
            kept: kept::left_over(data),
            keeper: Keeper::start(data),
            watcher: Watcher::start(move || waker.request_repaint()),
            asking: None,
            pending: Pending::default(),
            photos_changed: false,
            data: data.map(Path::to_owned),
        }
    }

    /// What the user chose for all sheets.
    pub fn choices(&self) -> Choices {
        self.choices
    }

    /// Keeps what the user chose.
    pub fn choose(&mut self, choices: Choices) {
        if let (true, Some(data)) = (self.choices != choices, self.data.clone()) {
            std::thread::spawn(move || choices.write(&data));
        }
        self.choices = choices;
    }

    /// Sheets opened or saved last, newest first.
    pub fn recent(&self) -> &[PathBuf] {
        self.recent.all()
    }

    /// Sheets whose unsaved text was kept.
    pub fn kept(&self) -> &[Kept] {
        &self.kept
    }

    /// The path that is being asked for, to be typed.
    pub fn asking_mut(&mut self) -> Option<&mut Asking> {
        self.asking.as_mut()
    }

    /// What the user has to decide.
    pub fn offers(&self, state: &State) -> Vec<Offer> {
        offers::offers(&self.pending, &self.kept, state)
    }

    /// Whether a photo of the sheet changed outside since this was last asked.
    pub fn photos_changed(&mut self) -> bool {
        std::mem::take(&mut self.photos_changed)
    }

    /// Carries out a file command; what goes wrong is told in the state.
    pub fn carry_out(&mut self, command: FileCommand, state: &mut State) {
        let unsaved = state.document.as_ref().is_some_and(|d| !d.is_saved());
        match command {
            FileCommand::AskOpen => self.ask(Asked::Open, state),
            FileCommand::AskSaveAs => self.ask(Asked::SaveAs, state),
            FileCommand::AskPhoto => self.ask(Asked::Photo, state),
            FileCommand::AskExport(export) => self.ask(Asked::Export(export), state),
            FileCommand::StopAsking => self.asking = None,
            FileCommand::Open(_) | FileCommand::OpenBurst(_) | FileCommand::OpenSample(_) | FileCommand::OpenGuided
                if unsaved =>
            {
                self.pending.after = Some(After::Open(command));
            }
            FileCommand::Open(path) => self.open(path, state),
            FileCommand::OpenBurst(paths) => self.open_burst(paths, state),
            FileCommand::OpenSample(n) => self.open_sample(n, state),
            FileCommand::OpenGuided => self.open_guided(state),
            FileCommand::Save => self.save(None, state),
            FileCommand::SaveAs(path) => self.save_as(path, state),
            FileCommand::SaveOver(path) => self.save(Some(path), state),
            FileCommand::TakePhoto(path) => {
                let Some(document) = &state.document else { return };
                let file = opening::relative(&path, document.folder());
                let key = if state.entry("photo.files").is_some() { "photo.files[1]" } else { "photo.file" };
                state.apply(Command::Put { key: key.into(), typed: file });
                self.pending.photo = None;
            }
            FileCommand::Recover(file) => self.recover(&file, state),
            FileCommand::Forget(file) => {
                kept::forget(&file);
                self.kept.retain(|k| k.file != file);
            }
            FileCommand::TakeOutside(theirs) => {
                if let (Some(text), Some(document)) = (self.pending.outside.take(), &mut state.document)
                    && theirs
                {
                    document.reload(&text);
                }
            }
            FileCommand::Export(export, path) => self.export(export, path, state),
            FileCommand::CopyPicture(figure) => self.aside(move || Done::Copied(export::picture(&figure))),
            FileCommand::CopyPhoto => {
                if let Some((measured, pictures)) = whole(state) {
                    self.aside(move || Done::Copied(export::photo(&measured, &pictures)));
                }
            }
            FileCommand::Close if unsaved => self.pending.after = Some(After::Close),
            FileCommand::Close => self.close(state),
            FileCommand::Quit if unsaved => self.pending.after = Some(After::Quit),
            FileCommand::Quit => self.quit(state),
            FileCommand::Stay => (self.pending.after, self.pending.in_the_way) = (None, None),
            FileCommand::SaveThenGoOn => {
                self.save(None, state);
                if state.document.as_ref().is_some_and(Document::is_saved) {
                    self.go_on(state);
                }
            }
            FileCommand::GoOnUnsaved => self.go_on(state),
        }
    }

    /// What came in since the last frame: answers of dialogs, dropped files, changes of files outside.
    pub fn attend(&mut self, ctx: &egui::Context, state: &mut State) -> Vec<Command> {
        let mut commands = Vec::new();
        while let Ok(done) = self.done.1.try_recv() {
            self.take_up(done, state, &mut commands);
        }
        for seen in self.watcher.seen() {
            self.notice_change(seen, state);
        }
        self.seek_photo(state);
        self.keep(state);
        let dropped: Vec<_> = ctx.input(|i| i.raw.dropped_files.iter().map(|f| f.path().to_owned()).collect());
        commands.extend(opening::dropped(dropped).map(Command::File));
        if ctx.input(|i| i.viewport().close_requested()) && state.document.as_ref().is_some_and(|d| !d.is_saved()) {
            if self.pending.after == Some(After::Quit) {
                // asked twice: what is not saved stays kept, and is offered at the next start
            } else {
                ctx.send_viewport_cmd(egui::ViewportCommand::CancelClose);
                self.pending.after = Some(After::Quit);
            }
        }
        commands
    }

    fn take_up(&mut self, done: Done, state: &mut State, commands: &mut Vec<Command>) {
        match done {
            Done::Opened(Ok(document)) => self.show(document, state),
            Done::OpenedGuided(Ok(document)) => {
                self.show(document, state);
                state.guided = true;
                state.apply(Command::TakeLine(super::line::Line::Down));
            }
            Done::Series(Ok(runs)) => {
                self.close(state);
                self.recent.add(&runs.path);
                state.runs = Some(Arc::from(runs));
            }
            Done::Series(Err(told)) | Done::Opened(Err(told)) | Done::OpenedGuided(Err(told)) => {
                state.said = Some((told, true))
            }
            Done::Chosen(asked, Some(path)) => {
                self.asking = None;
                commands.push(Command::File(match asked {
                    // the dialog has asked already
                    Asked::SaveAs => FileCommand::SaveOver(path),
                    asked => asked.command(path),
                }));
            }
            // without a dialog of the desktop nothing is chosen: the path can still be typed
            Done::Chosen(..) => {}
            Done::Written(Ok(path)) => state.said = Some((format!("written: {}", path.display()), false)),
            Done::Written(Err(told)) => state.said = Some((told, true)),
            Done::PhotoFound(path) => self.pending.photo = Some(path),
            Done::Copied(Ok(picture)) => {
                self.wake.copy_image(picture);
                state.said = Some(("the picture is on the clipboard".into(), false));
            }
            Done::Copied(Err(told)) => state.said = Some((told, true)),
        }
    }

    /// Has `work` done on a thread.
    fn aside(&self, work: impl FnOnce() -> Done + Send + 'static) {
        let (done, wake) = (self.done.0.clone(), self.wake.clone());
        std::thread::spawn(move || {
            // a window that is gone needs no answer
            let _ = done.send(work());
            wake.request_repaint();
        });
    }

    fn ask(&mut self, asked: Asked, state: &State) {
        self.asking = Some(Asking::new(asked, state.document.as_ref()));
        let dialog = asked.dialog(state.document.as_ref());
        self.aside(move || Done::Chosen(asked, dialog.choose()));
    }

    fn open(&mut self, path: PathBuf, state: &mut State) {
        state.said = Some((format!("opening {}", path.display()), false));
        self.asking = None;
        self.aside(move || {
            if opening::is_series(&path) {
                Done::Series(runs::measured(&path).map(Box::new))
            } else {
                Done::Opened(opening::open(&path))
            }
        });
    }

    fn open_burst(&mut self, paths: Vec<PathBuf>, state: &mut State) {
        state.said = Some((format!("opening {} photos as a burst of one steady jet", paths.len()), false));
        self.aside(move || {
            Done::Opened(
                paths.split_first().map_or(Err(String::new()), |(first, others)| opening::begin(first, others)),
            )
        });
    }

    fn open_sample(&mut self, n: usize, state: &mut State) {
        let Some(data) = self.data.clone() else {
            state.said = Some(("there is no folder for program data to put the sample in".into(), true));
            return;
        };
        self.aside(move || Done::Opened(samples::lay_out(n, &data)));
    }

    fn open_guided(&mut self, state: &mut State) {
        let Some(data) = self.data.clone() else {
            state.said = Some(("there is no folder for program data to put the sample in".into(), true));
            return;
        };
        self.aside(move || Done::OpenedGuided(samples::lay_out_photo(&data)));
    }

    fn show(&mut self, document: Document, state: &mut State) {
        self.pending = Pending::default();
        if document.saved().is_some() {
            self.recent.add(document.path());
        }
        state.show(document);
        self.watch(state);
    }

    /// Watches the sheet's file and its photos.
    fn watch(&mut self, state: &State) {
        let Some(document) = &state.document else { return self.watcher.watch(None, Vec::new()) };
        let sheet = &document.opened().sheet;
        let photos = sheet.photos.iter().chain(&sheet.dry).map(|file| document.folder().join(file)).collect();
        let file = document.saved().map(|_| document.path().to_owned());
        self.watcher.watch(file, photos);
    }

    fn notice_change(&mut self, seen: Seen, state: &mut State) {
        match seen {
            Seen::Photos => self.photos_changed = true,
            Seen::Sheet(text) => {
                let Some(document) = &mut state.document else { return };
                if document.saved() == Some(text.as_str()) {
                    self.pending.outside = None;
                } else if document.is_saved() {
                    document.reload(&text);
                    state.said =
                        Some(("the sheet was changed outside and read again; undo brings yours back".into(), false));
                } else {
                    self.pending.outside = Some(text);
                }
            }
        }
    }

    /// Looks for a photo that is not where the sheet says, once.
    fn seek_photo(&mut self, state: &State) {
        if state.live.no_pictures.is_empty() {
            if state.live.pictures.is_some() {
                self.pending.photo = None;
                self.pending.photo_sought = false;
            }
            return;
        }
        if std::mem::replace(&mut self.pending.photo_sought, true) {
            return;
        }
        let Some(document) = &state.document else { return };
        let missing = document.opened().sheet.photos.iter().find(|file| !document.folder().join(file).exists());
        let Some(name) = missing.and_then(|file| Path::new(file).file_name().map(ToOwned::to_owned)) else { return };
        let folder = document.folder().to_owned();
        let (done, wake) = (self.done.0.clone(), self.wake.clone());
        std::thread::spawn(move || {
            if let Some(path) = opening::nearby(&folder, &name) {
                let _ = done.send(Done::PhotoFound(path));
                wake.request_repaint();
            }
        });
    }

    fn export(&mut self, export: super::command::Export, path: PathBuf, state: &mut State) {
        self.asking = None;
        if files_of_the_sheet(state).iter().any(|own| files::same(own, &path)) {
            state.said =
                Some((format!("this is the sheet or its photo; choose another file: {}", path.display()), true));
            return;
        }
        let Some((measured, pictures)) = whole(state) else { return };
        state.said = Some((format!("writing {}", path.display()), false));
        self.aside(move || Done::Written(export::write(export, &path, &measured, &pictures).map(|()| path)));
    }

    fn go_on(&mut self, state: &mut State) {
        let Some(after) = self.pending.after.take() else { return };
        if state.document.as_ref().is_some_and(|d| !d.is_saved()) {
            // the user let it go
            state.document = None;
            self.keeper.clear();
        }
        match after {
            After::Close => self.close(state),
            After::Quit => self.quit(state),
            After::Open(command) => self.carry_out(command, state),
        }
    }

    fn close(&mut self, state: &mut State) {
        // from a sheet of a series back to the series, from there to the start page
        let runs = state.document.is_some().then(|| state.runs.take()).flatten();
        *state = State { units: state.units, runs, ..State::default() };
        self.pending = Pending::default();
        self.keeper.clear();
        self.watch(state);
    }

    fn quit(&mut self, state: &mut State) {
        self.close(state);
        self.keeper.settle();
        self.wake.send_viewport_cmd(egui::ViewportCommand::Close);
    }
}

/// What was found of the sheet as it is now; where there is nothing, that is told.
fn whole(state: &mut State) -> Option<(Arc<Measured>, Arc<Pictures>)> {
    let there = state.live.measured.clone().zip(state.live.pictures.clone());
    let told = match there {
        None => "there is nothing measured to write yet",
        Some(_) if !state.is_current() => "the sheet as it is now is not measured: mend it first",
        whole => return whole,
    };
    state.said = Some((told.into(), true));
    None
}

/// The sheet and its photos: nothing may be written over them.
fn files_of_the_sheet(state: &State) -> Vec<PathBuf> {
    let Some(document) = &state.document else { return Vec::new() };
    let sheet = &document.opened().sheet;
    let photos = sheet.photos.iter().chain(&sheet.dry).map(|file| document.folder().join(file));
    photos.chain([document.path().to_owned()]).collect()
}
