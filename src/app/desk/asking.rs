//! Asking for a path: the desktop's own dialog, and a field to type it into where the desktop has none.

use std::path::{Path, PathBuf};

use crate::app::command::{Command, Export, FileCommand};
use crate::app::document::Document;
use crate::photo::EXTENSIONS;

/// What a path is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Asked {
    /// To open a sheet or a photo.
    Open,
    /// To save the sheet there.
    SaveAs,
    /// To take it for the photo that is not at its place.
    Photo,
    /// To write something there.
    Export(Export),
}

/// A path being asked for.
#[derive(Clone, Debug)]
pub struct Asking {
    /// What for.
    pub asked: Asked,
    /// What was typed so far.
    pub typed: String,
    /// Whether its field has had the keyboard.
    pub had_focus: bool,
}

impl Asking {
    /// Asks, with a path proposed.
    pub fn new(asked: Asked, document: Option<&Document>) -> Self {
        let proposed = match asked {
            Asked::Open | Asked::Photo => String::new(),
            Asked::SaveAs => document.map_or_else(String::new, |d| d.path().display().to_string()),
            Asked::Export(export) => document.map_or_else(String::new, |d| proposed(d, export).display().to_string()),
        };
        Self { asked, typed: proposed, had_focus: false }
    }

    /// The command that the typed path amounts to; `None` while nothing is typed.
    pub fn command(&self) -> Option<Command> {
        let typed = self.typed.trim();
        (!typed.is_empty()).then(|| Command::File(self.asked.command(PathBuf::from(typed))))
    }
}

impl Asked {
    /// What the path is for, in words.
    pub fn says(self) -> &'static str {
        match self {
            Self::Open => "Open a sheet or a photo",
            Self::SaveAs => "Save the sheet as",
            Self::Photo => "The photo of this sheet",
            Self::Export(Export::RecordHtml) => "Write the record as a page",
            Self::Export(Export::RecordPdf) => "Write the record as PDF",
            Self::Export(Export::Workbook) => "Write the workbook",
            Self::Export(Export::Stations) => "Write the stations",
            Self::Export(Export::Json) => "Write the findings",
        }
    }

    /// What to do with the path.
    pub fn command(self, path: PathBuf) -> FileCommand {
        match self {
            Self::Open => FileCommand::Open(path),
            Self::SaveAs => FileCommand::SaveAs(path),
            Self::Photo => FileCommand::TakePhoto(path),
            Self::Export(export) => FileCommand::Export(export, path),
        }
    }

    /// The desktop's dialog for it, to be shown on a thread of its own.
    pub fn dialog(self, document: Option<&Document>) -> Dialog {
        let folder = document.map(|d| d.folder().to_owned());
        let name = match self {
            Self::Open | Self::Photo => None,
            Self::SaveAs => document.map(Document::name),
            Self::Export(export) => {
                let path = document.map(|d| proposed(d, export));
                path.and_then(|p| p.file_name().map(|n| n.to_string_lossy().into_owned()))
            }
        };
        Dialog { asked: self, folder, name }
    }
}

/// A dialog, not shown yet.
pub struct Dialog {
    asked: Asked,
    folder: Option<PathBuf>,
    name: Option<String>,
}

impl Dialog {
    /// Shows it and waits; `None` where it was left, or where this desktop has no dialogs.
    pub fn choose(self) -> Option<PathBuf> {
        let mut dialog = rfd::FileDialog::new().set_title(self.asked.says());
        if let Some(folder) = &self.folder {
            dialog = dialog.set_directory(folder);
        }
        if let Some(name) = &self.name {
            dialog = dialog.set_file_name(name);
        }
        match self.asked {
            Asked::Open => {
                let all: Vec<&str> = EXTENSIONS.iter().copied().chain(["toml"]).collect();
                dialog.add_filter("sheets and photos", &all).pick_file()
            }
            Asked::Photo => dialog.add_filter("photos", EXTENSIONS).pick_file(),
            Asked::SaveAs => dialog.add_filter("bench sheet", &["toml"]).save_file(),
            Asked::Export(export) => dialog.add_filter("file", &[ending(export)]).save_file(),
        }
    }
}

fn ending(export: Export) -> &'static str {
    match export {
        Export::RecordHtml => "html",
        Export::RecordPdf => "pdf",
        Export::Workbook => "xlsx",
        Export::Stations => "csv",
        Export::Json => "json",
    }
}

/// Beside the sheet, with its name.
fn proposed(document: &Document, export: Export) -> PathBuf {
    let path: &Path = document.path();
    path.with_extension(ending(export))
}
