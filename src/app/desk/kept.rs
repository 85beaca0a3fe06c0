//! Unsaved text, kept beside the program's data, so that a crash or a kill loses nothing.
//!
//! Each window keeps at most one sheet, in a file of its own that it holds locked. A file that nobody holds is left
//! over from a window that ended without leave, and is offered at the next start.

use std::fs::File;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Condvar, Mutex, PoisonError};
use std::time::{Duration, SystemTime};

use crate::app::document::Document;
use crate::cli::files;
use crate::sheet::entry::{self, Entry};

/// A sheet that was kept.
#[derive(Clone, Debug, PartialEq)]
pub struct Kept {
    /// The file that keeps it.
    pub file: PathBuf,
    /// The sheet it is of.
    pub sheet: PathBuf,
    /// Its text.
    pub text: String,
    /// When it was kept.
    pub when: Option<SystemTime>,
}

/// What is kept of windows that ended without leave, newest first.
pub fn left_over(data: Option<&Path>) -> Vec<Kept> {
    let Some(all) = data.and_then(|d| std::fs::read_dir(d.join("kept")).ok()) else { return Vec::new() };
    let mut found: Vec<Kept> = all.flatten().filter_map(|e| read(&e.path())).collect();
    found.sort_by_key(|k| std::cmp::Reverse(k.when));
    found
}

fn read(file: &Path) -> Option<Kept> {
    if file.extension()? != "kept" {
        return None;
    }
    // the window that keeps it holds the lock beside it
    let lock = File::open(file.with_extension("lock"));
    if lock.is_ok_and(|lock| lock.try_lock().is_err()) {
        return None;
    }
    let holds = std::fs::read_to_string(file).ok()?;
    let text = |key: &str| match entry::entry(&holds, key) {
        Some(Entry::Text(text)) => Some(text),
        _ => None,
    };
    let sheet = PathBuf::from(text("sheet")?);
    let text = text("text")?;
    if std::fs::read_to_string(&sheet).is_ok_and(|saved| saved == text) {
        forget(file);
        return None;
    }
    Some(Kept { file: file.to_owned(), sheet, text, when: std::fs::metadata(file).and_then(|m| m.modified()).ok() })
}

/// Deletes what was kept.
pub fn forget(file: &Path) {
    // nothing is lost where that fails: it is offered once more
    let _ = std::fs::remove_file(file);
    let _ = std::fs::remove_file(file.with_extension("lock"));
}

/// Keeps the text of one window on a thread: the newest wins.
pub struct Keeper {
    desk: Arc<Slot>,
    /// The revision given last; 0 for none.
    given: u64,
    _lock: Option<File>,
}

#[derive(Default)]
struct Slot {
    state: Mutex<Work>,
    changed: Condvar,
}

#[derive(Default)]
struct Work {
    next: Option<Order>,
    busy: bool,
    closed: bool,
}

enum Order {
    Keep(PathBuf, String),
    Clear,
}

impl Keeper {
    /// Starts it; without a folder nothing is kept.
    pub fn start(data: Option<&Path>) -> Self {
        let desk = Arc::new(Slot::default());
        let file = data.and_then(|d| own_file(&d.join("kept")));
        let lock = file.as_ref().and_then(|(_, lock)| lock.try_clone().ok());
        if let Some((file, _)) = file {
            let slot = desk.clone();
            std::thread::spawn(move || work(&slot, &file));
        } else {
            desk.state.lock().unwrap_or_else(PoisonError::into_inner).closed = true;
        }
        Self { desk, given: 0, _lock: lock }
    }

    /// Keeps this text of the sheet at `path`.
    pub fn keep(&mut self, path: &Path, text: &str, revision: u64) {
        if self.given != revision {
            self.given = revision;
            self.order(Order::Keep(path.to_owned(), text.to_owned()));
        }
    }

    /// Nothing need be kept.
    pub fn clear(&mut self) {
        if self.given != 0 {
            self.given = 0;
            self.order(Order::Clear);
        }
    }

    /// Waits until all orders are carried out, a second at most.
    pub fn settle(&self) {
        let state = self.desk.state.lock().unwrap_or_else(PoisonError::into_inner);
        let busy = |w: &mut Work| !w.closed && (w.next.is_some() || w.busy);
        drop(self.desk.changed.wait_timeout_while(state, Duration::from_secs(1), busy));
    }

    fn order(&self, order: Order) {
        let mut state = self.desk.state.lock().unwrap_or_else(PoisonError::into_inner);
        if !state.closed {
            state.next = Some(order);
            self.desk.changed.notify_all();
        }
    }
}

impl Drop for Keeper {
    fn drop(&mut self) {
        self.settle();
        self.desk.state.lock().unwrap_or_else(PoisonError::into_inner).closed = true;
        self.desk.changed.notify_all();
    }
}

fn work(slot: &Slot, file: &Path) {
    loop {
        let order = {
            let mut state = slot.state.lock().unwrap_or_else(PoisonError::into_inner);
            state.busy = false;
            slot.changed.notify_all();
            let wait = slot.changed.wait_while(state, |w| w.next.is_none() && !w.closed);
            let mut state = wait.unwrap_or_else(PoisonError::into_inner);
            if state.closed {
                let _ = std::fs::remove_file(file.with_extension("lock"));
                return;
            }
            state.busy = true;
            state.next.take()
        };
        match order {
            Some(Order::Keep(sheet, text)) => {
                // a full disk is told when the user saves; nothing else can be done here
                let _ = files::write("kept sheet", file, holding(&sheet, &text).as_bytes());
            }
            Some(Order::Clear) => drop(std::fs::remove_file(file)),
            None => {}
        }
    }
}

fn holding(sheet: &Path, text: &str) -> String {
    let mut document = toml_edit::DocumentMut::new();
    document["sheet"] = toml_edit::value(sheet.display().to_string());
    document["text"] = toml_edit::value(text);
    document.to_string()
}

/// A file of this window's own, with the lock that says so.
fn own_file(folder: &Path) -> Option<(PathBuf, File)> {
    std::fs::create_dir_all(folder).ok()?;
    let began = SystemTime::now().duration_since(SystemTime::UNIX_EPOCH).map_or(0, |d| d.as_nanos());
    let file = folder.join(format!("{began:x}-{}.kept", std::process::id()));
    let lock = File::create(file.with_extension("lock")).ok()?;
    lock.try_lock().ok()?;
    Some((file, lock))
}

/// The document of a sheet that was kept, beside what its file holds.
pub fn document(kept: &Kept) -> Document {
    let saved = std::fs::read_to_string(&kept.sheet).ok();
    Document::recovered(&kept.sheet, &kept.text, saved.as_deref())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn unsaved_text_is_offered_once_its_window_is_gone_without_leave() {
        let data = tempfile::tempdir().unwrap();
        let sheet = data.path().join("c.toml");
        let text = "title = \"a\"\n# \"quoted\" \u{b1} \\ \r\nformat = 1\n";
        let mut keeper = Keeper::start(Some(data.path()));
        keeper.keep(&sheet, "older", 1);
        keeper.keep(&sheet, text, 2);
        keeper.settle();
        assert_eq!(left_over(Some(data.path())), [], "its window still has it");
        // a killed process lets its lock go and cleans nothing up
        let Keeper { desk, _lock, .. } = &keeper;
        desk.state.lock().unwrap().closed = false;
        _lock.as_ref().unwrap().unlock().unwrap();
        let found = left_over(Some(data.path()));
        assert_eq!(found.len(), 1);
        assert_eq!((found[0].sheet.as_path(), found[0].text.as_str()), (sheet.as_path(), text));
        assert_eq!(document(&found[0]).text(), text);
        forget(&found[0].file);
        assert_eq!(left_over(Some(data.path())), []);
    }

    #[test]
    fn nothing_is_left_of_a_window_that_saved() {
        let data = tempfile::tempdir().unwrap();
        let mut keeper = Keeper::start(Some(data.path()));
        keeper.keep(&data.path().join("c.toml"), "text", 1);
        keeper.clear();
        drop(keeper);
        assert_eq!(left_over(Some(data.path())), []);
    }

    #[test]
    fn what_was_saved_after_all_is_not_offered() {
        let data = tempfile::tempdir().unwrap();
        let sheet = data.path().join("c.toml");
        let kept = data.path().join("kept");
        std::fs::create_dir(&kept).unwrap();
        std::fs::write(&sheet, "same").unwrap();
        std::fs::write(kept.join("1.kept"), holding(&sheet, "same")).unwrap();
        std::fs::write(kept.join("2.kept"), "no toml [").unwrap();
        assert_eq!(left_over(Some(data.path())), []);
    }
}
