//! Watches the sheet's file and its photos for changes made by others, once a second, on a thread.

use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::time::{Duration, SystemTime};

/// How often it looks.
const EVERY: Duration = Duration::from_secs(1);
/// A longer text is no sheet.
const LONGEST: u64 = 4 << 20;

/// What changed.
#[derive(Debug, PartialEq)]
pub enum Seen {
    /// The sheet's file; its text now.
    Sheet(String),
    /// A photo.
    Photos,
}

/// The thread, as the desk sees it; it ends when this is dropped.
pub struct Watcher {
    orders: Sender<(Option<PathBuf>, Vec<PathBuf>)>,
    seen: Receiver<Seen>,
}

impl Watcher {
    /// Starts it; `wake` is called for every change.
    pub fn start(wake: impl Fn() + Send + 'static) -> Self {
        let (orders, ordered) = channel();
        let (tell, seen) = channel();
        std::thread::spawn(move || watch(&ordered, &tell, &wake));
        Self { orders, seen }
    }

    /// Watches these files from now on.
    pub fn watch(&self, sheet: Option<PathBuf>, photos: Vec<PathBuf>) {
        // a thread that is gone sees nothing more
        let _ = self.orders.send((sheet, photos));
    }

    /// What was seen since the last time.
    pub fn seen(&self) -> Vec<Seen> {
        self.seen.try_iter().collect()
    }
}

/// Enough to tell that a file is still the same.
type Stamp = Option<(SystemTime, u64)>;

fn stamp(path: &Path) -> Stamp {
    let about = std::fs::metadata(path).ok()?;
    Some((about.modified().ok()?, about.len()))
}

fn watch(ordered: &Receiver<(Option<PathBuf>, Vec<PathBuf>)>, tell: &Sender<Seen>, wake: &dyn Fn()) {
    let mut sheet: Option<(PathBuf, Stamp)> = None;
    let mut photos: Vec<(PathBuf, Stamp)> = Vec::new();
    let stamped = |path: PathBuf| {
        let stamp = stamp(&path);
        (path, stamp)
    };
    loop {
        match ordered.recv_timeout(EVERY) {
            Ok((new_sheet, new_photos)) => {
                (sheet, photos) = (new_sheet.map(stamped), new_photos.into_iter().map(stamped).collect());
                continue;
            }
            Err(RecvTimeoutError::Disconnected) => return,
            Err(RecvTimeoutError::Timeout) => {}
        }
        let mut changes = Vec::new();
        if let Some((path, before)) = &mut sheet {
            let now = stamp(path);
            // a file that is gone may be on its way back: editors write so
            if now.is_some_and(|(_, len)| len <= LONGEST) && now != *before {
                *before = now;
                changes.extend(std::fs::read_to_string(path).ok().map(Seen::Sheet));
            }
        }
        for (path, before) in &mut photos {
            let now = stamp(path);
            if now != *before {
                *before = now;
                changes.push(Seen::Photos);
            }
        }
        for change in changes {
            if tell.send(change).is_err() {
                return;
            }
            wake();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_change_by_others_is_seen() {
        let folder = tempfile::tempdir().unwrap();
        let (sheet, photo) = (folder.path().join("c.toml"), folder.path().join("c.jpg"));
        std::fs::write(&sheet, "one").unwrap();
        std::fs::write(&photo, "one").unwrap();
        let (woken, wakes) = channel();
        let watcher = Watcher::start(move || woken.send(()).unwrap());
        watcher.watch(Some(sheet.clone()), vec![photo.clone()]);
        std::thread::sleep(Duration::from_millis(100));
        std::fs::write(&sheet, "another").unwrap();
        std::fs::write(&photo, "another").unwrap();
        let mut seen = Vec::new();
        while seen.len() < 2 {
            wakes.recv_timeout(Duration::from_secs(10)).unwrap();
            seen.extend(watcher.seen());
        }
        assert_eq!(seen, [Seen::Sheet("another".into()), Seen::Photos]);
    }
}
