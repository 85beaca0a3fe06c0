//! Files: reading whole, writing whole or not at all.

use std::io::Write;
use std::path::Path;

/// No sheet is longer, and no photo that may be decoded.
const LONGEST: u64 = 2 << 30;

/// The bytes of an ordinary file, or what is wrong in words with the path last.
pub(crate) fn read(what: &str, path: &Path) -> Result<Vec<u8>, String> {
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
    std::fs::read(path).map_err(told)
}

/// Writes `bytes` to `path` by way of a file beside it, so that a reader sees the old or the new, never a part. A link
/// is followed; a device or a pipe is written to, not replaced.
pub(crate) fn write(what: &str, path: &Path, bytes: &[u8]) -> Result<(), String> {
    let told = |e: std::io::Error| format!("cannot write the {what}: {}: {}", in_words(&e), path.display());
    let target = path.canonicalize().unwrap_or_else(|_| path.to_owned());
    if target.exists() && !target.is_file() && !target.is_dir() {
        let mut device = std::fs::OpenOptions::new().write(true).open(&target).map_err(told)?;
        return device.write_all(bytes).map_err(told);
    }
    beside(&target, bytes).map_err(told)?.persist(&target).map_err(|e| told(e.error))?;
    Ok(())
}

/// The same for a file that must not be there yet: `Ok(false)` where it is.
pub(crate) fn create(what: &str, path: &Path, bytes: &[u8]) -> Result<bool, String> {
    let told = |e: std::io::Error| format!("cannot write the {what}: {}: {}", in_words(&e), path.display());
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
    named.prefix(".trajet-");
    #[cfg(unix)]
    named.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o644));
    let mut file = named.tempfile_in(folder)?;
    file.write_all(bytes)?;
    file.as_file().sync_all()?;
    Ok(file)
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
