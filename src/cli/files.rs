//! Files: reading whole, writing whole or not at all.

use sha2::{Digest, Sha256};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::{RwLock, RwLockWriteGuard};

/// No sheet is longer, and no photo that may be decoded.
const LONGEST: u64 = 2 << 30;

/// How files that are not whole yet are called.
const UNFINISHED: &str = ".trajet-";
/// Held for reading while a file is written beside its place.
static WRITING: RwLock<()> = RwLock::new(());

/// Waits until no file is being written; none will be while the value is kept.
pub(crate) fn settled() -> Option<RwLockWriteGuard<'static, ()>> {
    WRITING.write().ok()
}

/// The bytes of an ordinary file, or what is wrong in words with the path last.
pub(crate) fn read(what: &str, path: &Path) -> Result<Vec<u8>, String> {
    let told = |e: std::io::Error| format!("cannot read the {what}: {}: {}", in_words(&e), path.display());
    ordinary(what, path)?;
    std::fs::read(path).map_err(told)
}

/// SHA-256 of an ordinary file in hexadecimal, without holding it in memory.
pub(crate) fn sha256(what: &str, path: &Path) -> Result<String, String> {
    let told = |e: std::io::Error| format!("cannot read the {what}: {}: {}", in_words(&e), path.display());
    ordinary(what, path)?;
    let mut hash = Sha256::new();
    std::io::copy(&mut std::fs::File::open(path).map_err(told)?, &mut hash).map_err(told)?;
    Ok(hexadecimal(&hash.finalize()))
}

/// Bytes as hexadecimal digits.
pub(crate) fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

fn ordinary(what: &str, path: &Path) -> Result<(), String> {
    let told = |e: std::io::Error| format!("cannot read the {what}: {}: {}", in_words(&e), path.display());
    let about = std::fs::metadata(path).map_err(told)?;
    if about.is_dir() {
        return Err(format!("the {what} is a folder, not a file: {}", path.display()));
    }
    // a device has no end, a pipe may never begin
    if !about.is_file() {
        return Err(format!("the {what} is no ordinary file but a device or a pipe: {}", path.display()));
    }
    if about.len() > LONGEST {
        return Err(format!("the {what} is {} bytes long, more than {LONGEST}: {}", about.len(), path.display()));
    }
    Ok(())
}

/// Writes `bytes` to `path` by way of a file beside it, so that a reader sees the old or the new, never a part. A link
/// is followed; a device or a pipe is written to, not replaced.
pub(crate) fn write(what: &str, path: &Path, bytes: &[u8]) -> Result<(), String> {
    let told = |e: std::io::Error| format!("cannot write the {what}: {}: {}", in_words(&e), path.display());
    let target = path.canonicalize().unwrap_or_else(|_| path.to_owned());
    if is_device(&target) {
        let mut device = std::fs::OpenOptions::new().write(true).open(&target).map_err(told)?;
        return device.write_all(bytes).map_err(told);
    }
    let _writing = WRITING.read();
    match beside(&target, bytes).map_err(told)?.persist(&target) {
        Ok(_) => Ok(()),
        // `sweep` of another program came between its making and its lock
        Err(e) if e.error.kind() == std::io::ErrorKind::NotFound => {
            beside(&target, bytes).map_err(told)?.persist(&target).map(|_| ()).map_err(|e| told(e.error))
        }
        Err(e) => Err(told(e.error)),
    }
}

fn is_device(target: &Path) -> bool {
    target.exists() && !target.is_file() && !target.is_dir()
}

/// The same for a file that must not be there yet: `Ok(false)` where it is.
pub(crate) fn create(what: &str, path: &Path, bytes: &[u8]) -> Result<bool, String> {
    let told = |e: std::io::Error| format!("cannot write the {what}: {}: {}", in_words(&e), path.display());
    let _writing = WRITING.read();
    match beside(path, bytes).map_err(told)?.persist_noclobber(path) {
        Ok(_) => Ok(true),
        Err(e) if e.error.kind() == std::io::ErrorKind::AlreadyExists => Ok(false),
        Err(e) => Err(told(e.error)),
    }
}

/// A whole file beside `path`, readable by everyone as an ordinary result is.
fn beside(path: &Path, bytes: &[u8]) -> std::io::Result<tempfile::NamedTempFile> {
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut named = tempfile::Builder::new();
    named.prefix(UNFINISHED);
    #[cfg(unix)]
    named.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o644));
    let mut file = named.tempfile_in(folder)?;
    // the lock goes with the program, however that ends: `sweep` sees by it that nobody will finish the file
    let _ = file.as_file().try_lock();
    file.write_all(bytes)?;
    file.as_file().sync_all()?;
    Ok(file)
}

/// Makes the folder that `path` lies in.
pub(crate) fn make_folder_of(path: &Path) -> Result<(), String> {
    let Some(folder) = path.parent() else { return Ok(()) };
    std::fs::create_dir_all(folder)
        .map_err(|e| format!("cannot make the folder: {}: {}", in_words(&e), folder.display()))
}

/// Removes what a program that was killed left unfinished in the folder; files that another one is writing stay.
pub(crate) fn sweep(folder: &Path) {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    for entry in entries.filter(|e| e.file_name().to_string_lossy().starts_with(UNFINISHED)) {
        let abandoned = std::fs::File::open(entry.path()).is_ok_and(|file| file.try_lock().is_ok());
        if abandoned {
            // another one may have removed it meanwhile
            let _ = std::fs::remove_file(entry.path());
        }
    }
}

/// A file that is written piece by piece and appears whole, at the end, or not at all.
pub(crate) struct Growing {
    what: &'static str,
    path: PathBuf,
    pieces: Pieces,
}

enum Pieces {
    Beside(tempfile::NamedTempFile),
    Device(std::fs::File),
}

impl Growing {
    pub(crate) fn new(what: &'static str, path: &Path) -> Result<Self, String> {
        let told = |e: std::io::Error| format!("cannot write the {what}: {}: {}", in_words(&e), path.display());
        let target = path.canonicalize().unwrap_or_else(|_| path.to_owned());
        if target.is_dir() {
            return Err(format!("cannot write the {what}: this is a folder: {}", path.display()));
        }
        let pieces = if is_device(&target) {
            Pieces::Device(std::fs::OpenOptions::new().write(true).open(&target).map_err(told)?)
        } else {
            Pieces::Beside(beside(&target, b"").map_err(told)?)
        };
        Ok(Self { what, path: target, pieces })
    }

    pub(crate) fn add(&mut self, bytes: &[u8]) -> Result<(), String> {
        let written = match &mut self.pieces {
            Pieces::Beside(file) => file.write_all(bytes),
            Pieces::Device(device) => device.write_all(bytes),
        };
        written.map_err(|e| format!("cannot write the {}: {}: {}", self.what, in_words(&e), self.path.display()))
    }

    pub(crate) fn finish(self) -> Result<(), String> {
        let Pieces::Beside(file) = self.pieces else { return Ok(()) };
        let told =
            |e: std::io::Error| format!("cannot write the {}: {}: {}", self.what, in_words(&e), self.path.display());
        file.as_file().sync_all().map_err(told)?;
        file.persist(&self.path).map_err(|e| told(e.error))?;
        Ok(())
    }
}

/// Whether both paths name the same existing file.
pub(crate) fn same(a: &Path, b: &Path) -> bool {
    match (a.canonicalize(), b.canonicalize()) {
        (Ok(a), Ok(b)) => a == b,
        _ => false,
    }
}

/// The system's word for a failure, without its number.
pub(crate) fn in_words(e: &std::io::Error) -> String {
    let text = e.to_string();
    text.split(" (os error").next().unwrap_or(&text).to_lowercase()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_created_once_and_replaced_whole() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("stations.csv");
        assert_eq!(create("sheet", &path, b"one"), Ok(true));
        assert_eq!(create("sheet", &path, b"two"), Ok(false));
        assert_eq!(std::fs::read(&path).unwrap(), b"one");
        assert_eq!(write("stations", &path, b"three"), Ok(()));
        assert_eq!(std::fs::read(&path).unwrap(), b"three");
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1, "nothing is left beside it");
    }

    #[test]
    fn what_was_left_unfinished_is_swept_and_what_is_at_work_stays() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("stations.csv");
        let mut growing = Growing::new("stations", &path).unwrap();
        growing.add(b"one\n").unwrap();
        std::fs::write(folder.path().join(".trajet-killed"), b"par").unwrap();
        std::fs::write(folder.path().join("kept.csv"), b"kept").unwrap();
        sweep(folder.path());
        assert!(!path.exists());
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 2, "the kept one and the growing one");
        growing.add(b"two\n").unwrap();
        growing.finish().unwrap();
        assert_eq!(std::fs::read(&path).unwrap(), b"one\ntwo\n");
        drop(Growing::new("stations", &folder.path().join("never.csv")).unwrap());
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 2, "one that is not finished goes away");
        assert_eq!(sha256("photo", &path), Ok(hexadecimal(&Sha256::digest(b"one\ntwo\n"))));
    }

    #[cfg(unix)]
    #[test]
    fn links_stay_links_and_devices_stay_devices() {
        let folder = tempfile::tempdir().unwrap();
        let (real, link) = (folder.path().join("real.csv"), folder.path().join("link.csv"));
        std::os::unix::fs::symlink(&real, &link).unwrap();
        std::fs::write(&real, b"old").unwrap();
        assert_eq!(write("stations", &link, b"new"), Ok(()));
        assert!(link.is_symlink());
        assert_eq!(std::fs::read(&real).unwrap(), b"new");
        assert!(read("sheet", Path::new("/dev/zero")).unwrap_err().contains("device"));
    }
}
