//! Sections of a sheet from several places made into one tree, in which every value keeps its own bytes.

use crate::sheet::file::tree::{Entry, Holds, Node, Style, Table};

/// Sections that are taken or replaced as a whole.
const WHOLE: [&str; 2] = ["scale", "plane"];

/// Keys of a section that say one thing in different ways: stating one sets the others aside.
const ALTERNATIVES: [(&str, &[&str]); 5] = [
    ("photo", &["file", "files"]),
    ("vertical", &["plumb", "level"]),
    ("head", &["reading", "surface"]),
    ("flow", &["timed", "running", "discharge"]),
    ("site", &["latitude", "altitude", "gravity"]),
];

/// A table without some of its keys.
pub(super) fn without(node: &Node, keys: &[&str]) -> Node {
    let mut node = node.clone();
    if let Holds::Table(table) = &mut node.holds {
        table.entries.retain(|e| !keys.contains(&e.key.as_str()));
    }
    node
}

/// A section lifted to the top: paths without the section's own, bytes moved on by `shift`.
pub(super) fn lifted(node: &Node, shift: usize) -> Node {
    let mut node = node.clone();
    let prefix = node.path.len();
    lift(&mut node, prefix, shift);
    node
}

fn lift(node: &mut Node, prefix: usize, shift: usize) {
    let rest = node.path.get(prefix..).unwrap_or("");
    node.path = rest.strip_prefix('.').unwrap_or(rest).to_owned();
    node.span = node.span.start + shift..node.span.end + shift;
    match &mut node.holds {
        Holds::List(items) => items.iter_mut().for_each(|item| lift(item, prefix, shift)),
        Holds::Table(table) => {
            for entry in &mut table.entries {
                entry.key_span = entry.key_span.start + shift..entry.key_span.end + shift;
                lift(&mut entry.node, prefix, shift);
            }
        }
        _ => {}
    }
}

/// One sheet from layers, each going before those that came earlier.
pub(super) fn merged(layers: impl Iterator<Item = Node>) -> Node {
    let mut sheet = Table { style: Style::Header, entries: Vec::new() };
    for layer in layers {
        if let Holds::Table(table) = layer.holds {
            table.entries.into_iter().for_each(|entry| put(&mut sheet, entry));
        }
    }
    Node { path: String::new(), span: 0..0, holds: Holds::Table(sheet) }
}

fn put(sheet: &mut Table, entry: Entry) {
    let Some(at) = sheet.entries.iter().position(|e| e.key == entry.key) else {
        sheet.entries.push(entry);
        return;
    };
    let below = &mut sheet.entries[at];
    let key = entry.key.clone();
    match (&mut below.node.holds, entry.node.holds) {
        (Holds::Table(low), Holds::Table(high)) if !WHOLE.contains(&key.as_str()) => {
            let alternatives =
                ALTERNATIVES.iter().find(|(section, _)| *section == key).map_or(&[][..], |(_, keys)| keys);
            if high.entries.iter().any(|e| alternatives.contains(&e.key.as_str())) {
                low.entries.retain(|e| !alternatives.contains(&e.key.as_str()));
            }
            for stated in high.entries {
                low.entries.retain(|e| e.key != stated.key);
                low.entries.push(stated);
            }
            // what is missing of a section is missing where it is stated last
            below.node.span = entry.node.span;
        }
        (_, holds) => {
            below.key_span = entry.key_span;
            below.node = Node { path: entry.node.path, span: entry.node.span, holds };
        }
    }
}
