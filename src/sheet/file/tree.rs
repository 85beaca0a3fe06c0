//! The TOML document as a plain tree in which every value knows its dotted path and its bytes.

use std::ops::Range;

use toml_edit::{Document, Item, TableLike, Value};

use crate::sheet::fault::{Fault, place};

/// One value of the text.
#[derive(Clone, Debug)]
pub(crate) struct Node {
    /// Dotted, with positions in lists from 1: `flow.timed[2].time`.
    pub path: String,
    /// Its bytes; for a section those of its header.
    pub span: Range<usize>,
    pub holds: Holds,
}

/// What a value is.
#[derive(Clone, Debug)]
pub(crate) enum Holds {
    Text(String),
    Number(f64),
    /// A kind that no key takes: its TOML name.
    Other(&'static str),
    List(Vec<Node>),
    Table(Table),
}

/// A section, or a table in braces.
#[derive(Clone, Debug)]
pub(crate) struct Table {
    pub style: Style,
    pub entries: Vec<Entry>,
}

/// How a table is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Style {
    /// Under a `[header]`, or the document itself.
    Header,
    /// Under a `[[header]]`.
    ListHeader,
    /// `{ in braces }`.
    Inline,
    /// `by.dotted.keys = ...`.
    Dotted,
}

/// A key with its value.
#[derive(Clone, Debug)]
pub(crate) struct Entry {
    pub key: String,
    pub key_span: Range<usize>,
    pub node: Node,
}

impl Node {
    pub fn as_table(&self) -> Option<&Table> {
        if let Holds::Table(table) = &self.holds { Some(table) } else { None }
    }

    pub fn is_table(&self) -> bool {
        self.as_table().is_some()
    }

    /// What it is, in words.
    pub fn kind(&self) -> &'static str {
        match &self.holds {
            Holds::Text(_) => "text",
            Holds::Number(_) => "a number",
            Holds::Other(name) => name,
            Holds::List(_) => "a list",
            Holds::Table(_) => "a table",
        }
    }

    /// Where it ends, with everything in it.
    pub fn end(&self) -> usize {
        match &self.holds {
            Holds::Table(table) => table.entries.iter().map(|e| e.node.end()).fold(self.span.end, usize::max),
            _ => self.span.end,
        }
    }
}

impl Table {
    pub fn get(&self, key: &str) -> Option<&Node> {
        self.entries.iter().find(|e| e.key == key).map(|e| &e.node)
    }
}

/// Parses `text`; the fault is boxed because it is large and rare.
pub(crate) fn parse(text: &str) -> Result<Node, Box<Fault>> {
    match Document::parse(text) {
        Ok(document) => Ok(Node {
            path: String::new(),
            span: 0..0,
            holds: Holds::Table(table(document.as_table(), "", Style::Header)),
        }),
        Err(error) => {
            let place = place(text, error.span().unwrap_or(text.len()..text.len()));
            let says = error.message().lines().collect::<Vec<_>>().join(", ");
            Err(Box::new(Fault {
                line: place.line,
                column: place.column,
                about: String::new(),
                found: place.found,
                says: format!("not a TOML text: {says}"),
                hint: Some("text stands in \"quotes\", lists in [ ], sections under [names]".into()),
            }))
        }
    }
}

fn table(like: &dyn TableLike, path: &str, style: Style) -> Table {
    let entries = like.iter().map(|(key, item)| {
        let path = if path.is_empty() { key.to_owned() } else { format!("{path}.{key}") };
        let key_span = like.key(key).and_then(toml_edit::Key::span).unwrap_or(0..0);
        let node = item_node(item, path, &key_span);
        Entry { key: key.to_owned(), key_span, node }
    });
    Table { style, entries: entries.collect() }
}

fn item_node(item: &Item, path: String, key_span: &Range<usize>) -> Node {
    let span = item.span().unwrap_or(key_span.clone());
    let holds = match item {
        Item::None => Holds::Other("nothing"),
        Item::Value(value) => value_holds(value, &path),
        Item::Table(inner) => {
            let style = if inner.is_dotted() { Style::Dotted } else { Style::Header };
            Holds::Table(table(inner, &path, style))
        }
        Item::ArrayOfTables(tables) => {
            let several = tables.len() > 1;
            let node = |(i, inner): (usize, &toml_edit::Table)| {
                let path = if several { format!("{path}[{}]", i + 1) } else { path.clone() };
                let holds = Holds::Table(table(inner, &path, Style::ListHeader));
                Node { path, span: inner.span().unwrap_or(key_span.clone()), holds }
            };
            Holds::List(tables.iter().enumerate().map(node).collect())
        }
    };
    Node { path, span, holds }
}

fn value_holds(value: &Value, path: &str) -> Holds {
    match value {
        Value::String(text) => Holds::Text(text.value().clone()),
        Value::Integer(number) => Holds::Number(*number.value() as f64),
        Value::Float(number) => Holds::Number(*number.value()),
        Value::Boolean(_) => Holds::Other("true or false"),
        Value::Datetime(_) => Holds::Other("a date"),
        Value::Array(items) => {
            let node = |(i, item): (usize, &Value)| {
                let path = format!("{path}[{}]", i + 1);
                let holds = value_holds(item, &path);
                Node { path, span: item.span().unwrap_or(0..0), holds }
            };
            Holds::List(items.iter().enumerate().map(node).collect())
        }
        Value::InlineTable(inner) => {
            let style = if inner.is_dotted() { Style::Dotted } else { Style::Inline };
            Holds::Table(table(inner, path, style))
        }
    }
}
