//! The series: several runs of one orifice in one TOML file, shared settings stated once.
//!
//! ```toml
//! format = 1
//! title = "Plate C over its range of heads"
//! sheets = ["c-run1.toml", "c-run2.toml"]     # runs that have a sheet of their own
//!
//! [shared]                                    # sections of a sheet, for every run that does not state them itself
//! orifice = { diameter = "10.00 mm ± 0.05 mm", edge = "sharp" }
//! water = { temperature = "18.5 degC" }
//!
//! [[run]]                                     # a run told by its differences, here or on top of a sheet
//! name = "high head"
//! sheet = "c-run3.toml"                       # optional
//! head = { reading = "750 mm ± 0.5 mm" }
//! flow = { timed = [{ volume = "10 L", time = "54.3 s" }] }
//! ```
//!
//! # What a run is made of
//! What `[[run]]` states goes before what its sheet states, and that before `[shared]`, key by key. Keys that say one
//! thing in different ways count as one: a run's `head.surface` sets aside a shared `head.reading`, its `flow.timed` a
//! shared `flow.discharge`, its `site.gravity` a shared latitude. `[scale]` and `[plane]` are taken or replaced as a whole, for
//! marks of two photos make no ruler. Photos are named relative to the file that names them.
//!
//! # How to use it
//! [`read`] takes the series' text; the caller reads the sheets that [`Series::runs`] names and gives each text to
//! [`Series::open_run`]. Faults are told by file ([`Told`]). Nothing here opens a file.

mod merge;

use super::fault::{Fault, place};
use super::file::tree::{self, Holds, Node, Table};
use super::file::value::Reader;
use super::file::{self};
use super::what::OF_SERIES;
use super::{Opened, finish};
use crate::notice::Notice;
use std::collections::BTreeMap;
use std::path::{Component, Path, PathBuf};

/// Most runs of one series: their covariance is dense, so work grows with the cube of their number.
pub const MOST_RUNS: usize = 1000;

/// Keys of a series itself.
const KEYS: [&str; 5] = ["format", "title", "sheets", "shared", "run"];
/// Keys of `[[run]]` that no sheet has.
const RUN_KEYS: [&str; 2] = ["name", "sheet"];

/// A series.
#[derive(Clone, Debug)]
pub struct Series {
    /// Its title, or the empty text.
    pub title: String,
    /// Its runs: those of `sheets` first, then each `[[run]]`.
    pub runs: Vec<Run>,
    text: String,
    shared: Option<Node>,
}

/// One run as the series lists it.
#[derive(Clone, Debug)]
pub struct Run {
    /// What it is called: `name`, else the sheet's file name without its ending, else `run 3`.
    pub name: String,
    /// Its sheet, relative to the series.
    pub sheet: Option<String>,
    /// What the series itself states of it.
    own: Option<Node>,
    /// Where it is listed.
    span: std::ops::Range<usize>,
    /// Whether a fault was told of how it is listed.
    pub faulty: bool,
}

/// A series' text as read.
#[derive(Clone, Debug)]
pub struct Read {
    /// The series, also with a sheet listed wrongly ([`Run::faulty`]), so that the others are opened and all faults told at
    /// once; `None` where the text is faulty otherwise. Sound exactly when there is no fault.
    pub series: Option<Series>,
    /// Every fault of the text, in its order.
    pub faults: Vec<Fault>,
    /// Unknown keys.
    pub notices: Vec<Notice>,
}

/// A fault with the file it is in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Told {
    /// Whether it is in the series' text; else in the run's sheet.
    pub in_series: bool,
    /// The fault, with lines counted in that file.
    pub fault: Fault,
}

/// A run opened.
#[derive(Clone, Debug)]
pub struct OpenedRun {
    /// As [`super::open`] gives it; its faults are in `faults`, with their files.
    pub opened: Opened,
    /// Every fault.
    pub faults: Vec<Told>,
    /// Whether the series' file names the photos (which are then relative to it, not to the sheet).
    pub photos_by_series: bool,
    /// The same of the dry photo.
    pub dry_by_series: bool,
}

/// Reads the text of a series; `file` is its own file name, to see that it does not list itself.
pub fn read(text: &str, file: &str) -> Read {
    let root = match tree::parse(text) {
        Ok(root) => root,
        Err(fault) => return Read { series: None, faults: vec![*fault], notices: Vec::new() },
    };
    let mut reader = Reader::new(text);
    let mut notices = Vec::new();
    let Some(top) = root.as_table() else { return Read { series: None, faults: Vec::new(), notices } };
    tell_unknown(text, top, &mut notices);
    match top.get("format").map(|n| (n, reader.number(n))) {
        None => notices
            .push(Notice::new("format", "no format is stated, read as format 1").hint("write format = 1 at the top")),
        Some((node, Some(format))) if format != 1.0 => {
            let says = format!("format {format} is not known here");
            reader.fault(node, says, "this version reads format = 1".to_owned());
        }
        Some(_) => {}
    }
    let title = top.get("title").and_then(|n| reader.text(n)).unwrap_or_default();
    let shared = top.get("shared").and_then(|n| section(&mut reader, n, "shared").map(|()| n.clone()));
    let mut runs = Vec::new();
    if let Some(node) = top.get("sheets") {
        let sheets = reader.list(node, "[\"c-run1.toml\", \"c-run2.toml\"]", |reader, node| {
            let sheet = reader.text(node)?;
            Some(Run { name: String::new(), sheet: Some(sheet), own: None, span: node.span.clone(), faulty: false })
        });
        runs.extend(sheets.unwrap_or_default());
    }
    for node in top.get("run").map(as_list).unwrap_or_default() {
        runs.extend(run(&mut reader, node));
    }
    let nowhere = |says: String, hint: &str| Fault {
        line: 0,
        column: 0,
        about: "run".to_owned(),
        found: String::new(),
        says,
        hint: Some(hint.to_owned()),
    };
    let mut faults = reader.faults;
    if runs.is_empty() && faults.is_empty() {
        let hint = "list sheets = [\"c-run1.toml\", ...], or write [[run]] for each";
        faults.push(nowhere("the series has no runs".to_owned(), hint));
    }
    if runs.len() > MOST_RUNS {
        let says = format!("{} runs, and a series takes at most {MOST_RUNS}", runs.len());
        faults.push(nowhere(says, "split it into several series"));
        runs.clear();
    }
    let readable = faults.is_empty();
    listed_well(text, file, &mut runs, &mut faults);
    name_runs(&mut runs);
    faults.sort_by_key(|fault| (fault.line == 0, fault.line, fault.column));
    let series = readable.then(|| Series { title, runs, text: text.to_owned(), shared });
    Read { series, faults, notices }
}

fn as_list(node: &Node) -> &[Node] {
    match &node.holds {
        Holds::List(items) => items,
        _ => std::slice::from_ref(node),
    }
}

fn section(reader: &mut Reader<'_>, node: &Node, name: &str) -> Option<()> {
    if node.is_table() {
        return Some(());
    }
    let says = format!("{} where a section belongs", node.kind());
    reader.fault(node, says, format!("write [{name}] and the sections of a sheet below"));
    None
}

fn run(reader: &mut Reader<'_>, node: &Node) -> Option<Run> {
    section(reader, node, "[run]")?;
    let table = node.as_table()?;
    let name = table.get("name").map(|n| reader.text(n));
    let sheet = table.get("sheet").map(|n| (n, reader.text(n)));
    let span = sheet.as_ref().map_or(node.span.clone(), |(n, _)| n.span.clone());
    if matches!(name, Some(None)) || matches!(sheet, Some((_, None))) {
        return None;
    }
    let sheet = sheet.and_then(|(_, sheet)| sheet);
    Some(Run { name: name.flatten().unwrap_or_default(), sheet, own: Some(node.clone()), span, faulty: false })
}

/// A path without `.` and `a/..`, as text tells it: links are the caller's to see through.
fn plain(path: &str) -> PathBuf {
    let mut plain = PathBuf::new();
    for part in Path::new(path).components() {
        match part {
            Component::CurDir => {}
            Component::ParentDir if matches!(plain.components().next_back(), Some(Component::Normal(_))) => {
                plain.pop();
            }
            other => plain.push(other),
        }
    }
    plain
}

/// No sheet twice, none empty, not the series itself.
fn listed_well(text: &str, file: &str, runs: &mut [Run], faults: &mut Vec<Fault>) {
    let mut first: BTreeMap<PathBuf, usize> = BTreeMap::new();
    for run in runs {
        let before = faults.len();
        let Some(sheet) = &run.sheet else { continue };
        let here = place(text, run.span.clone());
        let mut fault = |says: String, hint: &str| {
            let (about, hint) = ("sheets".to_owned(), Some(hint.to_owned()));
            let found = here.found.clone();
            faults.push(Fault { line: here.line, column: here.column, about, found, says, hint });
        };
        let path = plain(sheet);
        if sheet.trim().is_empty() {
            fault("the sheet's name is empty".to_owned(), "as in \"c-run1.toml\"");
        } else if path == plain(file) {
            fault("the series lists itself".to_owned(), "list the sheets of its runs");
        } else if let Some(line) = first.get(&path) {
            let says = format!("{sheet} is listed twice, first in line {line}");
            fault(says, "list each run once: twice would count it as two independent ones");
        } else {
            first.insert(path, here.line);
        }
        run.faulty = faults.len() > before;
    }
}

/// Names for runs without one, and none twice.
fn name_runs(runs: &mut [Run]) {
    let mut seen: BTreeMap<String, usize> = BTreeMap::new();
    for (i, run) in runs.iter_mut().enumerate() {
        if run.name.trim().is_empty() {
            let stem = run.sheet.as_deref().and_then(|s| Path::new(s).file_stem()).map(|s| s.to_string_lossy());
            run.name = stem.map_or_else(|| format!("run {}", i + 1), |s| s.into_owned());
        }
        let times = seen.entry(run.name.clone()).or_insert(0);
        *times += 1;
        if *times > 1 {
            run.name = format!("{} ({times})", run.name);
        }
    }
}

/// Tells unknown keys of the series and of the sections it states.
fn tell_unknown(text: &str, top: &Table, notices: &mut Vec<Notice>) {
    for entry in &top.entries {
        match entry.key.as_str() {
            "shared" => file::unknown_keys(text, &entry.node, "", notices),
            "run" => {
                for node in as_list(&entry.node) {
                    file::unknown_keys(text, &merge::without(node, &RUN_KEYS), "", notices);
                }
            }
            key if KEYS.contains(&key) => {}
            key => {
                let line = place(text, entry.key_span.clone()).line;
                let notice = Notice::new(key, format!("unknown key `{key}` in line {line}, not used"));
                let alike = |known: &str| strsim::jaro_winkler(&key.to_lowercase(), known);
                let nearest = KEYS.into_iter().max_by(|a, b| alike(a).total_cmp(&alike(b)));
                notices.push(match nearest.filter(|k| alike(k) >= 0.8) {
                    Some(nearest) => notice.hint(format!("did you mean {nearest}?")),
                    None if file::is_section(key) => {
                        notice.hint(format!("what all runs share stands under [shared], as [shared.{key}]"))
                    }
                    None => notice,
                });
            }
        }
    }
}

impl Series {
    /// Opens run `i`, whose sheet (where it has one) reads `sheet`. Never fails: what is wrong is in
    /// [`OpenedRun::faults`]; a run that does not exist is an empty sheet.
    pub fn open_run(&self, i: usize, sheet: Option<&str>) -> OpenedRun {
        let sheet_text = sheet.unwrap_or_default();
        let mut notices = Vec::new();
        let own = match sheet.map(tree::parse) {
            None => None,
            Some(Ok(root)) => {
                notices = file::notices(sheet_text, &root);
                Some(root)
            }
            Some(Err(fault)) => return self.unread(*fault),
        };
        if let Some(fault) = own.as_ref().and_then(|root| is_series(sheet_text, root)) {
            return self.unread(fault);
        }
        // One text for all faults: the sheet's, then the series'. A line beyond the sheet's is one of the series.
        let shift = if sheet.is_some() { sheet_text.len() + 1 } else { 0 };
        let whole = if sheet.is_some() { format!("{sheet_text}\n{}", self.text) } else { self.text.clone() };
        let by_run = self.runs.get(i).and_then(|run| run.own.as_ref());
        let layers = [
            self.shared.as_ref().map(|node| merge::lifted(node, shift)),
            own,
            by_run.map(|node| merge::lifted(&merge::without(node, &RUN_KEYS), shift)),
        ];
        let root = merge::merged(layers.into_iter().flatten());
        let from_series = |key: &str| {
            let photo = root.as_table().and_then(|t| t.get("photo")).and_then(Node::as_table);
            photo.and_then(|t| t.get(key)).is_some_and(|n| n.span.start >= shift)
        };
        let (photos_by_series, dry_by_series) = (from_series("file") || from_series("files"), from_series("dry"));
        let mut opened = finish(file::read_tree(&whole, &root));
        let sheet_lines = if sheet.is_some() { sheet_text.matches('\n').count() + 1 } else { 0 };
        let told = |mut fault: Fault| {
            let in_series = fault.line > sheet_lines || (fault.line == 0 && sheet.is_none());
            if in_series && fault.line > 0 {
                fault.line -= sheet_lines;
            }
            Told { in_series, fault }
        };
        let faults = std::mem::take(&mut opened.faults).into_iter().map(told).collect();
        notices.append(&mut opened.notices);
        opened.notices = notices;
        OpenedRun { opened, faults, photos_by_series, dry_by_series }
    }

    /// A fault about the sheet of run `i`, at the place where the series lists it.
    pub fn fault(&self, i: usize, says: impl Into<String>, hint: &str) -> Fault {
        let place = self.runs.get(i).map(|run| place(&self.text, run.span.clone())).unwrap_or_default();
        Fault {
            line: place.line,
            column: place.column,
            about: "sheets".to_owned(),
            found: place.found,
            says: says.into(),
            hint: Some(hint.to_owned()),
        }
    }

    fn unread(&self, fault: Fault) -> OpenedRun {
        let opened = Opened { sheet: super::Sheet::default(), checked: None, faults: Vec::new(), notices: Vec::new() };
        let faults = vec![Told { in_series: false, fault }];
        OpenedRun { opened, faults, photos_by_series: false, dry_by_series: false }
    }
}

/// A sheet that is itself a series.
fn is_series(text: &str, root: &Node) -> Option<Fault> {
    let entry = root.as_table()?.entries.iter().find(|e| OF_SERIES.contains(&e.key.as_str()))?;
    let place = place(text, entry.key_span.clone());
    Some(Fault {
        line: place.line,
        column: place.column,
        about: entry.key.clone(),
        found: place.found,
        says: "this is a series, not a sheet".to_owned(),
        hint: Some("a series lists sheets only: list the sheets of that one".to_owned()),
    })
}
