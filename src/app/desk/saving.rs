//! Saving the sheet, keeping what is not saved, taking up what was kept.

use std::path::{Path, PathBuf};

use super::{Desk, kept, opening};
use crate::app::state::State;
use crate::cli::files;

impl Desk {
    /// Saves where another file may be: that is asked first.
    pub(super) fn save_as(&mut self, path: PathBuf, state: &mut State) {
        let own = state.document.as_ref().is_some_and(|d| files::same(d.path(), &path));
        if path.exists() && !own {
            self.asking = None;
            self.pending.in_the_way = Some(path);
        } else {
            self.save(Some(path), state);
        }
    }

    pub(super) fn save(&mut self, path: Option<PathBuf>, state: &mut State) {
        let Some(document) = &mut state.document else { return };
        let to = path.clone().unwrap_or_else(|| document.path().to_owned());
        let (text, moved) = match path {
            Some(_) => (opening::moved(document, &to), to != document.path()),
            None => (document.text().to_owned(), false),
        };
        if self.pending.outside.is_some() && !moved {
            state.said = Some(("the file was changed outside: decide first which text holds".into(), true));
            return;
        }
        self.asking = None;
        self.pending.in_the_way = None;
        match files::write("sheet", &to, text.as_bytes()) {
            Ok(()) => {
                document.still();
                document.edit(&text, "photo.file");
                document.saved_to(&to);
                self.keeper.clear();
                self.recent.add(&to);
                state.said = None;
                self.watch(state);
            }
            Err(told) => state.said = Some((told, true)),
        }
    }

    /// Keeps the text while it is not saved.
    pub(super) fn keep(&mut self, state: &State) {
        match &state.document {
            Some(d) if !d.is_saved() => self.keeper.keep(d.path(), d.text(), d.revision()),
            _ => self.keeper.clear(),
        }
    }

    pub(super) fn recover(&mut self, file: &Path, state: &mut State) {
        let Some(at) = self.kept.iter().position(|k| k.file == file) else { return };
        let kept = self.kept.remove(at);
        let same = state.document.as_ref().is_some_and(|d| d.path() == kept.sheet);
        if let (true, Some(document)) = (same, &mut state.document) {
            document.still();
            document.edit(&kept.text, "kept");
            document.still();
        } else {
            self.show(kept::document(&kept), state);
        }
        // it lives on as the unsaved text of this window, kept anew
        self.keep(state);
        self.keeper.settle();
        kept::forget(file);
    }
}
