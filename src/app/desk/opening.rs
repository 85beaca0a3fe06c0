//! From a path to a document.

use std::ffi::OsStr;
use std::path::{Path, PathBuf};

use crate::app::command::FileCommand;
use crate::app::document::Document;
use crate::cli::files;
use crate::photo::{self, Limits, Metadata};
use crate::sheet::entry::{self, Entry, NotPut};
use crate::sheet::{What, what_is};

/// Opens a sheet, or begins one for a photo: the sheet beside the photo where there is one.
///
/// # Errors
/// What is wrong with the file, in words.
pub fn open(path: &Path) -> Result<Document, String> {
    let path = &std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    let is_sheet = path.extension().is_some_and(|e| e.eq_ignore_ascii_case("toml"));
    if is_sheet {
        return open_sheet(path);
    }
    let beside = path.with_extension("toml");
    if beside.is_file() {
        return open_sheet(&beside);
    }
    begin(path, &[])
}

/// Begins a sheet for a photo, or for a burst of it and `others`; it would be saved beside the photo, over no other.
///
/// # Errors
/// What is wrong with the photo, in words.
pub fn begin(path: &Path, others: &[PathBuf]) -> Result<Document, String> {
    let bytes = files::read("photo", path)?;
    let photo = photo::read(&bytes, Limits::default()).map_err(|e| format!("{e}: {}", path.display()))?.value;
    let text = begun(path, others, &photo.metadata).map_err(|e| e.to_string())?;
    Ok(Document::fresh(&free(&path.with_extension("toml")), &text))
}

/// The path, or the next of `run1-2.toml`, `run1-3.toml` that no file has yet.
fn free(path: &Path) -> PathBuf {
    let stem = path.file_stem().map_or_else(String::new, |s| s.to_string_lossy().into_owned());
    let numbered = |n: u32| path.with_file_name(format!("{stem}-{n}.toml"));
    std::iter::once(path.to_owned()).chain((2..1000).map(numbered)).find(|p| !p.exists()).unwrap_or(path.to_owned())
}

/// What files dropped on the window ask for: one is opened, several photos are a burst in the order of their names.
pub fn dropped(mut paths: Vec<PathBuf>) -> Option<FileCommand> {
    let is_sheet = |p: &PathBuf| p.extension().is_some_and(|e| e.eq_ignore_ascii_case("toml"));
    if paths.len() > 1 && !paths.iter().any(is_sheet) {
        paths.sort();
        return Some(FileCommand::OpenBurst(paths));
    }
    let sheet = paths.iter().position(is_sheet).unwrap_or(0);
    (sheet < paths.len()).then(|| FileCommand::Open(paths.swap_remove(sheet)))
}

/// Whether the file is a series of runs.
pub fn is_series(path: &Path) -> bool {
    let is_toml = path.extension().is_some_and(|e| e.eq_ignore_ascii_case("toml"));
    let bytes = if is_toml { files::read("series", path).ok() } else { None };
    bytes.and_then(|b| String::from_utf8(b).ok()).is_some_and(|text| what_is(&text) == What::Series)
}

fn open_sheet(path: &Path) -> Result<Document, String> {
    let bytes = files::read("sheet", path)?;
    let text = String::from_utf8(bytes)
        .map_err(|_| format!("the sheet is not UTF-8 text; save it again with that encoding: {}", path.display()))?;
    Ok(Document::open(path, &text))
}

/// The text of a sheet that is begun for a photo.
fn begun(photo: &Path, others: &[PathBuf], metadata: &Metadata) -> Result<String, NotPut> {
    let name = |s: Option<&OsStr>| s.map_or_else(String::new, |s| s.to_string_lossy().into_owned());
    let mut text = String::from("format = 1\n");
    let mut put = |key: &str, value: String| -> Result<(), NotPut> {
        text = entry::put(&text, key, &Entry::Text(value))?;
        Ok(())
    };
    put("title", name(photo.file_stem()))?;
    if others.is_empty() {
        put("photo.file", name(photo.file_name()))?;
    } else {
        let folder = photo.parent().unwrap_or(Path::new(""));
        for (i, file) in std::iter::once(photo).chain(others.iter().map(PathBuf::as_path)).enumerate() {
            put(&format!("photo.files[{}]", i + 1), relative(file, folder))?;
        }
    }
    if let Some(latitude) = metadata.latitude_deg {
        put("site.latitude", format!("{latitude:.4} deg"))?;
    }
    if let Some(altitude) = metadata.altitude_m {
        put("site.altitude", format!("{altitude:.0} m"))?;
    }
    Ok(text)
}

/// The text of a document for saving it at `to`: its photos, named relative to the sheet, are named anew where the
/// folder changes.
pub fn moved(document: &Document, to: &Path) -> String {
    let text = document.text();
    let folder = to.parent().unwrap_or(Path::new(""));
    if folder == document.folder() {
        return text.to_owned();
    }
    let sheet = &document.opened().sheet;
    let key = |i: usize| {
        if entry::entry(text, "photo.files").is_some() {
            format!("photo.files[{}]", i + 1)
        } else {
            "photo.file".into()
        }
    };
    let named = sheet.photos.iter().enumerate().map(|(i, file)| (key(i), file));
    let named = named.chain(sheet.dry.iter().map(|file| ("photo.dry".to_owned(), file)));
    named.fold(text.to_owned(), |text, (key, file)| {
        let name = relative(&document.folder().join(file), folder);
        entry::put(&text, &key, &Entry::Text(name)).unwrap_or(text)
    })
}

/// A path as a sheet in `folder` names it: relative where it lies in the folder or below, else whole. With `/` on
/// every system.
pub fn relative(path: &Path, folder: &Path) -> String {
    let inside = path.strip_prefix(folder).unwrap_or(path);
    let text = inside.to_string_lossy();
    if cfg!(windows) { text.replace('\\', "/") } else { text.into_owned() }
}

/// A file of this name in the folder, beside it, or one folder below either.
pub fn nearby(folder: &Path, name: &OsStr) -> Option<PathBuf> {
    let folders_in = |at: &Path| -> Vec<PathBuf> {
        let Ok(all) = std::fs::read_dir(at) else { return Vec::new() };
        all.flatten().map(|e| e.path()).filter(|p| p.is_dir()).take(1000).collect()
    };
    let above = folder.parent().map(Path::to_owned);
    let mut places = vec![folder.to_owned()];
    places.extend(folders_in(folder));
    places.extend(above.iter().cloned());
    places.extend(above.iter().flat_map(|a| folders_in(a)));
    places.into_iter().map(|p| p.join(name)).find(|p| p.is_file())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_photo_begins_a_sheet_and_a_second_time_opens_it() {
        let folder = tempfile::tempdir().unwrap();
        let photo = folder.path().join("plate-d.png");
        image::GrayImage::new(40, 30).save(&photo).unwrap();
        let document = open(&photo).unwrap();
        assert!(!document.is_saved());
        assert_eq!(document.path(), folder.path().join("plate-d.toml"));
        assert_eq!(entry::entry(document.text(), "photo.file"), Some(Entry::Text("plate-d.png".into())));
        std::fs::write(folder.path().join("plate-d.toml"), "title = \"there already\"\n").unwrap();
        assert_eq!(open(&photo).unwrap().text(), "title = \"there already\"\n");
        assert_eq!(begin(&photo, &[]).unwrap().path(), folder.path().join("plate-d-2.toml"), "over no other sheet");
        let burst = begin(&photo, &[folder.path().join("plate-e.png")]).unwrap();
        assert_eq!(entry::entry(burst.text(), "photo.files[2]"), Some(Entry::Text("plate-e.png".into())));
        let told = open(&folder.path().join("no.jpg")).err().unwrap();
        assert!(told.contains("no.jpg"), "{told}");
    }

    #[test]
    fn several_photos_are_a_burst_and_a_sheet_goes_first() {
        let paths = |names: &[&str]| names.iter().map(PathBuf::from).collect::<Vec<_>>();
        assert_eq!(dropped(paths(&["b.jpg", "a.jpg"])), Some(FileCommand::OpenBurst(paths(&["a.jpg", "b.jpg"]))));
        assert_eq!(dropped(paths(&["b.jpg", "a.toml"])), Some(FileCommand::Open("a.toml".into())));
        assert_eq!(dropped(paths(&["b.jpg"])), Some(FileCommand::Open("b.jpg".into())));
        assert_eq!(dropped(Vec::new()), None);
    }

    #[test]
    fn a_sheet_saved_elsewhere_still_finds_its_photo() {
        let document = Document::open(Path::new("/lab/runs/c.toml"), "[photo]\nfile = \"pictures/c.jpg\"\n");
        assert_eq!(moved(&document, Path::new("/lab/runs/d.toml")), document.text());
        assert_eq!(moved(&document, Path::new("/lab/e.toml")), "[photo]\nfile = \"runs/pictures/c.jpg\"\n");
        assert_eq!(moved(&document, Path::new("/else/e.toml")), "[photo]\nfile = \"/lab/runs/pictures/c.jpg\"\n");
    }

    #[test]
    fn a_moved_photo_is_found_nearby() {
        let root = tempfile::tempdir().unwrap();
        let (sheets, photos) = (root.path().join("sheets"), root.path().join("photos"));
        std::fs::create_dir_all(&sheets).unwrap();
        std::fs::create_dir_all(&photos).unwrap();
        std::fs::write(photos.join("c.jpg"), b"x").unwrap();
        assert_eq!(nearby(&sheets, OsStr::new("c.jpg")), Some(photos.join("c.jpg")));
        assert_eq!(nearby(&sheets, OsStr::new("d.jpg")), None);
    }
}
