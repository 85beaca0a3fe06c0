//! Files: reading whole, writing whole or not at all.

use std::io::Write;
use std::path::Path;

/// The bytes of a file, or what is wrong in words with the path last.
pub(crate) fn read(what: &str, path: &Path) -> Result<Vec<u8>, String> {
    if path.is_dir() {
        return Err(format!("the {what} is a folder, not a file: {}", path.display()));
    }
    std::fs::read(path).map_err(|e| format!("cannot read the {what}: {}: {}", in_words(&e), path.display()))
}

/// Writes `bytes` to `path` by way of a file beside it, so that a reader sees the old or the new, never a part.
pub(crate) fn write(what: &str, path: &Path, bytes: &[u8]) -> Result<(), String> {
    let told = |e: std::io::Error| format!("cannot write the {what}: {}: {}", in_words(&e), path.display());
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut file = tempfile::Builder::new().prefix(".trajet-").tempfile_in(folder).map_err(told)?;
    file.write_all(bytes).map_err(told)?;
    file.as_file().sync_all().map_err(told)?;
    readable_by_all(file.as_file()).map_err(told)?;
    file.persist(path).map_err(|e| told(e.error))?;
    Ok(())
}

/// A temporary file is its owner's alone; a result is an ordinary file.
#[cfg(unix)]
fn readable_by_all(file: &std::fs::File) -> std::io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    file.set_permissions(std::fs::Permissions::from_mode(0o644))
}

#[cfg(not(unix))]
fn readable_by_all(_: &std::fs::File) -> std::io::Result<()> {
    Ok(())
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
