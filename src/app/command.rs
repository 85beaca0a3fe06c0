//! What the user can ask for. Views only ever return commands; [`super::state::State::apply`] and, for files,
//! [`super::window::Window`] carry them out.

use std::path::PathBuf;

use super::line::Line;
use super::marks::MarkKind;
use crate::point::PixelPoint;
use crate::report::figure::Figure;

/// Something to be done.
#[derive(Clone, Debug, PartialEq)]
pub enum Command {
    /// Take a line of the sheet in hand.
    TakeLine(Line),
    /// Take a mark in hand, by its key; `None` lays it down.
    TakeMark(Option<String>),
    /// Have the next click on the photo place a mark of this kind; `None` stops placing.
    Place(Option<MarkKind>),
    /// A click on the photo where a mark of the kind in hand goes.
    PlaceAt(PixelPoint),
    /// Let the keyboard go to the field that the line in hand lacks next, if any.
    Await,
    /// Move a mark. Moves of the same mark in a row are one step of undo until [`Command::Still`].
    Move {
        /// The mark's key.
        key: String,
        /// Where it goes.
        to: PixelPoint,
    },
    /// State an entry of the sheet as typed; an empty text takes it away.
    Put {
        /// Its key.
        key: String,
        /// What was typed.
        typed: String,
    },
    /// State several points at once, as one step: the key of the list, and its points.
    PutPoints {
        /// The key of the list.
        key: String,
        /// The points.
        points: Vec<PixelPoint>,
    },
    /// Take away an entry with all that it holds: a mark, a ruler, a filling.
    Remove(String),
    /// State the scale card that was found in the photo.
    UseCard,
    /// Draw a station placed by hand to the middle of the stream beside it.
    Attract(String),
    /// Several commands as one step.
    Together(Vec<Command>),
    /// The edit at hand is over.
    Still,
    /// One step back.
    Undo,
    /// One step forward again.
    Redo,
    /// Show or hide something on the photo.
    Show(Layer, bool),
    /// Units in which results are shown.
    Units(Units),
    /// Show or hide the page of keys and cautions.
    ShowHelp(bool),
    /// Put away what was said.
    PutAway,
    /// End the guide.
    EndGuide,
    /// A file command.
    File(FileCommand),
}

/// A command that reads or writes files.
#[derive(Clone, Debug, PartialEq)]
pub enum FileCommand {
    /// Ask for a sheet or a photo, and open it.
    AskOpen,
    /// Open a sheet, or begin one from a photo.
    Open(PathBuf),
    /// Begin a sheet from several photos of one steady jet.
    OpenBurst(Vec<PathBuf>),
    /// Open one of the samples.
    OpenSample(usize),
    /// Begin a sheet for a sample's photo, with a guide along the marks.
    OpenGuided,
    /// Save where the sheet is; ask where, if it is nowhere yet.
    Save,
    /// Ask where to save.
    AskSaveAs,
    /// Save there; asks first where another file is.
    SaveAs(PathBuf),
    /// Save there, over what is there.
    SaveOver(PathBuf),
    /// Ask for the photo that the sheet names and that is not there.
    AskPhoto,
    /// Take this photo for the one that the sheet names.
    TakePhoto(PathBuf),
    /// Take up what was kept of a sheet that was never saved.
    Recover(PathBuf),
    /// Forget what was kept.
    Forget(PathBuf),
    /// Write the record (HTML or PDF by the name's end), a workbook, a table of stations, or a figure.
    Export(Export, PathBuf),
    /// Ask where to write it.
    AskExport(Export),
    /// Draw a figure, and give it to the clipboard as a picture.
    CopyPicture(Box<Figure>),
    /// The same with the photo and what lies on it.
    CopyPhoto,
    /// The path that is asked for is not needed after all.
    StopAsking,
    /// Whether the text that others wrote to the sheet's file holds, or the one at work.
    TakeOutside(bool),
    /// Save, then do what waits for it.
    SaveThenGoOn,
    /// Do what waits although the sheet is not saved.
    GoOnUnsaved,
    /// Let go what waits for a decision on the unsaved sheet.
    Stay,
    /// Back to the start page.
    Close,
    /// End the program; asks first where something is not saved.
    Quit,
}

/// What can be written from the findings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Export {
    /// The record as HTML.
    RecordHtml,
    /// The record as PDF.
    RecordPdf,
    /// The workbook.
    Workbook,
    /// Stations as CSV.
    Stations,
    /// Findings as JSON.
    Json,
}

/// What can be shown on the photo.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Layer {
    /// All marks.
    Marks,
    /// The stream's stations with their uncertainty.
    Stations,
    /// The stream's two edges.
    Edges,
    /// The fitted trajectory.
    Fitted,
    /// The path of the ideal velocity, and the fitted one beyond the stations.
    Predicted,
    /// What the threshold sees.
    Evidence,
}

/// Units in which results are shown; the sheet keeps what was typed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Units {
    /// Metres, litres, degrees Celsius.
    #[default]
    Si,
    /// Feet, inches, US gallons, degrees Fahrenheit.
    UsCustomary,
}
