//! The document: the text of one bench sheet, with everything that led to it and may follow.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use super::marks::{Mark, marks};
use crate::sheet::entry::Entries;
use crate::sheet::{self, Opened};

/// A bench sheet being edited. Its text is all there is: what it states, its faults and its marks follow from that, so
/// that saving, undo and the command line work on one and the same thing.
pub struct Document {
    path: PathBuf,
    now: Arc<Version>,
    /// What the file holds; `None` where there is no file yet.
    saved: Option<Arc<str>>,
    undo: Vec<Arc<Version>>,
    redo: Vec<Arc<Version>>,
    /// The entry that the last edit was of, while it goes on.
    editing: Option<String>,
    revision: u64,
}

/// One state of the text, with what follows from it.
pub struct Version {
    /// The text.
    pub text: Arc<str>,
    /// What it states and what is wrong with it.
    pub opened: Opened,
    /// Its single entries; read once, since a frame of the window looks at hundreds.
    pub entries: Entries,
    /// Its marks on the photo.
    pub marks: Vec<Mark>,
}

impl Version {
    fn new(text: &str) -> Arc<Self> {
        let entries = Entries::of(text);
        let marks = marks(&entries);
        Arc::new(Self { text: text.into(), opened: sheet::open(text), entries, marks })
    }
}

impl Document {
    /// A sheet as its file holds it.
    pub fn open(path: &Path, text: &str) -> Self {
        Self::with(path, text, Some(text.into()))
    }

    /// A sheet that is not in a file yet; `path` is where it would be saved.
    pub fn fresh(path: &Path, text: &str) -> Self {
        Self::with(path, text, None)
    }

    /// A sheet recovered: its text differs from what the file holds.
    pub fn recovered(path: &Path, text: &str, saved: Option<&str>) -> Self {
        Self::with(path, text, saved.map(Into::into))
    }

    fn with(path: &Path, text: &str, saved: Option<Arc<str>>) -> Self {
        let path = path.to_owned();
        let revision = next_revision();
        Self { path, now: Version::new(text), saved, undo: Vec::new(), redo: Vec::new(), editing: None, revision }
    }

    /// Where it is, or would be, saved.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The folder that its photos are relative to.
    pub fn folder(&self) -> &Path {
        self.path.parent().unwrap_or(Path::new(""))
    }

    /// The file's name.
    pub fn name(&self) -> String {
        self.path.file_name().map_or_else(String::new, |n| n.to_string_lossy().into_owned())
    }

    /// Its state now.
    pub fn now(&self) -> &Arc<Version> {
        &self.now
    }

    /// Its text now.
    pub fn text(&self) -> &str {
        &self.now.text
    }

    /// What it states.
    pub fn opened(&self) -> &Opened {
        &self.now.opened
    }

    /// Grows with every change, and from document to document: answers to older revisions are stale.
    pub fn revision(&self) -> u64 {
        self.revision
    }

    /// Whether the file holds this text.
    pub fn is_saved(&self) -> bool {
        self.saved.as_deref() == Some(self.text())
    }

    /// What the file holds, as far as is known.
    pub fn saved(&self) -> Option<&str> {
        self.saved.as_deref()
    }

    /// Puts another text. Edits of the same entry in a row (typing, dragging) are one step of undo until [`Self::still`].
    pub fn edit(&mut self, text: &str, of: &str) {
        if text == self.text() {
            return;
        }
        if self.editing.as_deref() != Some(of) {
            self.undo.push(self.now.clone());
            self.editing = Some(of.to_owned());
        }
        self.redo.clear();
        self.show(Version::new(text));
    }

    /// The edit at hand is over: the next is a step of its own.
    pub fn still(&mut self) {
        self.editing = None;
    }

    /// One step back; false where there is none.
    pub fn undo(&mut self) -> bool {
        let Some(before) = self.undo.pop() else { return false };
        self.redo.push(self.now.clone());
        self.editing = None;
        self.show(before);
        true
    }

    /// One step forward again; false where there is none.
    pub fn redo(&mut self) -> bool {
        let Some(after) = self.redo.pop() else { return false };
        self.undo.push(self.now.clone());
        self.editing = None;
        self.show(after);
        true
    }

    /// Whether there is a step back.
    pub fn can_undo(&self) -> bool {
        !self.undo.is_empty()
    }

    /// Whether there is a step forward.
    pub fn can_redo(&self) -> bool {
        !self.redo.is_empty()
    }

    /// It was written to `path`.
    pub fn saved_to(&mut self, path: &Path) {
        self.path = path.to_owned();
        self.saved = Some(self.now.text.clone());
        self.editing = None;
    }

    /// The file was changed by others and now holds this; it is taken up as one step that can be undone.
    pub fn reload(&mut self, text: &str) {
        self.still();
        self.edit(text, "file");
        self.still();
        self.saved = Some(text.into());
    }

    fn show(&mut self, version: Arc<Version>) {
        self.now = version;
        self.revision = next_revision();
    }
}

/// Counts all changes of all documents.
fn next_revision() -> u64 {
    static LAST: AtomicU64 = AtomicU64::new(0);
    LAST.fetch_add(1, Ordering::Relaxed) + 1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn edits_of_one_entry_are_one_step() {
        let mut d = Document::open(Path::new("c.toml"), "a");
        for text in ["ab", "abc"] {
            d.edit(text, "title");
        }
        d.edit("abcd", "orifice.diameter");
        d.still();
        d.edit("abcde", "orifice.diameter");
        let mut back = Vec::new();
        while d.undo() {
            back.push(d.text().to_owned());
        }
        assert_eq!(back, ["abcd", "abc", "a"]);
        assert!(d.is_saved() && !d.can_undo());
        while d.redo() {}
        assert_eq!(d.text(), "abcde");
        assert!(!d.is_saved());
        d.undo();
        d.edit("other", "title");
        assert!(!d.redo(), "an edit ends what could be done again");
    }

    #[test]
    fn no_two_documents_share_a_revision() {
        let (a, b) = (Document::open(Path::new("a.toml"), "a"), Document::open(Path::new("b.toml"), "b"));
        assert!(b.revision() > a.revision(), "an answer to the one is none to the other");
    }

    #[test]
    fn a_change_from_outside_can_be_undone() {
        let mut d = Document::open(Path::new("c.toml"), "mine");
        d.edit("mine too", "title");
        d.reload("theirs");
        assert!(d.is_saved());
        assert!(d.undo());
        assert_eq!(d.text(), "mine too");
        assert!(!d.is_saved());
    }
}
