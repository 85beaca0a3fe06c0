//! Edits of a text: where old and new values differ, and the bytes to replace there.

use std::ops::Range;

use super::fresh;
use super::wanted::{Keys, Wanted};
use crate::sheet::file::tree::{Entry, Holds, Node, Style, Table};

/// Edits gathered against one text. A method that gives `None` found a layout that it cannot edit.
pub(super) struct Edits<'a> {
    text: &'a str,
    newline: &'static str,
    edits: Vec<(Range<usize>, String)>,
}

impl<'a> Edits<'a> {
    pub fn new(text: &'a str) -> Self {
        let newline = if text.contains("\r\n") { "\r\n" } else { "\n" };
        Self { text, newline, edits: Vec::new() }
    }

    /// The text with all edits made.
    pub fn apply(mut self) -> String {
        self.edits.sort_by_key(|(range, _)| range.start);
        let (mut text, mut done) = (String::new(), 0);
        for (range, new) in self.edits {
            text.push_str(&self.text[done.min(range.start)..range.start]);
            text.push_str(&new);
            done = done.max(range.end);
        }
        text.push_str(&self.text[done..]);
        text
    }

    /// Turns the keys `old` of a table into `new`. `prefix` stands before dotted keys.
    pub fn table(&mut self, node: &Node, prefix: &str, old: &Keys, new: &Keys) -> Option<()> {
        let table = node.as_table()?;
        let find = |keys: &Keys, key: &str| keys.iter().find(|(k, _)| *k == key).map(|(_, v)| v.clone());
        for (key, value) in new {
            let before = find(old, key);
            match table.entries.iter().find(|e| e.key == *key) {
                _ if before.as_ref() == Some(value) => {}
                Some(entry) => self.value(entry, before.as_ref(), value)?,
                None => self.insert(node, table, prefix, key, value)?,
            }
        }
        let gone = |key: &str| find(new, key).is_none();
        for entry in &table.entries {
            // `files` with one name is stated as `file` in the tree.
            let rival = entry.key == "files" && gone("files") && find(new, "file") != find(old, "file");
            match find(old, &entry.key).filter(|_| gone(&entry.key)) {
                // Its header, comments and whatever it holds that is not ours stay.
                Some(Wanted::Table(old))
                    if !["plane", "card"].contains(&entry.key.as_str()) && !is_inline(&entry.node) =>
                {
                    self.table(&entry.node, "", &old, &Keys::new())?;
                }
                Some(_) => self.remove_entry(table, entry)?,
                None if rival => self.remove_entry(table, entry)?,
                None => {}
            }
        }
        Some(())
    }

    fn value(&mut self, entry: &Entry, old: Option<&Wanted>, new: &Wanted) -> Option<()> {
        let node = &entry.node;
        match (&node.holds, old, new) {
            (Holds::Table(Table { style: Style::Inline, .. }), ..) => self.inline(node, old, new),
            // A lone [scale] is a list of one in the tree.
            (Holds::Table(table), _, Wanted::List(items)) => {
                let none = Wanted::List(vec![Wanted::Table(Keys::new())]);
                let old = old.unwrap_or(&none);
                match (old, items.as_slice()) {
                    (Wanted::List(old), [Wanted::Table(new)]) => {
                        let [Wanted::Table(old)] = old.as_slice() else { return None };
                        self.table(node, &prefix_of(table, entry), old, new)
                    }
                    _ if table.style == Style::Header => {
                        // A section put before this one comes before its new bracket too.
                        self.sections(entry, std::slice::from_ref(node), old, new)?;
                        self.edits.push((node.span.start..node.span.start, "[".into()));
                        self.edits.push((node.span.end..node.span.end, "]".into()));
                        Some(())
                    }
                    _ => None,
                }
            }
            (Holds::Table(table), Some(Wanted::Table(old)), Wanted::Table(new)) => {
                self.table(node, &prefix_of(table, entry), old, new)
            }
            (Holds::Table(Table { style: Style::Header, .. }), None, Wanted::Table(new)) => {
                self.table(node, "", &Keys::new(), new)
            }
            (Holds::Table(_), ..) => None,
            (Holds::List(items), ..) if items.iter().any(is_section) => self.sections(entry, items, old?, new),
            _ => self.inline(node, old, new),
        }
    }

    /// A value that stands in one line, or in brackets.
    fn inline(&mut self, node: &Node, old: Option<&Wanted>, new: &Wanted) -> Option<()> {
        match (&node.holds, old, new) {
            _ if old == Some(new) => {}
            (Holds::List(items), Some(Wanted::List(old)), Wanted::List(new))
                if items.len() == old.len() && !items.is_empty() && !new.is_empty() =>
            {
                self.list(items, old, new)?;
            }
            (Holds::Table(_), Some(Wanted::Table(old)), Wanted::Table(new))
                if old.iter().map(|(k, _)| k).eq(new.iter().map(|(k, _)| k)) =>
            {
                self.table(node, "", old, new)?;
            }
            _ => self.edits.push((node.span.clone(), fresh::inline(new))),
        }
        Some(())
    }

    /// Items of a list in brackets, aligned by their equal beginnings and ends.
    fn list(&mut self, items: &[Node], old: &[Wanted], new: &[Wanted]) -> Option<()> {
        let (kept, old_end, new_end) = unequal(old, new);
        let changed = old_end.min(new_end);
        for i in kept..changed {
            self.inline(&items[i], Some(&old[i]), &new[i])?;
        }
        if new_end > changed {
            self.insert_items(items, changed, &new[changed..new_end]);
        }
        let has_comma_after = |node: &Node| self.comma_after(node.end());
        let removed = &items[changed..old_end];
        let last_comma = removed.last().and_then(has_comma_after);
        let commas: Vec<_> = (changed..old_end)
            .map(|i| match last_comma {
                Some(_) => self.comma_after(items[i].end()),
                None => i.checked_sub(1).and_then(|before| self.comma_after(items[before].end())),
            })
            .collect();
        for (node, comma) in removed.iter().zip(commas) {
            self.remove_item(node, comma);
        }
        Some(())
    }

    fn insert_items(&mut self, items: &[Node], at: usize, new: &[Wanted]) {
        let texts: Vec<_> = new.iter().map(fresh::inline).collect();
        let Some(before) = at.checked_sub(1).map(|i| &items[i]) else {
            let start = items[0].span.start;
            let separator = self.own_line(start).map_or(" ".to_owned(), |indent| format!("{}{indent}", self.newline));
            let text = texts.iter().map(|t| format!("{t},{separator}")).collect();
            self.edits.push((start..start, text));
            return;
        };
        match self.own_line(before.span.start) {
            // One item a line: the new ones get lines of their own, behind the comment of the one before.
            Some(indent) if self.line_is_done(before.end()) => {
                let lines = |last_comma: bool| -> String {
                    let last = texts.len() - 1;
                    let comma = |i| if i < last || last_comma { "," } else { "" };
                    texts.iter().enumerate().map(|(i, t)| format!("{}{indent}{t}{}", self.newline, comma(i))).collect()
                };
                let end = self.line_end(before.end());
                match self.comma_after(before.end()) {
                    Some(_) => self.edits.push((end..end, lines(true))),
                    None => {
                        let lines = lines(false);
                        self.edits.push((before.end()..before.end(), ",".into()));
                        self.edits.push((end..end, lines));
                    }
                }
            }
            _ => {
                let text = texts.iter().map(|t| format!(", {t}")).collect();
                self.edits.push((before.end()..before.end(), text));
            }
        }
    }

    fn remove_item(&mut self, node: &Node, comma: Option<usize>) {
        let (mut start, mut end) = (node.span.start, node.end());
        match comma {
            Some(comma) if comma >= end => {
                let between = &self.text[end..comma];
                if between.trim().is_empty() {
                    end = comma + 1;
                } else {
                    self.edits.push((comma..comma + 1, String::new()));
                }
                // A line of its own goes whole; else the space behind the comma goes too.
                match self.own_line(start) {
                    Some(indent) if self.text[end..self.line_end(end)].trim().is_empty() => {
                        start -= indent.len();
                        start -= self.newline_before(start);
                        end = self.line_end(end);
                    }
                    _ => end += self.text[end..].len() - self.text[end..].trim_start_matches([' ', '\t']).len(),
                }
            }
            Some(comma) => {
                if self.text[comma + 1..start].trim().is_empty() {
                    start = comma;
                } else {
                    self.edits.push((comma..comma + 1, String::new()));
                }
            }
            None => {}
        }
        self.edits.push((start..end, String::new()));
    }

    /// `[[name]]` sections, aligned as the items of a list.
    fn sections(&mut self, entry: &Entry, items: &[Node], old: &Wanted, new: &Wanted) -> Option<()> {
        let (Wanted::List(old), Wanted::List(new)) = (old, new) else { return None };
        if items.len() != old.len() || new.is_empty() {
            return None;
        }
        let (kept, old_end, new_end) = unequal(old, new);
        let changed = old_end.min(new_end);
        for i in kept..changed {
            let (Wanted::Table(old), Wanted::Table(new)) = (&old[i], &new[i]) else { return None };
            self.table(&items[i], "", old, new)?;
        }
        for item in &items[changed..old_end] {
            self.remove_section(item)?;
        }
        match changed.checked_sub(1) {
            Some(before) => {
                let at = self.line_end(items[before].end());
                for value in &new[changed..new_end] {
                    self.push_section(at, &fresh::section(&entry.key, value, true));
                }
            }
            None => {
                let at = items[0].span.start;
                for value in &new[..new_end] {
                    let section = format!("{}\n", fresh::section(&entry.key, value, true));
                    self.edits.push((at..at, section.replace('\n', self.newline)));
                }
            }
        }
        Some(())
    }

    fn push_section(&mut self, at: usize, section: &str) {
        let text = format!("\n\n{}", section.trim_end()).replace('\n', self.newline);
        self.edits.push((at..at, text));
    }

    fn insert(&mut self, node: &Node, table: &Table, prefix: &str, key: &str, value: &Wanted) -> Option<()> {
        let is_root = node.path.is_empty();
        let sections: &[Wanted] = match value {
            Wanted::Table(_) if is_root => std::slice::from_ref(value),
            Wanted::List(items) if is_root => items,
            _ => &[],
        };
        if !sections.is_empty() {
            let at = self.text.trim_end().len();
            for section in sections {
                self.push_section(at, &fresh::section(key, section, sections.len() > 1));
            }
            return Some(());
        }
        if table.style == Style::Inline {
            return None;
        }
        let line = format!("{prefix}{}", fresh::line(key, value)).replace('\n', self.newline);
        let last = if is_root {
            table
                .entries
                .iter()
                .filter(|e| !e.node.is_table() && !is_list_of_sections(&e.node))
                .map(|e| e.node.end())
                .max()
        } else {
            Some(node.end())
        };
        match last {
            Some(last) => {
                let at = self.line_end(last);
                self.edits.push((at..at, format!("{}{line}", self.newline)));
            }
            None => self.edits.push((0..0, format!("{line}{0}{0}", self.newline))),
        }
        Some(())
    }

    fn remove_entry(&mut self, table: &Table, entry: &Entry) -> Option<()> {
        let node = &entry.node;
        match &node.holds {
            Holds::Table(Table { style: Style::Header | Style::ListHeader, .. }) => self.remove_section(node),
            Holds::Table(inner) if inner.style == Style::Dotted => {
                inner.entries.iter().try_for_each(|e| self.remove_entry(inner, e))
            }
            Holds::List(items) if items.iter().any(is_section) => items.iter().try_for_each(|i| self.remove_section(i)),
            _ if table.style == Style::Inline => None,
            _ => {
                self.remove_lines(entry.key_span.start, node.end());
                Some(())
            }
        }
    }

    fn remove_section(&mut self, node: &Node) -> Option<()> {
        let table = node.as_table()?;
        self.remove_lines(node.span.start, node.span.end);
        table.entries.iter().try_for_each(|e| self.remove_entry(table, e))
    }

    /// Removes the lines of `from..to`; a comment behind stays on a line of its own.
    fn remove_lines(&mut self, from: usize, to: usize) {
        let start = self.text[..from].rfind('\n').map_or(0, |i| i + 1);
        let end = self.line_end(to);
        if self.text[to..end].trim().is_empty() {
            let (start, end) = match self.newline_before(start) {
                0 => (start, end + self.text[end..].len() - self.text[end..].trim_start_matches(['\r', '\n']).len()),
                newline => (start - newline, end),
            };
            self.edits.push((start..end, String::new()));
        } else {
            let comment = to + self.text[to..end].len() - self.text[to..end].trim_start().len();
            self.edits.push((start..comment, String::new()));
        }
    }

    /// The end of the line that holds the byte `at`, before its newline.
    fn line_end(&self, at: usize) -> usize {
        let end = self.text[at..].find('\n').map_or(self.text.len(), |i| at + i);
        if self.text[at..end].ends_with('\r') { end - 1 } else { end }
    }

    /// Bytes of the newline right before `at`.
    fn newline_before(&self, at: usize) -> usize {
        let before = &self.text[..at];
        if before.ends_with("\r\n") { 2 } else { usize::from(before.ends_with('\n')) }
    }

    /// The indent of the line, where nothing but it stands before the byte `at`.
    fn own_line(&self, at: usize) -> Option<&'a str> {
        let start = self.text[..at].rfind('\n')? + 1;
        let before = &self.text[start..at];
        before.trim().is_empty().then_some(before)
    }

    /// Whether only a comma and a comment follow in the line.
    fn line_is_done(&self, at: usize) -> bool {
        let rest = self.text[at..self.line_end(at)].trim();
        let rest = rest.strip_prefix(',').unwrap_or(rest).trim();
        rest.is_empty() || rest.starts_with('#')
    }

    /// The comma behind the value that ends at `at`, skipping space and comments.
    fn comma_after(&self, at: usize) -> Option<usize> {
        let mut at = at;
        loop {
            let rest = &self.text[at..];
            at += rest.len() - rest.trim_start().len();
            match self.text[at..].chars().next()? {
                ',' => return Some(at),
                '#' => at = self.line_end(at),
                _ => return None,
            }
        }
    }
}

fn prefix_of(table: &Table, entry: &Entry) -> String {
    if table.style == Style::Dotted { format!("{}.", entry.key) } else { String::new() }
}

fn is_inline(node: &Node) -> bool {
    node.as_table().is_some_and(|t| t.style == Style::Inline)
}

fn is_section(node: &Node) -> bool {
    node.as_table().is_some_and(|t| t.style == Style::ListHeader)
}

fn is_list_of_sections(node: &Node) -> bool {
    matches!(&node.holds, Holds::List(items) if items.iter().any(is_section))
}

/// The equal beginning's length, and where the equal ends begin in `old` and `new`.
fn unequal(old: &[Wanted], new: &[Wanted]) -> (usize, usize, usize) {
    let front = old.iter().zip(new).take_while(|(a, b)| a == b).count();
    let back = old[front..].iter().rev().zip(new[front..].iter().rev()).take_while(|(a, b)| a == b).count();
    (front, old.len() - back, new.len() - back)
}
