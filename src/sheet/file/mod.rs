//! TOML text to [`Sheet`], every fault of the text told at once.

pub(super) mod tree;
pub(super) mod words;
pub(super) mod value;
mod sections;

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use super::fault::{Fault, Place, place};
use super::{Filling, Flow, Sheet, keys};
use crate::notice::Notice;
use crate::point::PixelPoint;
use tree::{Holds, Node};

/// Where the fields of a sheet stand in its text.
#[derive(Clone, Debug, Default)]
pub(super) struct Places {
    text: String,
    /// Lines are counted only for faults: a sheet may hold ten thousand points.
    spans: BTreeMap<String, Range<usize>>,
    faulty: BTreeSet<String>,
    /// The path of each scale of [`Sheet::scales`].
    pub scales: Vec<String>,
    /// What was read well beside something faulty, and so is not in the sheet.
    pub loose: Loose,
}

impl Places {
    /// The place of `about`, or of the nearest thing around it.
    pub fn of(&self, about: &str) -> Place {
        if let Some(span) = self.spans.get(about) {
            return place(&self.text, span.clone());
        }
        let mut around = about;
        while let Some(end) = around.rfind(['.', '[']) {
            around = &around[..end];
            if let Some(span) = self.spans.get(around) {
                return place(&self.text, span.start..span.start);
            }
        }
        Place::default()
    }

    /// Whether a fault of the text was told about `about`, something in it, or something around it.
    pub fn is_faulty(&self, about: &str) -> bool {
        let holds = |outer: &str, inner: &str| {
            inner.strip_prefix(outer).is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']))
        };
        self.faulty.iter().any(|path| holds(path, about) || holds(about, path))
    }
}

/// Marks and fillings, with their paths, that the sheet cannot hold because something beside
/// them is faulty. They are checked all the same, so that all faults are told at once.
#[derive(Clone, Debug, Default)]
pub(super) struct Loose {
    pub pairs: Vec<(String, [PixelPoint; 2])>,
    pub fillings: Vec<(String, Filling)>,
    /// Flows of a sheet that states more than one.
    pub flows: Vec<Flow>,
}

/// What a text holds.
#[derive(Clone, Debug, Default)]
pub(super) struct FromText {
    pub sheet: Sheet,
    pub faults: Vec<Fault>,
    pub notices: Vec<Notice>,
    pub places: Places,
}

/// Reads the text of a sheet. A text that is no TOML gives one fault and an empty sheet.
pub(super) fn read(text: &str) -> FromText {
    let root = match tree::parse(text) {
        Ok(root) => root,
        Err(fault) => {
            let places = Places { faulty: [String::new()].into(), ..Places::default() };
            return FromText { faults: vec![*fault], places, ..FromText::default() };
        }
    };
    let mut read = read_tree(text, &root);
    read.notices = notices(text, &root);
    read
}

/// Reads a sheet from its tree, whose bytes stand in `text`; tells no notices.
pub(super) fn read_tree(text: &str, root: &Node) -> FromText {
    let mut reader = value::Reader::new(text);
    let (sheet, scales) = sections::sheet(&mut reader, root);
    let mut places =
        Places { text: text.to_owned(), faulty: reader.faulty, loose: reader.loose, scales, ..Places::default() };
    note_spans(root, &mut places.spans);
    FromText { sheet, faults: reader.faults, notices: Vec::new(), places }
}

/// What is to be told of the text of a sheet: no format, unknown keys.
pub(super) fn notices(text: &str, root: &Node) -> Vec<Notice> {
    let mut notices = Vec::new();
    if root.as_table().is_some_and(|top| top.get("format").is_none()) {
        notices
            .push(Notice::new("format", "no format is stated, read as format 1").hint("write format = 1 at the top"));
    }
    unknown_keys(text, root, "", &mut notices);
    notices
}

/// Whether a sheet has a section or a key of this name.
pub(super) fn is_section(name: &str) -> bool {
    keys::is_known(name)
}

fn note_spans(node: &Node, spans: &mut BTreeMap<String, Range<usize>>) {
    if !node.path.is_empty() {
        spans.entry(node.path.clone()).or_insert_with(|| node.span.clone());
    }
    match &node.holds {
        Holds::List(items) => items.iter().for_each(|item| note_spans(item, spans)),
        Holds::Table(table) => table.entries.iter().for_each(|e| note_spans(&e.node, spans)),
        _ => {}
    }
}

/// Tells the keys of `node` that no sheet has; `path` is where in a sheet it stands, positions in lists left out.
pub(super) fn unknown_keys(text: &str, node: &Node, path: &str, notices: &mut Vec<Notice>) {
    match &node.holds {
        Holds::List(items) => items.iter().for_each(|item| unknown_keys(text, item, path, notices)),
        Holds::Table(table) => {
            for entry in &table.entries {
                let below = if path.is_empty() { entry.key.clone() } else { format!("{path}.{}", entry.key) };
                if keys::is_known(&below) {
                    unknown_keys(text, &entry.node, &below, notices);
                    continue;
                }
                let place = place(text, entry.key_span.clone());
                let what = if path.is_empty() && entry.node.is_table() { "section" } else { "key" };
                let says = format!("unknown {what} `{}` in line {}, not used", entry.key, place.line);
                let notice = Notice::new(entry.node.path.as_str(), says);
                notices.push(match keys::nearest(&below) {
                    Some(nearest) => notice.hint(format!("did you mean {nearest}?")),
                    None => notice,
                });
            }
        }
        _ => {}
    }
}
